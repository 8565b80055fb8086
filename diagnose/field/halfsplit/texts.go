package halfsplit

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"
	"text/template"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/physics/site"
)

//go:embed parts.toml
var partsTOML []byte

// A catalogue is parts.toml: all parts and nodes of any site, texts as templates
// over [facts].
type catalogue struct {
	Parts []partData `toml:"part"`
	Nodes []nodeData `toml:"node"`
}

type partData struct {
	ID          string  `toml:"id"`
	Title       string  `toml:"title"`
	Open        float64 `toml:"open"`
	Joint       float64 `toml:"joint"`
	Repair      string  `toml:"repair"`
	RepairJoint string  `toml:"repair_joint"`
	Caution     string  `toml:"caution"`
}

type nodeData struct {
	ID      string  `toml:"id"`
	Title   string  `toml:"title"`
	Do      string  `toml:"do"`
	Probes  string  `toml:"probes"`
	Red     string  `toml:"red"`
	Black   string  `toml:"black"`
	Caution string  `toml:"caution"`
	Place   string  `toml:"place"`
	Minutes float64 `toml:"minutes"`
}

// embedded is parts.toml, read once. A mistake in it is the programmer's.
var embedded = sync.OnceValue(func() catalogue { return datafile.Read[catalogue]("diagnose/field/halfsplit/parts.toml", partsTOML) })

// facts is what the texts may say about the site.
type facts struct {
	ArrayFuse, BatteryFuse, LoadFuse string // "10 A", "" where there is none
	LoadOutput                       bool   // else the loads are wired to the battery
	LoadSource                       string // what the loads are wired to

	loadFrom string // the node there
}

func factsOf(s *site.Site) facts {
	f := facts{
		ArrayFuse: amperes(s.Array.FuseA), BatteryFuse: amperes(s.Battery.FuseA), LoadFuse: amperes(s.LoadWiring.FuseA),
		LoadOutput: s.Controller.LoadOutput, LoadSource: "the controller", loadFrom: "load",
	}
	if !f.LoadOutput {
		f.LoadSource, f.loadFrom = "the battery", "post"
	}
	return f
}

func amperes(a float64) string {
	if a <= 0 {
		return ""
	}
	return fmt.Sprintf("%g A", a)
}

// write makes a text of parts.toml for the site.
func (f facts) write(text string) string {
	if !strings.Contains(text, "{{") {
		return text
	}
	var b strings.Builder
	if err := template.Must(template.New("part").Parse(text)).Execute(&b, f); err != nil {
		panic(fmt.Sprintf("place: parts.toml: %v", err))
	}
	return b.String()
}

func partOf(id string, f facts) Part {
	for _, d := range embedded().Parts {
		if d.ID == id {
			return Part{
				ID: id, Title: f.write(d.Title), Prior: d.Open, PriorJoint: d.Joint,
				Repair: f.write(d.Repair), RepairJoint: f.write(d.RepairJoint), Caution: f.write(d.Caution),
			}
		}
	}
	panic("place: parts.toml has no part " + id)
}

func nodeOf(id string, f facts) Node {
	for _, d := range embedded().Nodes {
		if d.ID == id {
			return Node{
				ID: id, Title: f.write(d.Title), Do: f.write(d.Do), Probes: f.write(d.Probes), Red: d.Red, Black: d.Black,
				Caution: f.write(d.Caution), Place: f.write(d.Place), Minutes: d.Minutes,
			}
		}
	}
	panic("place: parts.toml has no node " + id)
}
