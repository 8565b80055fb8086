package main

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/field/document"
	"ampwalk/scenarios"
)

// practiceSheet writes paper cases for a class, and their answer key beside them.
func (a *app) practiceSheet(f *pflag.FlagSet) action {
	level, count := f.Int("level", 1, ""), f.Int("count", 12, "")
	seed := f.Uint64("seed", 0, "")
	format := choose(f, "format", "pdf", "html")
	out := f.String("out", ".", "")
	return func(c *cobra.Command, _ []string) error {
		switch {
		case *level < 1 || *level > scenarios.Levels:
			return a.wrong(c, words().Wrong.SheetLevel, *level, scenarios.Levels)
		case *count < 1 || *count > scenarios.MostOnSheet:
			return a.wrong(c, words().Wrong.SheetCount, *count, scenarios.MostOnSheet)
		case *seed > scenarios.MaxSheetSeed:
			return a.wrong(c, words().Wrong.SheetSeed, *seed, uint64(scenarios.MaxSheetSeed))
		}
		s, err := scenarios.NewSheet(*level, *count, *seed, a.infer)
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
