package main

import (
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/record"
	"ampwalk/scenarios"
)

// shells are those that a script can be written for.
var shells = []string{"bash", "zsh", "fish", "powershell"}

func (a *app) completion(*pflag.FlagSet) action {
	return func(c *cobra.Command, args []string) error {
		write := map[string]func(io.Writer) error{
			"bash":       func(w io.Writer) error { return c.Root().GenBashCompletionV2(w, true) },
			"zsh":        c.Root().GenZshCompletion,
			"fish":       func(w io.Writer) error { return c.Root().GenFishCompletion(w, true) },
			"powershell": c.Root().GenPowerShellCompletionWithDesc,
		}[args[0]]
		if write == nil {
			return a.wrong(c, words().Wrong.Shell, args[0], oneOf(shells))
		}
		return write(a.stdout)
	}
}

type directive = cobra.ShellCompDirective

// An offer is what may stand at a place of the command line, each with a tab and a
// word on it if there is one; data is what --data says.
type offer = func(a *app, data string) ([]string, directive)

func files(ending string) offer {
	return func(*app, string) ([]string, directive) {
		return []string{ending}, cobra.ShellCompDirectiveFilterFileExt
	}
}

func folders(*app, string) ([]string, directive) { return nil, cobra.ShellCompDirectiveFilterDirs }

func nothing(*app, string) ([]string, directive) { return nil, cobra.ShellCompDirectiveNoFileComp }

func fixed(list ...string) offer {
	return func(*app, string) ([]string, directive) { return list, cobra.ShellCompDirectiveNoFileComp }
}

// visitNames are the visits, and files.
func (a *app) visitNames(data string) ([]string, directive) {
	dir, err := a.dataDir(data)
	if err != nil {
		return nil, cobra.ShellCompDirectiveDefault
	}
	items, _ := record.NewShelf(dir).Glance() // the shell has no place for a problem
	var list []string
	for _, it := range items {
		list = append(list, it.ID+"\t"+plaintext.Clean(it.SiteName))
	}
	return list, cobra.ShellCompDirectiveDefault
}

// siteNames are the sites of the visits.
func (a *app) siteNames(data string) ([]string, directive) {
	visits, _ := a.visitNames(data)
	seen := map[string]bool{}
	var list []string
	for _, v := range visits {
		if _, site, _ := strings.Cut(v, "\t"); !seen[site] {
			seen[site] = true
			list = append(list, site)
		}
	}
	return list, cobra.ShellCompDirectiveNoFileComp
}

func (a *app) scenarioNames(string) ([]string, directive) {
	var list []string
	for _, s := range scenarios.Embedded() {
		list = append(list, s.ID+"\t"+s.Title)
	}
	return list, cobra.ShellCompDirectiveDefault
}

func (a *app) commandNames(string) ([]string, directive) {
	var list []string
	for _, r := range a.table() {
		if r.name != "" && !strings.Contains(r.name, " ") {
			list = append(list, r.name)
		}
	}
	for _, name := range topicNames {
		list = append(list, name+"\t"+topics()[name].Short)
	}
	return list, cobra.ShellCompDirectiveNoFileComp
}

// offers is what completes a flag by its name; any other takes a file, or what nobody
// but the person knows.
var offers = map[string]offer{
	"site": siteFile, "readings": files("readings.toml"), "instruments": files("toml"), "names": files("toml"), "scenario": (*app).scenarioNames,
	"data": folders, "resume": (*app).visitNames, "visit": (*app).visitNames, "paper": fixed("a4", "letter"),
	"who": nothing, "level": fixed("1", "2", "3"), "seed": nothing, "count": nothing, "first": nothing,
	"without": nothing, "noon": nothing, "evening": nothing, "modules": nothing, "capacity": nothing, "cable": nothing,
	"staff": nothing, "from": nothing, "before": nothing, "condition": nothing,
	"state": fixed("under-way", "handed-in", "sent-back", "accepted"),
}

// completes lets a shell complete a command.
func (a *app) completes(c *cobra.Command, args offer) {
	with := func(o offer) cobra.CompletionFunc {
		return func(c *cobra.Command, _ []string, _ string) ([]string, directive) {
			data := ""
			if f := c.Flags().Lookup("data"); f != nil {
				data = f.Value.String()
			}
			return o(a, data)
		}
	}
	if args != nil {
		c.ValidArgsFunction = with(args)
	}
	c.Flags().VisitAll(func(f *pflag.Flag) {
		o := offers[f.Name]
		if one, ok := f.Value.(*choice); ok {
			o = fixed(one.words...)
		}
		if c.Name() == "report" && f.Name == "site" {
			o = (*app).siteNames
		}
		if o != nil {
			_ = c.RegisterFlagCompletionFunc(f.Name, with(o)) // the flag is there
		}
	})
}
