package main

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"ampwalk/diagnose/field/visiting"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// told runs a command that needs nothing but its arguments.
func told(args ...string) (code int, out, problem string) {
	var o, p bytes.Buffer
	a := &app{stdin: strings.NewReader(""), stdout: &o, stderr: &p, now: time.Now, infer: cheap, getenv: func(string) string { return "" }}
	code = a.run(args)
	return code, o.String(), p.String()
}

func everyCommand() []*cobra.Command {
	var list []*cobra.Command
	var walk func(*cobra.Command)
	walk = func(c *cobra.Command) {
		list = append(list, c)
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk((&app{getenv: func(string) string { return "" }}).commands())
	return list
}

// Texts and code have the same commands and flags, each with its text.
func TestUsage(t *testing.T) {
	common := map[string]bool{}
	var keys []string
	for _, c := range everyCommand() {
		text := usageOf(c)
		keys = append(keys, keyOf(c.CommandPath()))
		assert.NotEmpty(t, text.Short, c.CommandPath())
		assert.NotEmpty(t, text.Long, c.CommandPath())
		assert.Contains(t, text.Example, "ampwalk", c.CommandPath())
		assert.Equal(t, len(text.Use) == 0, c.HasParent() && c.HasSubCommands() && c.Name() != "practice", "ways to use %s", c.CommandPath())
		own := maps.Clone(text.Flags)
		c.Flags().VisitAll(func(f *pflag.Flag) {
			assert.NotEmpty(t, f.Usage, "%s --%s", c.CommandPath(), f.Name)
			assert.Equal(t, f.NoOptDefVal == "", len(f.Annotations[valueWord]) > 0, "the word for the value of %s --%s", c.CommandPath(), f.Name)
			if own[f.Name] == "" {
				common[f.Name] = true
			}
			delete(own, f.Name)
			if f.Name != "help" && f.Name != "version" {
				assert.Contains(t, strings.Join(text.Use, " "), "--"+f.Name, c.CommandPath())
			}
		})
		assert.Empty(t, own, "flags that %s does not take", c.CommandPath())
		for _, l := range strings.Split(usage(c), "\n") {
			assert.LessOrEqual(t, len(l), usageColumns, l)
		}
	}
	assert.ElementsMatch(t, slices.Collect(maps.Keys(usages().Command)), keys)
	assert.ElementsMatch(t, slices.Collect(maps.Keys(usages().Flags)), slices.Collect(maps.Keys(common)))
}

// Every command has a help of its own, said in all ways, on standard output.
func TestHelp(t *testing.T) {
	for _, c := range everyCommand() {
		names := strings.Fields(c.CommandPath())[1:]
		want := usage(c)
		for _, args := range [][]string{append(slices.Clone(names), "-h"), append(slices.Clone(names), "--help"), append([]string{"help"}, names...)} {
			code, out, problem := told(args...)
			assert.Equal(t, exitDone, code, args)
			assert.Equal(t, want, out, args)
			assert.Empty(t, problem, args)
		}
	}
}

// What is wrong is said once and first, then what is expected.
func TestWrongArguments(t *testing.T) {
	tests := []struct{ args, first string }{
		{"practise", `ampwalk: there is no command "practise"; did you mean practice?`},
		{"practice lst", `ampwalk practice: there is no command "lst"; did you mean list?`},
		{"site lint", `ampwalk site: there is no command "lint"; expected check, new, edit or copy`},
		{"site", `ampwalk site: expected: site check, new, edit or copy`},
		{"walk", `ampwalk: there is no command "walk"`},
		{"help walk", `ampwalk: there is no command "walk"`},
		{"help key nw", `ampwalk key: there is no command "nw"; did you mean new?`},
		{"--speed 3", `ampwalk: there is no flag --speed`},
		{"visits -x", `ampwalk visits: there is no flag -x`},
		{"visits now", `ampwalk visits: "now" is one argument too many`},
		{"print", `ampwalk print: VISIT is missing`},
		{"site copy a", `ampwalk site copy: NAME is missing`},
		{"import", `ampwalk import: FILE is missing`},
		{"print --format doc x", `ampwalk print: --format is "doc"; expected text, html or pdf`},
		{"practice --level two", `ampwalk practice: --level is "two"; expected a whole number`},
		{"practice --plain=maybe", `ampwalk practice: --plain is "maybe"; expected true or false`},
		{"practice --level", `ampwalk practice: the value of --level is missing; expected --level N`},
		{"report --from monday", `ampwalk report: --from is "monday"; "monday" is not a day; expected one such as 2026-01-31`},
		{"completion csh", `ampwalk completion: "csh" is not a shell that is known; expected bash, zsh, fish or powershell`},
	}
	for _, tt := range tests {
		t.Run(tt.args, func(t *testing.T) {
			code, out, problem := told(strings.Fields(tt.args)...)
			assert.Equal(t, exitUsage, code)
			assert.Empty(t, out)
			first, rest, _ := strings.Cut(problem, "\n")
			assert.Equal(t, tt.first, first)
			assert.Contains(t, rest, "  ampwalk")
			assert.Contains(t, rest, `"ampwalk help`)
			assert.NotContains(t, rest, first)
		})
	}
}

// A problem that is not one of the arguments is said in one line.
func TestOrdinaryErrorsShowNoUsage(t *testing.T) {
	for _, args := range []string{"site check not-there.toml", "print not-there", "--data /dev/null/x --site not-there.toml", "man /dev/null/x"} {
		_, out, problem := told(strings.Fields(args)...)
		assert.Empty(t, out, args)
		assert.Equal(t, 1, strings.Count(problem, "\n"), problem)
	}
}

func TestFlagsStandAnywhere(t *testing.T) {
	tests := []struct {
		name string
		args []string
		out  string
		all  bool
		rest []string
	}{
		{"before", []string{"--out", "x", "--all", "a"}, "x", true, []string{"a"}},
		{"after", []string{"a", "--out=x"}, "x", false, []string{"a"}},
		{"between", []string{"a", "--all", "b", "--out", "x", "c"}, "x", true, []string{"a", "b", "c"}},
		{"ended", []string{"a", "--", "--out", "-b"}, "", false, []string{"a", "--out", "-b"}},
		{"the value of a flag is no end", []string{"--out", "--", "a"}, "--", false, []string{"a"}},
		{"a single dash is an argument", []string{"-", "--all"}, "", true, []string{"-"}},
		{"one dash", []string{"-out", "x", "-all", "a"}, "x", true, []string{"a"}},
		{"one dash and a value", []string{"-out=x", "-all=false"}, "x", false, []string{}},
		{"a value that looks like a flag", []string{"--out", "-all"}, "-all", false, []string{}},
		{"ended before one dash", []string{"--", "-all"}, "", false, []string{"-all"}},
		{"nothing", nil, "", false, []string{}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := &cobra.Command{Use: "x", RunE: func(_ *cobra.Command, args []string) error {
				assert.Equal(t, tt.rest, append([]string{}, args...))
				return nil
			}}
			out, all := c.Flags().String("out", "", ""), c.Flags().Bool("all", false, "")
			c.SetArgs(twoDashes(c, tt.args))
			require.NoError(t, c.Execute())
			assert.Equal(t, tt.out, *out)
			assert.Equal(t, tt.all, *all)
		})
	}
}

func TestCompletion(t *testing.T) {
	dir := t.TempDir()
	b := (&app{stdout: &bytes.Buffer{}, stderr: &bytes.Buffer{}, now: time.Now, infer: cheap}).bookIn(dir)
	v, err := b.begin(demo(t), "A. Visitor", visiting.Full)
	require.NoError(t, err)
	b.close()
	tests := []struct {
		typed []string
		want  string
	}{
		{[]string{"pr"}, "practice"},
		{[]string{"practice", ""}, "results"},
		{[]string{"practice", "--"}, "--guided"},
		{[]string{"practice", "--scenario", ""}, "quiet-lamps"},
		{[]string{"practice", "results", "--format", ""}, "csv"},
		{[]string{"--data", dir, "--resume", ""}, v.Head().ID + "\t" + v.Site().Name},
		{[]string{"print", "--data", dir, ""}, v.Head().ID + "\t" + v.Site().Name},
		{[]string{"report", "--data", dir, "--site", ""}, v.Site().Name},
		{[]string{"--site", ""}, "site.toml"},
		{[]string{"site", "check", ""}, "site.toml"},
		{[]string{"completion", ""}, "fish"},
		{[]string{"help", ""}, "verify"},
	}
	for _, tt := range tests {
		code, out, _ := told(append([]string{cobra.ShellCompRequestCmd}, tt.typed...)...)
		assert.Equal(t, exitDone, code)
		var offered []string
		for line := range strings.Lines(out) {
			line = strings.TrimSpace(line)
			word, _, _ := strings.Cut(line, "\t")
			offered = append(offered, line, word)
		}
		assert.Contains(t, offered, tt.want, tt.typed)
	}
	for _, shell := range shells {
		code, out, problem := told("completion", shell)
		assert.Equal(t, exitDone, code, shell)
		assert.Contains(t, out, "ampwalk", shell)
		assert.Empty(t, problem, shell)
	}
}

func TestRoff(t *testing.T) {
	assert.Equal(t, "\\&.a\n\\&.b \\(aqc\\(aq \\(dqd\\(dq \\-e \\ef", roff(".a\n.b 'c' \"d\" -e \\f"))
}

func TestManualPages(t *testing.T) {
	dir := t.TempDir()
	code, _, problem := told("man", dir)
	require.Equal(t, exitDone, code, problem)
	for _, c := range everyCommand() {
		page, err := os.ReadFile(filepath.Join(dir, manName(c)+".1"))
		require.NoError(t, err)
		for _, heading := range []string{"NAME", "SYNOPSIS", "DESCRIPTION", "OPTIONS", "EXAMPLE", "SEE ALSO"} {
			assert.Contains(t, string(page), "\n.SH "+heading+"\n", c.CommandPath())
		}
	}
}
