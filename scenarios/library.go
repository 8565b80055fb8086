package scenarios

import (
	"embed"
	"fmt"
	"path"
	"slices"
	"strings"
	"sync"

	"ampwalk/diagnose/physics/site"
)

//go:embed sites/*.toml cases/*.toml
var files embed.FS

// Suffix of the names of scenario files.
const Suffix = ".scenario.toml"

const siteSuffix = ".site.toml"

// Demo is the name by which a scenario may use the program's demo site.
const Demo = "lantern-hill"

// SiteText is the text of an embedded site by its name, "reed-creek".
func SiteText(name string) ([]byte, error) {
	if name == Demo {
		return site.DemoTOML(), nil
	}
	text, err := files.ReadFile("sites/" + name + siteSuffix)
	if err != nil {
		return nil, fmt.Errorf(words().Problem.NoSite, strings.Join(SiteNames(), ", "))
	}
	return text, nil
}

// SiteNames are the names of the embedded sites.
func SiteNames() []string {
	list := []string{Demo}
	entries, err := files.ReadDir("sites")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	for _, e := range entries {
		list = append(list, strings.TrimSuffix(e.Name(), siteSuffix))
	}
	slices.Sort(list)
	return list
}

// siteOf is an embedded site.
func siteOf(name string) (*site.Site, []byte) {
	text, err := SiteText(name)
	if err == nil {
		var s *site.Site
		if s, err = site.Parse(name, text); err == nil {
			return s, text
		}
	}
	panic(err) // the file is part of the program
}

// Embedded are the scenarios that come with the program, easiest first.
func Embedded() []*Scenario { return slices.Clone(embedded()) }

var embedded = sync.OnceValue(func() []*Scenario {
	entries, err := files.ReadDir("cases")
	if err != nil {
		panic(err) // the folder is part of the program
	}
	var list []*Scenario
	for _, e := range entries {
		name := path.Join("cases", e.Name())
		data, err := files.ReadFile(name)
		if err != nil {
			panic(err)
		}
		s, err := Parse(e.Name(), strings.TrimSuffix(e.Name(), Suffix), data, SiteText)
		if err != nil {
			panic(err) // a test reads them all
		}
		list = append(list, s)
	}
	slices.SortStableFunc(list, func(a, b *Scenario) int { return a.Level - b.Level })
	return list
})

// ByID is the embedded scenario of an id.
func ByID(id string) (*Scenario, bool) {
	i := slices.IndexFunc(embedded(), func(s *Scenario) bool { return s.ID == id })
	if i < 0 {
		return nil, false
	}
	return embedded()[i], true
}
