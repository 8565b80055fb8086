package condition

import (
	_ "embed"
	"slices"
	"sync"

	"ampwalk/diagnose/site"
)

//go:embed cautions.toml
var cautionsFile []byte

// A Caution is a general danger of the work and how to meet it.
type Caution struct {
	ID          string           `toml:"id"`
	Title       string           `toml:"title"`
	Text        string           `toml:"text"`
	Parts       []Part           `toml:"parts"`       // where it is met; nil: everywhere
	Chemistries []site.Chemistry `toml:"chemistries"` // the only batteries that have it; nil: all
}

// Cautions lists the general cautions for work on the parts of a system with
// such a battery; no parts stand for all of them. The first defers to local
// codes and licensed practice and is always there.
func Cautions(chem site.Chemistry, parts ...Part) []Caution {
	return slices.DeleteFunc(slices.Clone(cautions()), func(c Caution) bool {
		met := len(parts) == 0 || len(c.Parts) == 0 ||
			slices.ContainsFunc(c.Parts, func(p Part) bool { return slices.Contains(parts, p) })
		return !met || !fits(c.Chemistries, chem)
	})
}

var cautions = sync.OnceValue(func() []Caution {
	var file struct {
		Caution []Caution `toml:"caution"`
	}
	mustDecode("cautions.toml", cautionsFile, &file)
	return file.Caution
})
