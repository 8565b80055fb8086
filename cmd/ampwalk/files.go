package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// read gives the text of a file that a person writes; one that cannot be read is bad
// input.
func read(name string) ([]byte, error) { return readUpTo(name, wholefile.Form) }

// readUpTo is [read] of a file of another kind, which may be larger.
func readUpTo(name string, most int64) ([]byte, error) {
	data, err := wholefile.Read(name, most)
	if err != nil {
		return nil, inputError{fmt.Errorf("%s: %w", name, cause(err))}
	}
	return data, nil
}

func readSite(name string) (*site.Site, []byte, error) {
	data, err := read(name)
	if err != nil {
		return nil, nil, err
	}
	s, err := site.Parse(name, data)
	if err != nil {
		return nil, nil, inputError{err}
	}
	return s, data, nil
}

func readInstruments(name string) (map[reading.Meter]quantity.Instrument, error) {
	data, err := read(name)
	if err != nil {
		return nil, err
	}
	list, err := reading.ParseInstruments(name, data)
	if err != nil {
		return nil, inputError{err}
	}
	return list, nil
}

// siteCheck checks site files.
func (a *app) siteCheck(_ *pflag.FlagSet) action {
	return func(_ *cobra.Command, args []string) error {
		var bad error
		for _, name := range args {
			s, text, err := readSite(name)
			if err != nil {
				a.complain(err.Error())
				bad = errUsage
				continue
			}
			a.tell(words().Site.Good, name, s.Name, s.NominalV)
			if d, err := siteform.Open(name, text); err == nil {
				for _, text := range d.Assumptions() {
					a.item(fmt.Sprintf(words().Site.Assumed, text))
				}
			}
			for _, r := range visiting.Remarks(s) {
				a.item(r)
			}
		}
		return bad
	}
}

// item prints a paragraph below a heading, its later lines further in.
func (a *app) item(text string) {
	a.printLine("  " + strings.Join(plaintext.Wrap(text, 74), "\n    "))
}

// interpret diagnoses a file of readings.
func (a *app) interpret(f *pflag.FlagSet) action {
	siteFile := f.String("site", "", "")
	readingsFile := f.String("readings", "", "")
	format := choose(f, "format", "json", "text")
	return func(c *cobra.Command, _ []string) error {
		switch {
		case *siteFile == "":
			return a.wrong(c, "%s", words().Wrong.NoSite)
		case *readingsFile == "":
			return a.wrong(c, "%s", words().Wrong.NoReadings)
		}
		s, _, err := readSite(*siteFile)
		if err != nil {
			return err
		}
		data, err := read(*readingsFile)
		if err != nil {
			return err
		}
		set, err := reading.Parse(*readingsFile, data, s)
		if err != nil {
			return inputError{err}
		}
		in := belief.Input{Site: s, Readings: set}
		found, err := visiting.Interpret(in, a.infer)
		if err != nil {
			return err
		}
		if *format == "text" {
			var beside summary.Beside
			if !set.TakenAt.IsZero() { // without it the same file would say something else every day
				if beside.Outlook, err = outlookFrom(in, set.TakenAt, outlook.Change{}); err != nil {
					return err
				}
			}
			_, err = io.WriteString(a.stdout, summary.OfReadings(in, found.Result, beside).Text())
			return err
		}
		text, err := found.JSON()
		if err != nil {
			return err
		}
		_, err = a.stdout.Write(text)
		return err
	}
}
