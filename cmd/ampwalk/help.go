package main

import (
	"io"
	"slices"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/field/document"
)

func (a *app) help(*pflag.FlagSet) action {
	return func(c *cobra.Command, args []string) error {
		if len(args) == 1 && args[0] == "fonts" {
			_, err := io.WriteString(a.stdout, document.FontLicence)
			return err
		}
		if len(args) == 1 {
			if t, ok := topics()[args[0]]; ok {
				_, err := io.WriteString(a.stdout, t.Text)
				return err
			}
		}
		of := c.Root()
		for _, name := range args {
			i := slices.IndexFunc(of.Commands(), func(c *cobra.Command) bool { return c.Name() == name })
			if i < 0 {
				return a.unknown(of, name)
			}
			of = of.Commands()[i]
		}
		_, err := io.WriteString(a.stdout, usage(of))
		return err
	}
}
