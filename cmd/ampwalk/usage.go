package main

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
)

//go:embed usage.toml
var usageFile []byte

// A usageText is what there is to say of a command.
type usageText struct {
	Intro, Short, Long, Example, End string
	Use                              []string          // what follows the name, each way to use it
	Flags                            map[string]string // by their names
}

type usageTexts struct {
	Flags   map[string]string // where a command says nothing else
	Command map[string]usageText
}

var usages = sync.OnceValue(func() usageTexts { return datafile.Read[usageTexts]("cmd/ampwalk/usage.toml", usageFile) })

// usageOf is the text of a command.
func usageOf(c *cobra.Command) usageText { return usages().Command[keyOf(c.CommandPath())] }

// keyOf is what a command is called in usage.toml.
func keyOf(path string) string {
	if _, rest, below := strings.Cut(path, " "); below {
		return rest
	}
	return path
}

// explain gives a command and its flags their texts.
func explain(c *cobra.Command) {
	text := usageOf(c)
	c.Short, c.Long, c.Example = text.Short, strings.TrimSpace(text.Intro+"\n"+text.Long), text.Example
	c.Flags().VisitAll(func(f *pflag.Flag) {
		f.Usage = text.Flags[f.Name]
		if f.Usage == "" {
			f.Usage = usages().Flags[f.Name]
		}
		if value, rest, ok := strings.Cut(strings.TrimPrefix(f.Usage, "`"), "` "); ok {
			f.Usage = rest
			f.Annotations = map[string][]string{valueWord: {value}}
		}
	})
}

// valueWord is where a flag keeps the word for its value.
const valueWord = "ampwalk_value"

// asTyped is a flag with the word for its value, if it takes one.
func asTyped(f *pflag.Flag) string {
	text := "--" + f.Name
	if f.Shorthand != "" {
		text = "-" + f.Shorthand + ", " + text
	}
	if value := f.Annotations[valueWord]; len(value) > 0 {
		text += " " + value[0]
	}
	return text
}

const (
	usageColumns = 80
	usageIndent  = "      "
	flagColumns  = 16 // of the flags, before their texts
)

// ways are the ways to use a command, and those of the commands below it, unless it is
// the whole program.
func ways(c *cobra.Command) string {
	var b strings.Builder
	for _, use := range usageOf(c).Use {
		begin := "  " + c.CommandPath() + " "
		use = strings.ReplaceAll(use, "\n", "\n"+strings.Repeat(" ", len(begin)))
		b.WriteString(strings.TrimRight(begin+use, " ") + "\n")
	}
	if c.HasParent() {
		for _, sub := range c.Commands() {
			b.WriteString(ways(sub))
		}
	}
	return b.String()
}

// usage is how a command is used, all of it.
func usage(c *cobra.Command) string {
	text := usageOf(c)
	var b strings.Builder
	paragraph := func(text string) {
		if text != "" {
			if b.Len() > 0 {
				b.WriteString("\n")
			}
			b.WriteString(text)
		}
	}
	paragraph(text.Intro)
	paragraph(ways(c))
	paragraph(indented(text.Long))
	paragraph(flagsHelp(c.Flags()))
	paragraph(commandsHelp(c))
	if !c.HasParent() || c.Name() == "help" {
		paragraph(topicsHelp())
	}
	paragraph("Example:\n  " + text.Example + "\n")
	paragraph(text.End)
	return b.String()
}

func indented(text string) string {
	var b strings.Builder
	for line := range strings.Lines(text) {
		if line != "\n" {
			line = usageIndent + line
		}
		b.WriteString(line)
	}
	return b.String()
}

func flagsHelp(flags *pflag.FlagSet) string {
	var b strings.Builder
	flags.VisitAll(func(f *pflag.Flag) {
		left := usageIndent + asTyped(f)
		if len(left) > len(usageIndent)+flagColumns-2 {
			b.WriteString(left + "\n")
			left = ""
		}
		for _, line := range plaintext.Wrap(f.Usage, usageColumns-len(usageIndent)-flagColumns) {
			fmt.Fprintf(&b, "%-*s%s\n", len(usageIndent)+flagColumns, left, line)
			left = ""
		}
	})
	return b.String()
}

func commandsHelp(c *cobra.Command) string {
	var b strings.Builder
	for _, sub := range c.Commands() {
		if !sub.Hidden {
			fmt.Fprintf(&b, "  %-26s %s\n", sub.CommandPath(), sub.Short)
		}
	}
	return b.String()
}
