package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/wiring"
)

// pictures writes the standard pictures: what the readings look like together in each
// state, at a site of one's own or at the demo site.
func (a *app) pictures(f *pflag.FlagSet) action {
	file := f.String("site", "", "")
	return func(_ *cobra.Command, _ []string) error {
		at := site.Demo()
		if *file != "" {
			s, _, err := readSite(*file)
			if err != nil {
				return err
			}
			at = s
		}
		w := words().Practice
		for _, p := range visiting.Standards(at) {
			a.say("")
			a.say(p.Title)
			for _, l := range wiring.DrawStandard(p, true) {
				var row strings.Builder
				for _, sp := range l {
					row.WriteString(sp.Text)
				}
				if _, err := fmt.Fprintln(a.stdout, row.String()); err != nil {
					return err
				}
			}
			a.say(p.Tell)
			a.say(fmt.Sprintf(w.Settles, p.Settle))
			for _, text := range p.AtOtherVolts() {
				a.say(text)
			}
		}
		return nil
	}
}
