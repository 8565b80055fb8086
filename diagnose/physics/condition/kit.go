package condition

import (
	"cmp"
	_ "embed"
	"slices"
	"sync"

	"ampwalk/diagnose/physics/site"
)

//go:embed kits.toml
var kitsFile []byte

// OfSite is the entry of id in words for s: at a closed kit what can be told from outside, and
// what is done without opening it.
func OfSite(id ID, s *site.Site) Condition {
	c := Of(id)
	if s.Kit == nil {
		return c
	}
	k, ok := kits()[id]
	if !ok {
		return c
	}
	c.Meaning, c.Separate = cmp.Or(k.Meaning, c.Meaning), cmp.Or(k.Separate, c.Separate)
	c.Actions = k.Actions
	return c
}

// ActionsOf are all the actions of a condition, at whatever site.
func ActionsOf(id ID) []Action { return slices.Concat(Of(id).Actions, kits()[id].Actions) }

var kits = sync.OnceValue(func() map[ID]Condition {
	var file struct {
		Condition []Condition `toml:"condition"`
	}
	mustDecode("kits.toml", kitsFile, &file)
	byID := map[ID]Condition{}
	for _, c := range file.Condition {
		byID[c.ID] = c
	}
	return byID
})
