package main

import (
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/field/document"
)

// practiceSheet writes paper cases for a class, and their answer key beside them.
func (a *app) practiceSheet(f *pflag.FlagSet) action {
	var which sheetFlags
	which.add(f)
	format := choose(f, "format", "pdf", "html")
	out := f.String("out", ".", "")
	return func(c *cobra.Command, _ []string) error {
		if info, err := os.Stat(*out); err != nil || !info.IsDir() { // before the work, not after it
			return a.wrong(c, words().Wrong.SheetFolder, *out)
		}
		s, err := a.sheet(c, which)
		if err != nil {
			return err
		}
		for _, paper := range []struct {
			name string
			of   document.Document
		}{{s.Name(), s.Worksheet()}, {s.Name() + "-key", s.AnswerKey()}} {
			text := []byte(paper.of.HTML(document.A4))
			if *format == "pdf" {
				if text, err = paper.of.PDF(document.A4); err != nil {
					return err
				}
			}
			path, err := writeBeside(*out, paper.name, "."+*format, text)
			if err != nil {
				return err
			}
			if err := a.written(path); err != nil {
				return err
			}
		}
		return nil
	}
}
