package main

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
)

func init() {
	cobra.EnableCommandSorting = false // commands stand in the order of the table
	cobra.MousetrapHelpText = ""       // on Windows a double click opens the start screen
}

// An action does what a command is for, with what stands beside its flags.
type action func(c *cobra.Command, args []string) error

// A row is one command.
type row struct {
	name   string                            // after "ampwalk"
	args   takes                             // beside its flags
	make   func(*app, *pflag.FlagSet) action // adds its flags; nil if other commands stand below it
	offers offer                             // completes the arguments; nil: files
	infers bool                              // after every answer of a person
}

// takes is how many arguments a command takes, most any for any number.
type takes struct{ least, most int }

const anyNumber = -1

var (
	none     = takes{0, 0}
	one      = takes{1, 1}
	several  = takes{1, anyNumber}
	atMost   = func(n int) takes { return takes{0, n} }
	siteFile = files("site.toml")
)

// table is all commands, in the order in which they are listed; one stands behind that
// which it is below.
func (a *app) table() []row {
	return []row{
		{"", none, (*app).visit, nil, true},
		{"site", none, nil, nil, false},
		{"site check", several, (*app).siteCheck, siteFile, false},
		{"site new", atMost(1), (*app).siteNew, nothing, true},
		{"site edit", one, (*app).siteEdit, siteFile, true},
		{"site copy", takes{2, 2}, (*app).siteCopy, siteFile, true},
		{"interpret", none, (*app).interpret, nil, false},
		{"outlook", none, (*app).outlook, nil, false},
		{"print", one, (*app).print, (*app).visitNames, false},
		{"visits", none, (*app).visits, nil, false},
		{"export", one, (*app).export, (*app).visitNames, false},
		{"import", several, (*app).importVisits, nil, false},
		{"hand-in", several, (*app).handIn, nil, false},
		{"review", none, (*app).review, nil, true},
		{"report", none, (*app).report, nil, false},
		{"verify", one, (*app).verify, (*app).visitNames, false},
		{"key", none, nil, nil, false},
		{"key new", none, (*app).keyNew, nil, false},
		{"key show", none, (*app).keyShow, nil, false},
		{"key check", none, (*app).keyCheck, nil, false},
		{"practice", none, (*app).practice, nil, true},
		{"practice list", none, (*app).practiceList, nil, false},
		{"practice results", none, (*app).practiceResults, nil, false},
		{"practice course", none, (*app).practiceCourse, nil, true},
		{"practice sheet", none, (*app).practiceSheet, nil, false},
		{"practice quiz", none, (*app).practiceQuiz, nil, true},
		{"pictures", none, (*app).pictures, nil, false},
		{"scenario", none, nil, nil, false},
		{"scenario check", several, (*app).scenarioCheck, files("scenario.toml"), false},
		{"scenario players", none, (*app).players, nil, false},
		{"completion", one, (*app).completion, fixed(shells...), false},
		{"man", one, (*app).man, folders, false},
		{"version", none, (*app).version, nil, false},
		{"help", atMost(2), (*app).help, (*app).commandNames, false},
	}
}

// commands is the program: the table as a tree.
func (a *app) commands() *cobra.Command {
	byName := map[string]*cobra.Command{}
	for _, r := range a.table() {
		c := a.commandOf(r)
		byName[r.name] = c
		if r.name == "" {
			continue
		}
		above, _, _ := cutLast(r.name, " ")
		if r.name == "help" {
			byName[above].SetHelpCommand(c)
		}
		byName[above].AddCommand(c)
	}
	for _, c := range byName {
		explain(c)
	}
	root := byName[""]
	root.SilenceErrors, root.SilenceUsage = true, true // app.run says what went wrong
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetIn(a.stdin)
	root.SetOut(a.stdout)
	root.SetErr(a.stderr)
	root.SetHelpFunc(func(c *cobra.Command, _ []string) { fmt.Fprint(a.stdout, usage(c)) })
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error { return a.wrong(c, "%s", flagProblem(err)) })
	return root
}

func (a *app) commandOf(r row) *cobra.Command {
	_, name, _ := cutLast(r.name, " ")
	if r.name == "" {
		name = "ampwalk"
	}
	c := &cobra.Command{Use: name, DisableFlagsInUseLine: true}
	c.Flags().SortFlags = false
	do := func(c *cobra.Command, _ []string) error {
		return a.wrong(c, "expected: %s %s", c.Name(), orList(below(c)))
	}
	if r.make != nil {
		do = r.make(a, c.Flags())
	}
	c.Flags().BoolP("help", "h", false, "")
	c.RunE = func(c *cobra.Command, args []string) error {
		if r.infers && a.pace != nil {
			a.pace()
		}
		return do(c, args)
	}
	c.Args = func(c *cobra.Command, args []string) error { return a.counted(c, r.args, args) }
	a.completes(c, r.offers)
	return c
}

// cutLast is [strings.Cut] at the last sep, with nothing before where there is none.
func cutLast(s, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(s, sep); i >= 0 {
		return s[:i], s[i+len(sep):], true
	}
	return "", s, false
}

func orList(names []string) string {
	last := len(names) - 1
	if last < 1 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// counted says whether a command takes so many arguments.
func (a *app) counted(c *cobra.Command, takes takes, args []string) error {
	switch n := len(args); {
	case n > 0 && takes.most == 0 && c.HasSubCommands():
		return a.unknown(c, args[0])
	case n < takes.least:
		return a.wrong(c, "%s is missing", arguments(c)[n])
	case takes.most >= 0 && n > takes.most:
		return a.wrong(c, words().Wrong.TooMany, args[takes.most])
	}
	return nil
}

// unknown says that a command has none of that name below it.
func (a *app) unknown(c *cobra.Command, name string) error {
	c.SuggestionsMinimumDistance = 2
	alike := c.SuggestionsFor(name)
	switch {
	case len(alike) > 0:
		return a.wrong(c, words().Wrong.DidYouMean, name, orList(alike))
	case c.HasParent() && c.HasSubCommands():
		return a.wrong(c, words().Wrong.NoCommandOf, name, orList(below(c)))
	}
	return a.wrong(c, words().Wrong.NoCommand, name)
}

// below are the names of the commands below one.
func below(c *cobra.Command) []string {
	var names []string
	for _, sub := range c.Commands() {
		names = append(names, sub.Name())
	}
	return names
}

// arguments are the words for what a command takes beside its flags.
func arguments(c *cobra.Command) []string {
	var list []string
	for _, word := range strings.Fields(usageOf(c).Use[0]) {
		if strings.HasPrefix(word, "[") || strings.HasPrefix(word, "--") {
			break
		}
		list = append(list, strings.TrimSuffix(word, "..."))
	}
	return list
}

// errWhole says what a number should have been.
var errWhole = datafile.Error(func() string { return words().Wrong.Whole })

// flagProblem says what is wrong with a flag, as it was typed.
func flagProblem(err error) string {
	var value *pflag.InvalidValueError
	var lacking *pflag.ValueRequiredError
	var unknown *pflag.NotExistError
	switch {
	case errors.As(err, &value):
		cause := value.Unwrap()
		if errors.Is(cause, strconv.ErrSyntax) || errors.Is(cause, strconv.ErrRange) {
			cause = errWhole
			if value.GetFlag().Value.Type() == "bool" {
				cause = oneOf{"true", "false"}
			}
		}
		return fmt.Sprintf("--%s is %q; %v", value.GetFlag().Name, value.GetValue(), cause)
	case errors.As(err, &lacking):
		return fmt.Sprintf(words().Wrong.NoValue, lacking.GetSpecifiedName(), asTyped(lacking.GetFlag()))
	case errors.As(err, &unknown):
		name := unknown.GetSpecifiedShortnames()
		if name == "" {
			name = "-" + unknown.GetSpecifiedName()
		}
		return fmt.Sprintf(words().Wrong.NoFlag, name)
	}
	return err.Error()
}

// oneOf says what a flag should have been.
type oneOf []string

func (e oneOf) Error() string { return "expected " + orList(e) }

// A choice is the value of a flag that must be one of some words.
type choice struct {
	value string
	words []string
}

// choose adds a flag that is one of words, the first of them unless it is said.
func choose(f *pflag.FlagSet, name string, words ...string) *string {
	c := &choice{words[0], words}
	f.Var(c, name, "")
	return &c.value
}

func (c *choice) String() string { return c.value }

func (c *choice) Type() string { return "string" }

func (c *choice) Set(text string) error {
	if !slices.Contains(c.words, text) {
		return oneOf(c.words)
	}
	c.value = text
	return nil
}

// wrong says what is wrong with the arguments of a command and how it is used.
func (a *app) wrong(c *cobra.Command, format string, args ...any) error {
	fmt.Fprintf(a.stderr, "%s: %s\n\n%s\n%q tells more.\n", c.CommandPath(), plaintext.Clean(fmt.Sprintf(format, args...)),
		ways(c), strings.TrimRight("ampwalk help "+keyOf(c.CommandPath()), " "))
	return errUsage
}

// twoDashes takes flags that begin with one dash, as they could before.
func twoDashes(root *cobra.Command, args []string) []string {
	known := map[string]*pflag.Flag{}
	var look func(*cobra.Command)
	look = func(c *cobra.Command) {
		c.Flags().VisitAll(func(f *pflag.Flag) { known[f.Name] = f })
		for _, sub := range c.Commands() {
			look(sub)
		}
	}
	look(root)
	args = append([]string{}, args...) // never nil, which cobra takes for the system's
	for i := 0; i < len(args) && args[i] != "--"; i++ {
		name, _, whole := strings.Cut(strings.TrimLeft(args[i], "-"), "=")
		f := known[name]
		if f == nil || !strings.HasPrefix(args[i], "-") {
			continue
		}
		if args[i][1] != '-' {
			args[i] = "-" + args[i]
		}
		if !whole && f.NoOptDefVal == "" {
			i++ // its value
		}
	}
	return args
}
