package condition

import (
	_ "embed"
	"slices"
	"strings"
	"sync"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
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
// that battery; no parts stand for all of them. The first defers to local
// codes and licensed practice and is always there. The current of the battery's
// short circuit is worked out from its capacity.
func Cautions(b site.Battery, parts ...Part) []Caution {
	list := slices.DeleteFunc(slices.Clone(cautions()), func(c Caution) bool {
		met := len(parts) == 0 || len(c.Parts) == 0 ||
			slices.ContainsFunc(c.Parts, func(p Part) bool { return slices.Contains(parts, p) })
		return !met || !fits(c.Chemistries, b.Chemistry)
	})
	for i := range list {
		list[i].Text = strings.ReplaceAll(list[i].Text, "{short}", plant.BatteryShortText(b))
	}
	return list
}

var cautions = sync.OnceValue(func() []Caution {
	var file struct {
		Caution []Caution `toml:"caution"`
	}
	mustDecode("cautions.toml", cautionsFile, &file)
	return file.Caution
})
