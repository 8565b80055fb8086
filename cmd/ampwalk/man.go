package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// man writes a manual page of each command into a folder.
func (a *app) man(*pflag.FlagSet) action {
	return func(c *cobra.Command, args []string) error {
		if err := a.manBelow(c.Root(), args[0]); err != nil {
			return err
		}
		return a.written(fmt.Sprintf(words().Man.Written, manPath(c.Root(), args[0])))
	}
}

func (a *app) manBelow(c *cobra.Command, dir string) error {
	if err := os.WriteFile(manPath(c, dir), manPage(c), 0o644); err != nil {
		return err
	}
	for _, sub := range c.Commands() {
		if err := a.manBelow(sub, dir); err != nil {
			return err
		}
	}
	return nil
}

func manPath(c *cobra.Command, dir string) string { return filepath.Join(dir, manName(c)+".1") }

func manName(c *cobra.Command) string { return strings.ReplaceAll(c.CommandPath(), " ", "-") }

// manPage is the page of a command. It is written here, since the usual library for that
// costs every start of the program some milliseconds. Its day is that of the source, so
// that a page does not change from day to day.
func manPage(c *cobra.Command) []byte {
	text, m := usageOf(c), words().Man
	var b bytes.Buffer
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line(`.TH "%s" 1 "%s" "%s"`, roff(strings.ToUpper(manName(c))), sourceDay(), roff("ampwalk "+version()))
	line(".SH "+m.Name+"\n%s \\- %s", roff(manName(c)), roff(c.Short))
	line(".SH "+m.Synopsis+"\n.nf\n%s.fi", roff(ways(c)))
	line(".SH "+m.Description+"\n.nf\n%s\n.fi", roff(strings.TrimSpace(c.Long)))
	line(".SH " + m.Options)
	c.Flags().VisitAll(func(f *pflag.Flag) { line(".TP\n.B %s\n%s", roff(asTyped(f)), roff(f.Usage)) })
	line(".SH "+m.Example+"\n.nf\n%s\n.fi", roff(text.Example))
	if text.End != "" {
		line(".PP\n%s", roff(strings.TrimSpace(text.End)))
	}
	var also []string
	if c.HasParent() {
		also = append(also, roff(manName(c.Parent()))+"(1)")
	}
	for _, sub := range c.Commands() {
		also = append(also, roff(manName(sub))+"(1)")
	}
	line(".SH "+m.SeeAlso+"\n%s", strings.Join(also, ", "))
	return b.Bytes()
}

// roff is text that is only text in a manual page.
func roff(text string) string {
	text = strings.NewReplacer(`\`, `\e`, "-", `\-`, "'", `\(aq`, `"`, `\(dq`, "\n.", "\n\\&.").Replace(text)
	if strings.HasPrefix(text, ".") {
		text = `\&` + text
	}
	return text
}
