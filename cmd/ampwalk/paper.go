package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
)

// A paper says how a visit is printed.
type paper struct {
	format string // text, html or pdf
	reader string // staff or caretaker
	size   document.Paper
}

// print writes the summary of a recorded visit.
func (a *app) print(f *pflag.FlagSet) action {
	format := choose(f, "format", "text", "html", "pdf")
	reader := choose(f, "for", "staff", "caretaker")
	size := f.String("paper", a.usualPaper().Name, "")
	out := f.String("out", "", "")
	replace := f.Bool("replace", false, "")
	data := f.String("data", "", "")
	return func(c *cobra.Command, args []string) error {
		p := paper{format: *format, reader: *reader}
		var err error
		if p.size, err = document.PaperOf(*size); err != nil {
			return a.wrong(c, "--paper: %v", err)
		}
		name, dir, err := a.visitFile("print", *data, args[0])
		if err != nil {
			return err
		}
		v, b, err := a.onRecord(name, dir)
		if err != nil {
			return err
		}
		text, err := p.of(v, b)
		if err != nil {
			return err
		}
		if *out == "" && p.format == "text" || *out == "-" {
			_, err = a.stdout.Write(text)
			return err
		}
		if *out != "" {
			if err := write(*out, *replace, holding(text)); err != nil {
				return err
			}
			return a.written(*out)
		}
		path, err := writeBeside(".", p.name(v), p.suffix(), text)
		if err != nil {
			return err
		}
		return a.written(path)
	}
}

// usualPaper is what the environment says, as for other programs that print, else A4.
func (a *app) usualPaper() document.Paper {
	if p, err := document.PaperOf(a.getenv("PAPERSIZE")); err == nil {
		return p
	}
	return document.A4
}

func (a *app) written(path string) error {
	_, err := fmt.Fprintln(a.stdout, "Written: "+plaintext.Clean(path))
	return err
}

// of is the visit as bytes of the format.
func (p paper) of(v *visiting.Visit, b summary.Beside) ([]byte, error) {
	d := summary.ForStaff(v, b)
	if p.reader == "caretaker" {
		d = summary.ForCaretaker(v, b)
	}
	switch p.format {
	case "pdf":
		return d.PDF(p.size)
	case "html":
		return []byte(d.HTML(p.size)), nil
	default:
		return []byte(d.Text()), nil
	}
}

// name is what a file with it is called, without its ending.
func (p paper) name(v *visiting.Visit) string {
	name := nameOf(v.Head().ID)
	if p.reader == "caretaker" {
		name += "-caretaker"
	}
	return name
}

// nameOf is what a file about the visit of an id is called.
func nameOf(id string) string {
	if !record.IsID(id) { // from a file that was not written here
		return "visit"
	}
	return id
}

func (p paper) suffix() string {
	if p.format == "text" {
		return ".txt"
	}
	return "." + p.format
}

// visitFile is the journal that is meant, by its path, its id, the beginning of it, or
// "last", and the folder of the visits.
func (a *app) visitFile(command, data, visit string) (name, dir string, err error) {
	dir, err = a.dataDir(data)
	if strings.HasSuffix(visit, record.Suffix) {
		name = visit
	} else if err != nil {
		return "", "", err
	} else {
		if visit, err = record.Find(dir, filepath.Base(visit)); err != nil {
			return "", "", inputError{err}
		}
		name = filepath.Join(dir, visit+record.Suffix)
	}
	if _, err := os.Stat(name); errors.Is(err, fs.ErrNotExist) {
		return "", "", inputError{fmt.Errorf(words().Wrong.NoSuchVisit, command, plaintext.Clean(name))}
	}
	return name, dir, nil
}

// onRecord is a recorded visit with its belief, and what is printed beside it:
// the belief after each reading and the earlier visits to the site in dir. That
// takes an inference for each of them that is not remembered.
func (a *app) onRecord(name, dir string) (*visiting.Visit, summary.Beside, error) {
	var b summary.Beside
	v, err := a.recorded(name)
	if err != nil {
		return nil, b, err
	}
	if b.Fingerprint, err = record.Fingerprint(name); err != nil {
		return nil, b, err
	}
	m := a.remembering()
	if isTerminal(a.stderr) {
		n := 0
		m.miss = func() {
			n++
			fmt.Fprintf(a.stderr, "\r"+words().Visit.Working, n)
		}
		defer func() {
			if n > 0 {
				fmt.Fprintln(a.stderr)
			}
		}()
	}
	if err := m.believe(v); err != nil {
		return nil, b, err
	}
	if b.Steps, err = summary.Recount(v, m.Infer); err != nil {
		return nil, b, err
	}
	if b.Outlook, err = a.outlookOf(v); err != nil {
		return nil, b, err
	}
	b.Earlier, err = m.earlier(v, dir)
	m.forget(maxRemembered)
	return v, b, err
}

// recorded reads a visit; of a damaged one what is whole.
func (a *app) recorded(name string) (*visiting.Visit, error) {
	entries, damage, err := record.Read(name)
	if err != nil {
		return nil, inputError{err}
	}
	if damage != nil {
		a.warn(name + ": " + damage.Error())
	}
	v, err := visiting.Resume(entries, nil)
	if err != nil {
		return nil, inputError{err}
	}
	return v, nil
}

// believe gives a visit the belief of now, if it has none.
func (m memory) believe(v *visiting.Visit) error {
	if v.Belief() != nil {
		return nil
	}
	r, err := m.Infer(v.Input())
	if err != nil {
		return err
	}
	v.Learn(v.Seq(), r)
	if v.Found() != nil {
		return nil
	}
	if r, err = m.Infer(v.FoundInput()); err != nil {
		return err
	}
	v.LearnFound(r)
	return nil
}

// maxEarlier is how many earlier visits are looked at.
const maxEarlier = 8

// earlier are the visits in dir to the same site before v, the oldest first.
func (m memory) earlier(v *visiting.Visit, dir string) ([]summary.Earlier, error) {
	if dir == "" {
		return nil, nil
	}
	items, err := record.NewShelf(dir).Glance()
	if err != nil {
		return nil, err
	}
	head := v.Head()
	items = slices.DeleteFunc(items, func(it record.Item) bool {
		return it.ID == head.ID || it.SiteName != head.SiteName || !it.StartedAt.Before(head.StartedAt) || !it.Readable()
	})
	slices.SortFunc(items, func(a, b record.Item) int { return a.StartedAt.Compare(b.StartedAt) })
	var list []summary.Earlier
	for _, it := range items[max(0, len(items)-maxEarlier):] {
		entries, _, err := record.Read(filepath.Join(dir, it.ID+record.Suffix))
		if err != nil {
			continue // it went away, or broke, since it was listed
		}
		old, err := visiting.Resume(entries, nil)
		if err != nil {
			continue // no visit that this program can read
		}
		if err := m.believe(old); err != nil {
			return nil, err
		}
		list = append(list, summary.EarlierOf(old, old.Belief()))
	}
	return list, nil
}
