package condition

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// ids along the wires: array, controller, battery, loads.
var ids = []ID{
	Sound, ArrayOpen, ArrayReversed, ArrayJoint, ArraySoiled, ArrayAged, ArrayShaded, StringOpen,
	BypassShort, ArrayShort, ChargePathOpen, ChargePathStuck, SetPointLow, SetPointHigh, ReverseLeak,
	ControllerDead, LoadOutputOpen, CutOffFails, BatteryOpen, BatteryJoint, CellShort, BatteryWorn, BatteryOff,
	BlockWeak, BatteryStringOpen, ElectrolyteLow, LoadOpen, LoadExcess, StandbyDrain, LoadJoint,
	ApplianceFault, InverterOff, InverterStarved, EarthFault,
}

func TestCatalogueIsComplete(t *testing.T) {
	all := All()
	require.Len(t, all, len(ids))
	var sum float64
	for i, c := range all {
		t.Run(string(c.ID), func(t *testing.T) {
			assert.Equal(t, ids[i], c.ID)
			assert.Equal(t, c, Of(c.ID))
			if c.ID == Sound {
				assert.Equal(t, NoPart, c.Part)
			} else {
				assert.Contains(t, []Part{Array, Controller, Battery, Load}, c.Part)
			}
			assertText(t, c.Title, 50)
			assertSentences(t, c.Meaning, 230)
			assertSentences(t, c.Separate, 230)
			assert.Greater(t, c.Prior, 0.0)
			assert.Contains(t, c.PriorSource, "judgement")
			assert.NotEmpty(t, c.Actions)
			for _, a := range c.Actions {
				assertSentences(t, a.Do, 110)
				assertText(t, a.With, 90)
				assert.Contains(t, []Who{Caretaker, FieldStaff, Licensed}, a.Who)
				assertSentences(t, a.Proof.Shows, 110)
				_, ok := reading.SpecOf(a.Proof.Reading)
				assert.True(t, ok, "%q: no such reading %q", a.Do, a.Proof.Reading)
				if a.Caution != "" {
					assertSentences(t, a.Caution, 130)
				}
				for _, chem := range a.Chemistries {
					assert.Contains(t, chemistries, chem)
				}
				if c.ID != Sound {
					assert.Positive(t, a.Benefit(), a.Do)
					assert.LessOrEqual(t, a.Helps, 1.0, a.Do)
				}
				if a.Done != "" {
					assertText(t, a.Done, 50)
				}
				if strings.Contains(a.Do, "eplace the") { // parts are not thrown away on a guess
					assert.True(t, a.SureFrom >= 0.8 || c.ID == ArrayAged, a.Do)
				}
			}
			for _, chem := range chemistries {
				assert.NotEmpty(t, c.ActionsFor(chem))
			}
		})
		sum += c.Prior
	}
	assert.InDelta(t, 1, sum, 1e-9)
	assert.InDelta(t, 0.4, Applicable(site.Demo())[0].Prior, 0.01, "two visits in five find nothing wrong at a plain site")
	assert.Zero(t, Of("no-such-thing"))
}

var chemistries = []site.Chemistry{site.Flooded, site.AGM, site.Gel, site.LFP}

// assertText checks a text that is printed as it stands and wrapped at 80 columns.
func assertText(t *testing.T, s string, longest int) {
	t.Helper()
	assert.NotEmpty(t, s)
	n := utf8.RuneCountInString(s)
	assert.LessOrEqual(t, n, longest, "%q has %d characters", s, n)
	for _, r := range s {
		assert.True(t, r < unicode.MaxASCII && unicode.IsPrint(r) || r == '°', "%q contains %q", s, r)
	}
}

func assertSentences(t *testing.T, s string, longest int) {
	t.Helper()
	assertText(t, s, longest)
	assert.Regexp(t, `^[A-Z].*\.$`, s)
	assert.NotContains(t, s, "  ")
}

// The order that surveys of small systems agree on: battery, then loads and
// lamps, then wiring, fuses and connections, then controller, then module. The
// shares themselves are a judgement. Dirt and shadow belong to no component.
func TestPriorsKeepTheOrderOfTheField(t *testing.T) {
	share := func(ids ...ID) float64 {
		var sum float64
		for _, id := range ids {
			sum += Of(id).Prior
		}
		return sum
	}
	falling := []float64{
		share(BatteryWorn, CellShort, BatteryOff),
		share(LoadOpen, LoadExcess, StandbyDrain, LoadJoint),
		share(ArrayOpen, ArrayReversed, ArrayJoint, StringOpen, BatteryOpen, BatteryJoint),
		share(ChargePathOpen, ChargePathStuck, SetPointLow, SetPointHigh, ReverseLeak, ControllerDead, LoadOutputOpen),
		share(ArrayAged, BypassShort),
	}
	assert.IsDecreasing(t, falling)
	assert.InDelta(t, 0.4, Of(Sound).Prior, 0.1) // 0.3 to 0.5 of visits, judgement
}

func TestApplicable(t *testing.T) {
	full := func() *site.Site {
		return &site.Site{
			Array:      site.Array{Series: 1, Strings: 2, Module: site.Module{Bypass: 2}},
			Controller: site.Controller{LoadOutput: true},
			Battery:    site.Battery{Chemistry: site.LFP, Blocks: 2, Strings: 2},
			Loads:      []site.Load{{Label: "lamp", PowerW: 10}},
			Inverter:   &site.Inverter{},
			Earthing:   site.PoleNone,
		}
	}
	tests := []struct {
		name   string
		change func(*site.Site)
		lost   []ID // against the full list
	}{
		{"everything there", func(*site.Site) {}, []ID{ElectrolyteLow}},
		{"one string", func(s *site.Site) { s.Array.Strings = 1 }, []ID{StringOpen, ElectrolyteLow}},
		{"one block", func(s *site.Site) { s.Battery.Blocks = 1 }, []ID{BlockWeak, ElectrolyteLow}},
		{"one battery string", func(s *site.Site) { s.Battery.Strings = 0 }, []ID{BatteryStringOpen, ElectrolyteLow}},
		{"no inverter", func(s *site.Site) { s.Inverter = nil }, []ID{InverterOff, InverterStarved, ElectrolyteLow}},
		{"nothing said of earth", func(s *site.Site) { s.Earthing = "" }, []ID{EarthFault, ElectrolyteLow}},
		{"flooded", func(s *site.Site) { s.Battery.Chemistry = site.Flooded }, []ID{BatteryOff}},
		{"no bypass diode", func(s *site.Site) { s.Array.Module.Bypass = 0 }, []ID{BypassShort, ElectrolyteLow}},
		{"lead-acid", func(s *site.Site) { s.Battery.Chemistry = site.Gel }, []ID{BatteryOff, ElectrolyteLow}},
		{"loads on the battery", func(s *site.Site) { s.Controller.LoadOutput = false }, []ID{LoadOutputOpen, CutOffFails, ElectrolyteLow}},
		{"no loads listed", func(s *site.Site) { s.Loads = nil }, []ID{LoadOpen, LoadExcess, LoadJoint, ApplianceFault, ElectrolyteLow}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := full()
			tt.change(s)
			var want, got []ID
			for _, id := range ids {
				lost := false
				for _, l := range tt.lost {
					lost = lost || l == id
				}
				if !lost {
					want = append(want, id)
				}
			}
			var sum float64
			cs := Applicable(s)
			for _, c := range cs {
				got = append(got, c.ID)
				sum += c.Prior
				assert.InDelta(t, Of(c.ID).Prior/Of(Sound).Prior, c.Prior/cs[0].Prior, 1e-9)
			}
			assert.Equal(t, want, got)
			assert.InDelta(t, 1, sum, 1e-9)
		})
	}
}

func TestActionsForTheChemistry(t *testing.T) {
	hydrometer := func(chem site.Chemistry) int {
		n := 0
		for _, c := range All() {
			for _, a := range c.ActionsFor(chem) {
				if a.Proof.Reading == reading.Gravity {
					n++
				}
			}
		}
		return n
	}
	assert.Positive(t, hydrometer(site.Flooded))
	for _, sealed := range []site.Chemistry{site.AGM, site.Gel, site.LFP} {
		assert.Zero(t, hydrometer(sealed), "%s cells cannot be opened", sealed)
	}
}

// Every action has an id of its own within its condition, and what is the same work has
// the same key.
func TestActionsHaveIDs(t *testing.T) {
	does := map[string]string{}
	keys := map[string]string{}
	for _, c := range All() {
		ids := map[string]bool{}
		for _, a := range c.Actions {
			assert.Regexp(t, `^[a-z]+(-[a-z]+)*$`, a.ID, a.Do)
			assert.False(t, ids[a.ID], "%s/%s stands twice", c.ID, a.ID)
			ids[a.ID] = true
			key := a.Key(c.ID)
			if do, ok := does[key]; ok {
				assert.Equal(t, do, a.Do, key)
			}
			if was, ok := keys[a.Do]; ok {
				assert.Equal(t, was, key, a.Do)
			}
			does[key], keys[a.Do] = a.Do, key
		}
	}
}
