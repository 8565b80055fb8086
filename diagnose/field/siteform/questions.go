package siteform

import (
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/tomlfile"
)

//go:embed questions.toml
var questionsFile []byte

// A Form is how a question is answered.
type Form string

// The forms.
const (
	Text   Form = "text"
	Number Form = "number"
	Count  Form = "count"  // a whole number
	List   Form = "list"   // several numbers
	Choice Form = "choice" // one of several
	Words  Form = "words"  // any of several
	Month  Form = "month"  // "2023-05"
	More   Form = "more"   // whether there is another lamp, look or load
	Pair   Form = "pair"   // a number for each of several keys
	Which  Form = "which"  // any of several things, each with a key of its own
	Rows   Form = "rows"   // all loads in one line
)

// A Question asks for one value of the site file.
type Question struct {
	Path   string // in the file, as in [tomlfile.Text]; of a More the array of tables; an id where there are Keys
	Part   string // heading: "Module", "Load 2: radio"
	Note   string // on the part
	Group  string // path of the lamp, look or load it belongs to, "" for none
	Needed bool   // a More that has to be answered once

	Title    string
	Where    string // to find it
	Agrees   string // what it is compared with, "" for nothing
	Form     Form
	Unit     string
	Choices  []string
	Explain  []string // of each choice, nil where they speak for themselves
	Optional bool
	Without  string // what it means that there is none

	keys  []string // that it asks for together, nil for Path alone
	each  string   // of Rows: the array of tables
	says  string   // of a Pair: its numbers in words
	rules []rule
	short string
}

// ask is a question as it stands in questions.toml.
type ask struct {
	Key, Title, Short, Where, Agrees, Unit, Without string

	Form     Form
	Optional bool
	Choices  []string
	Explain  []string
	For      []string // asked only where "means" has one of these
	After    string   // asked only where this key has a value
	Kit      kitRule  // whether it is asked of closed kits
	Typical  []rule

	Part, Each, Says string   // of one that asks for several keys
	Of               []string // which
}

type part struct {
	Title, Note, Each, One, After string
	Kit                           kitRule

	Ask   []ask
	Inner *part
}

// questionList is questions.toml.
type questionList struct {
	First    []string
	Together []ask
	Part     []part
}

var lists = sync.OnceValue(func() questionList {
	return datafile.Read[questionList]("diagnose/field/siteform/questions.toml", questionsFile)
})

func parts() []part { return lists().Part }

// Questions are all the questions of the draft in their order; those of lamps,
// looks and loads as often as it has them, and after them whether there are more.
func (d Draft) Questions() []Question {
	var list []Question
	for _, p := range parts() {
		if d.follows(p.After) && p.Kit.fits(d) {
			list = append(list, d.asked(p, "", "")...)
		}
	}
	return list
}

// follows reports whether what is asked after a key may be asked now.
func (d Draft) follows(after string) bool {
	if after == "" {
		return true
	}
	_, given := d.text.Value(after)
	return given
}

// A kitRule says whether something is asked of closed kits.
type kitRule string

// The rules; any other is for every site.
const (
	onlyKits  kitRule = "only"
	neverKits kitRule = "never"
)

// kitKey has a value where the site is a closed kit.
const kitKey = "kit.locks"

func (k kitRule) fits(d Draft) bool {
	kit := d.follows(kitKey)
	return !(k == onlyKits && !kit || k == neverKits && kit)
}

// asked are the questions of a part below the table at path; heading is that of
// the part above.
func (d Draft) asked(p part, path, heading string) []Question {
	if p.Each == "" {
		return d.ofTable(p, "", p.Title)
	}
	array := join(path, p.Each)
	n := d.text.Count(array)
	var list []Question
	for i := range n {
		table := join(array, strconv.Itoa(i))
		title := fmt.Sprintf("%s %d", strings.TrimSuffix(p.Title, "s"), i+1)
		if label := d.label(table); label != "" {
			title += ": " + label
		}
		if heading != "" {
			title = heading + ", " + strings.ToLower(title[:1]) + title[1:]
		}
		list = append(list, d.ofTable(p, table, title)...)
		if p.Inner != nil {
			list = append(list, d.asked(*p.Inner, table, title)...)
		}
	}
	more := Question{Path: array, Part: p.Title, Note: p.Note, Form: More, Title: fmt.Sprintf(words().IsThere, p.One), Needed: heading != "", Group: path}
	if n > 0 {
		more.Title = fmt.Sprintf(words().IsThereAnother, p.One)
	}
	if heading != "" {
		more.Part = heading
	}
	return append(list, more)
}

// label is what a lamp, a look or a load is called, "" for nothing yet.
func (d Draft) label(table string) string {
	for _, key := range []string{"label", "look"} {
		v, _ := d.text.Value(join(table, key))
		if label, ok := v.(string); ok {
			return label
		}
	}
	return ""
}

// ofTable are the questions of a part at one table.
func (d Draft) ofTable(p part, table, title string) []Question {
	var list []Question
	for _, a := range p.Ask {
		path := join(table, a.Key)
		if !a.Kit.fits(d) {
			continue
		}
		if _, given := d.text.Value(path); !given && (len(a.For) > 0 && !d.meansAny(table, a.For) || !d.follows(a.After)) {
			continue
		}
		list = append(list, Question{
			Path: path, Part: title, Note: p.Note, Group: table,
			Title: a.Title, Where: a.Where, Agrees: a.Agrees, Form: a.Form, Unit: a.Unit, Choices: a.Choices, Explain: a.Explain,
			Optional: a.Optional, Without: a.Without, rules: a.Typical, short: a.Short,
		})
	}
	return list
}

// meansAny reports whether a look of a lamp means one of the words.
func (d Draft) meansAny(table string, words []string) bool {
	v, _ := d.text.Value(join(table, "means"))
	list, ok := v.([]any)
	if !ok {
		list = []any{v}
	}
	return slices.ContainsFunc(list, func(v any) bool {
		word, ok := v.(string)
		return ok && slices.Contains(words, word)
	})
}

// siblings are the keys of the table of path in the order of the questions.
func siblings(path string) []string {
	table, _, nested := cutLast(bare(path))
	var names []string
	var collect func(p part, in string)
	collect = func(p part, in string) {
		if p.Each != "" {
			in = join(in, p.Each)
		}
		for _, a := range p.Ask {
			at, name, deep := cutLast(join(in, a.Key))
			if at == table && deep == nested {
				names = append(names, name)
			}
		}
		if p.Inner != nil {
			collect(*p.Inner, in)
		}
	}
	for _, p := range parts() {
		collect(p, "")
	}
	return names
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// bare is a path without the numbers of tables: the key of a [tomlfile.Problem].
func bare(path string) string {
	return strings.Join(slices.DeleteFunc(strings.Split(path, "."), func(s string) bool {
		_, err := strconv.Atoi(s)
		return err == nil
	}), ".")
}

func cutLast(path string) (table, name string, nested bool) {
	if i := strings.LastIndexByte(path, '.'); i >= 0 {
		return path[:i], path[i+1:], true
	}
	return "", path, false
}

// Answer is what the file says to q, as a person would write it; "" for nothing.
func (d Draft) Answer(q Question) string {
	if q.together() {
		return d.answerAll(q)
	}
	v, ok := d.text.Value(q.Path)
	if !ok || q.Form == More {
		return ""
	}
	return q.said(v)
}

// said is a value in words, without its unit.
func (q Question) said(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case bool:
		return strconv.FormatBool(v)
	case int64:
		return strconv.FormatInt(v, 10)
	case float64:
		return tomlfile.Decimal(v)
	case []any:
		var all []string
		for _, v := range v {
			all = append(all, q.said(v))
		}
		if q.Form == List {
			return strings.Join(all, " ")
		}
		return strings.Join(all, ", ")
	default:
		return fmt.Sprint(v)
	}
}

// unit is the unit as it stands behind a figure.
func (q Question) unit() string {
	if q.Unit == "C" {
		return "°C"
	}
	return q.Unit
}

// Named is an answer in short: of a choice the word, and what it means only where the word
// says nothing.
func (q Question) Named(answer string) string {
	if q.Form == Choice && q.Unit == "" && answer != "true" && answer != "false" {
		return answer
	}
	return q.Shown(answer)
}

// Shown is an answer with its unit, or with what its word means.
func (q Question) Shown(answer string) string {
	if f := strings.Fields(answer); q.says != "" && len(f) == 2 {
		return fmt.Sprintf(q.says, f[0], f[1])
	}
	if i := slices.Index(q.Choices, answer); i >= 0 && i < len(q.Explain) && q.Form == Choice {
		if answer == "true" || answer == "false" {
			return q.Explain[i]
		}
		return answer + ": " + q.Explain[i]
	}
	if answer == "" || q.unit() == "" {
		return answer
	}
	if q.Unit == "°" {
		return answer + "°"
	}
	return answer + " " + q.unit()
}
