package main

import (
	"bufio"
	"errors"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/tui"
	"ampwalk/tui/plain"
)

// siteNew describes a new site, in a file of its own.
func (a *app) siteNew(f *pflag.FlagSet) action {
	asLines, data := describeFlags(f)
	return func(_ *cobra.Command, names []string) error {
		in := a.stdin
		if len(names) == 0 {
			if a.fullScreen(*asLines) {
				return a.describe(*asLines, *data, tui.Description{}, in, &keeper{})
			}
			name, rest := a.askName()
			if name == "" {
				return inputError{errors.New(words().Wrong.NoSiteName)}
			}
			names, in = []string{name}, rest
		}
		d, err := siteform.New(names[0])
		if err != nil {
			return err
		}
		return a.describeNew(*asLines, *data, d, names[0], in)
	}
}

// siteCopy describes another site that is built like the one of a file.
func (a *app) siteCopy(f *pflag.FlagSet) action {
	asLines, data := describeFlags(f)
	return func(_ *cobra.Command, args []string) error {
		d, err := readDraft(args[0])
		if err != nil {
			return err
		}
		if d, err = d.Copy(args[1]); err != nil {
			return err
		}
		return a.describeNew(*asLines, *data, d, args[1], a.stdin)
	}
}

// siteEdit changes the description in a file.
func (a *app) siteEdit(f *pflag.FlagSet) action {
	asLines, data := describeFlags(f)
	return func(_ *cobra.Command, args []string) error {
		d, err := readDraft(args[0])
		if err != nil {
			return err
		}
		return a.describe(*asLines, *data, tui.Description{Draft: d, Path: args[0]}, a.stdin, &keeper{})
	}
}

func describeFlags(f *pflag.FlagSet) (asLines *bool, data *string) {
	return f.Bool("plain", false, ""), f.String("data", "", "")
}

func readDraft(name string) (siteform.Draft, error) {
	text, err := read(name)
	if err != nil {
		return siteform.Draft{}, err
	}
	d, err := siteform.Open(name, text)
	if err != nil {
		return d, inputError{err}
	}
	return d, nil
}

// askName asks what a new site is called, and gives the rest of the input.
func (a *app) askName() (string, io.Reader) {
	a.printLine(words().Site.AskName)
	in := bufio.NewReader(a.stdin)
	text, _ := in.ReadSlice('\n') // the end of input is an empty name, or the end of one; so is what is far too long
	return strings.TrimSpace(plaintext.Clean(string(text))), in
}

// describeNew keeps a draft in a new file and asks for the rest.
func (a *app) describeNew(asLines bool, data string, d siteform.Draft, name string, in io.Reader) error {
	path, k := newSitePath(name), &keeper{}
	if err := k.keep(path, d.Bytes()); err != nil {
		return err
	}
	return a.describe(asLines, data, tui.Description{Draft: d, Path: path}, in, k)
}

// describe asks what is installed, on the full screen or line by line.
func (a *app) describe(asLines bool, data string, at tui.Description, in io.Reader, k *keeper) error {
	if a.fullScreen(asLines) {
		dir, err := a.dataDir(data)
		if err != nil {
			return err
		}
		b := a.bookIn(dir)
		defer b.close()
		return a.onScreen(b, visitFlags{data: data}, tui.Options{Describe: &at, KeepSite: k.keep})
	}
	return plain.Describe(plain.DescribeOptions{
		Draft: at.Draft, Path: at.Path, In: in, Out: a.stdout, Width: a.lineWidth(),
		Keep:    func(text []byte) error { return k.keep(at.Path, text) },
		Remarks: func(d siteform.Draft) []string { return visiting.Remarks(d.Site()) },
	})
}
