package procedure

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// hazardNames are the dangers as the checker knows them, a bit each.
var hazardNames = []string{"battery-bursts", "battery-gas", "battery-leak", "wire-bare", "lightning", "too-high", "battery-hot", "kit-broken",
	"flame", "metal", "fuse", "burnt", "overcharge", "array-alone", "reversed", "exchanged", "dead"}

// conditionsOf are the conditions whose first action is to make safe (common practice).
var conditionsOf = map[string][]string{
	"overcharge": {"charge-path-stuck", "set-point-high"}, "array-alone": {"battery-open", "battery-off"},
	"reversed": {"array-reversed"}, "dead": {"controller-dead"},
}

// A readAt is a reading that raises a danger.
type readAt struct {
	key    reading.Key
	danger string
	value  func(*Procedure) float64
}

// readAs are readings that raise a danger: far above any charging voltage, or
// with plus and minus exchanged.
var readAs = []readAt{
	{reading.BatteryV, "overcharge", tooMuch}, {reading.PostV, "overcharge", tooMuch},
	{reading.BatteryV, "exchanged", minus}, {reading.PostV, "exchanged", minus}, {reading.ArrayV, "reversed", minus},
}

func minus(*Procedure) float64 { return -5 }

// tooMuch is between the highest charging voltage of the site and 60 V.
func tooMuch(p *Procedure) float64 {
	for _, h := range p.dangers {
		if h.ID == "overcharge" {
			return min(h.above+0.1, 59.9)
		}
	}
	panic("no danger overcharge")
}

// forbidden are, for each danger, the steps that nobody should do while it lasts,
// and safely, those that come only once it is made safe. Common practice: no load
// test and no short circuit on a plant that is in danger, no array on a battery
// that is overcharged, missing or reversed, nothing at a burnt spot.
var (
	loadTests = append([]string{"load-step-on", "appliances"}, activeTests...)
	shorts    = []string{"short-on"}
	repairs   = []string{"mended", "mended-array", "mended-battery", "mended-controller", "mended-load"}
	forbidden = map[string][]string{
		"battery-bursts": {"array-connect", "loads-back", "appliances"}, "battery-gas": {"array-connect", "appliances"},
		"battery-leak": {"array-connect", "appliances"}, "wire-bare": {"array-connect", "loads-back", "appliances"},
		"kit-broken": {"array-connect", "appliances"},
		"too-high":   slices.Concat(loadTests, shorts, []string{"array-connect"}), "battery-hot": {"array-connect", "appliances"},
		"fuse":        slices.Concat(loadTests, shorts),
		"burnt":       slices.Concat(loadTests, shorts, []string{"covers-off", "battery_v", "array_v", "load_v", "open_v", "array-connect", "loads-back"}),
		"overcharge":  slices.Concat(loadTests, shorts, []string{"array-connect", "array-uncover"}),
		"array-alone": slices.Concat(loadTests, shorts, []string{"array-connect", "array-uncover", "loads-back"}),
		"reversed":    slices.Concat(shorts, []string{"lead-on", "appliances", "array-connect", "array-uncover"}),
		"exchanged":   slices.Concat(loadTests, shorts, repairs, []string{"array-connect", "array-uncover", "standby_a", "loads-back", "rest", "rest_v", "gravity", "block_v", "load_step.block_v"}),
		"dead":        slices.Concat(loadTests, shorts, []string{"array-connect", "array-uncover"}),
	}
	safely = map[string][]string{
		"flame": slices.Concat(loadTests, repairs, []string{"battery_a", "array_a", "inverter_a", "charger_a", "string_a", "post_v", "inverter_v", "plus_earth_v", "battery_v", "array-isolate", "rest", "gravity"}),
		"metal": {"battery_a", "string_a", "inverter_a", "charger_a", "post_v", "inverter_v", "plus_earth_v", "minus_earth_v", "rest", "rest_v", "gravity", "block_v", "load_step.block_v", "standby_a", "step_a", "mended-battery", "mended-controller"},
		"fuse":  slices.Concat(repairs, []string{"array-connect", "loads-back"}), "burnt": repairs, "dead": repairs, "reversed": repairs, "array-alone": slices.Concat(repairs, []string{"load_v", "load_end_v"}),
		"overcharge": slices.Concat(repairs, []string{"rest", "gravity", "array_v"}),
	}
	// makesSafe are the steps that make it safe, and what must not be refused for each.
	makesSafe = map[string][]string{
		"flame": {"flame-out"}, "metal": {"metal-away"}, "fuse": {"fuse-safe"}, "burnt": {"spot-off"},
		"overcharge": {"array-isolate", "array-cover", "loads-carry"}, "array-alone": {"array-isolate", "array-cover"},
		"reversed": {"array-isolate", "array-cover"}, "exchanged": {"array-isolate", "array-cover"}, "dead": {"array-isolate", "array-cover"},
	}
	safeSteps = []string{"flame-out", "metal-away", "fuse-safe", "spot-off", "array-isolate", "array-cover", "loads-carry", "loads-off"}
	handsOnly = []string{"permission", "lightning", "people", "dry", "battery-look", "cables-look", "site", "jewellery"}
	neededFor = map[string][]string{
		"metal-away": slices.Concat(handsOnly, []string{"tools", "eyes"}), "array-isolate": slices.Concat(handsOnly, []string{"tools", "no-current"}),
	}
)

// endangered is w with what an outcome tells of dangers, by the checker's own reading of it.
func (w plantState) endangered(id string, o Outcome) plantState {
	s, known := stepsOf[id]
	if !known { // one of several of a kind: a lamp, a place
		s.Reading = reading.Key(id)
	}
	if id == "sky" {
		w.dark = o.Word == "dark"
	}
	if o.Word != ActNothing {
		switch id {
		case "flame-out":
			w.made |= bitOf(hazardNames, "flame")
		case "metal-away":
			w.made |= bitOf(hazardNames, "metal")
		case "fuse-safe":
			w.made |= bitOf(hazardNames, "fuse")
		case "spot-off":
			w.made |= bitOf(hazardNames, "burnt")
		case "loads-carry":
			w.carried = true
		}
	} else {
		w.missed |= bitOf(safeSteps, id)
	}
	for _, id := range o.Chosen {
		for _, opt := range s.Choices {
			if opt.ID == id {
				w.found |= bitOf(hazardNames, opt.Danger)
			}
		}
	}
	for _, r := range readAs {
		if r.key != s.Reading {
			continue
		}
		b := bitOf(hazardNames, r.danger)
		w.found &^= b
		if r.danger == "overcharge" && o.Value > 12 && o.Value != 59.9 || r.danger != "overcharge" && o.Value < -3 {
			w.found |= b
		}
	}
	if dangerous(s.Reading) && (o.Value > 60 || o.Value < -60) {
		w.found |= bitOf(hazardNames, "too-high")
	}
	if s.Reading == reading.BatteryC && o.Value > 50 {
		w.found |= bitOf(hazardNames, "battery-hot")
	}
	return w
}

// stepsOf are the steps of the catalogue, for their choices' dangers: which sight is
// which danger is checked by TestSightsAreDangers.
var stepsOf = func() map[string]stepData {
	m := map[string]stepData{}
	for _, s := range embedded().Steps {
		m[s.ID] = s
	}
	return m
}()

func (w plantState) isSafe(d string) bool {
	switch d {
	case "overcharge":
		return w.arrayOpen || w.covered || w.dark || w.carried
	case "reversed", "exchanged", "dead":
		return w.arrayOpen || w.covered || w.dark
	case "array-alone":
		return w.arrayOpen || w.covered
	default:
		return w.made&bitOf(hazardNames, d) != 0
	}
}

// forbids names the danger that forbids s, "" if none.
func (w plantState) forbids(s Step) string {
	for _, d := range hazardNames {
		if (w.found|w.believed)&bitOf(hazardNames, d) == 0 {
			continue
		}
		if slices.Contains(forbidden[d], s.ID) && (!w.isSafe(d) || d != "flame" && d != "metal") || !w.isSafe(d) && slices.Contains(safely[d], s.ID) {
			return d
		}
	}
	return ""
}

// checkDanger names the invariant on dangers that asking s in w would break.
func (w plantState) checkDanger(s Step, absent map[string]bool, once bool) string {
	onWay := false // to making something safe
	for _, d := range hazardNames {
		for _, id := range makesSafe[d] {
			onWay = onWay || (w.found|w.believed)&bitOf(hazardNames, d) != 0 && !w.isSafe(d) && (s.ID == id || s.Kind == Confirm || s.ID == "loads-off" || s.ID == "array-isolate")
		}
	}
	if d := w.forbids(s); d != "" && !(onWay && slices.Contains(safeSteps, s.ID)) {
		return "forbidden while a danger lasts"
	}
	if slices.Contains(repairs, s.ID) {
		live := !w.arrayOpen
		if s.ID == "mended-battery" || s.ID == "mended-controller" {
			live = !w.arrayOff()
		}
		if s.ID != "mended" && s.ID != "mended-load" && live || s.ID != "mended" && s.ID != "mended-array" && !w.loadsOff {
			return "mending on a live circuit"
		}
		if s.ID != "mended" && !w.has("tools", "jewellery") || (s.ID == "mended-battery" || s.ID == "mended-controller") && !w.has("eyes", "air") {
			return "mending without its precautions"
		}
	}
	if w.ended || s.Rung <= Look || onWay || s.Rung >= Restore && !slices.Contains(repairs, s.ID) || len(undoneBy(s)) > 0 {
		return ""
	}
	for _, d := range hazardNames {
		if (w.found|w.believed)&bitOf(hazardNames, d) == 0 || w.isSafe(d) {
			continue
		}
		for _, id := range makesSafe[d] {
			if !absent[id] && w.reachable(id) && !slices.ContainsFunc(readAs, func(r readAt) bool {
				return once && r.key == s.Reading && r.danger == d
			}) {
				return "something comes before making safe"
			}
		}
	}
	return ""
}

func undoneBy(s Step) []Flag { return stepsOf[s.ID].undone() }

// reachable reports whether a step of making safe can still be done.
func (w plantState) reachable(id string) bool {
	if w.missed&bitOf(safeSteps, id) != 0 || id == "fuse-safe" || id == "spot-off" || id == "loads-carry" {
		return false // those rest on others; TestDangers plays them
	}
	for _, n := range neededFor[id] {
		if w.refused&bitOf(precautions, n) != 0 {
			return false
		}
	}
	return true
}

// hazardWalks raise each danger in turn, by what is seen or read and by the belief
// in the middle of a visit; and lead to each repair.
func hazardWalks(absent []string) map[string]func(p *Procedure) *walk {
	walks := map[string]func(p *Procedure) *walk{}
	for _, d := range []string{"battery-bursts", "battery-gas", "battery-leak", "wire-bare", "kit-broken", "lightning"} {
		walks["stopped by "+d] = func(p *Procedure) *walk { return exploreWith(p, absent, hazards{raise: []string{d}}, setUp) }
	}
	for _, d := range []string{"flame", "metal", "fuse", "burnt", "overcharge", "reversed", "exchanged"} {
		walks["found "+d] = func(p *Procedure) *walk { return exploreWith(p, absent, hazards{raise: []string{d}}, handsOn) }
		walks["found "+d+", nothing worth"] = func(p *Procedure) *walk { return exploreWith(p, absent, hazards{raise: []string{d}}, nothing) }
	}
	walks["found in the dark"] = func(p *Procedure) *walk { return exploreWith(p, absent, hazards{raise: []string{"dark"}}, setUp) }
	walks["found in the dark, nothing worth"] = func(p *Procedure) *walk {
		return exploreWith(p, absent, hazards{raise: []string{"dark"}, aim: []string{"mended-battery"}}, nothing)
	}
	for _, pair := range [][]string{{"flame", "overcharge"}, {"fuse", "burnt"}, {"metal", "reversed"}} {
		walks[fmt.Sprint("found ", pair)] = func(p *Procedure) *walk { return exploreWith(p, absent, hazards{raise: pair}, nothing) }
	}
	for d := range conditionsOf {
		walks["believed "+d] = func(p *Procedure) *walk {
			return exploreWith(p, absent, hazards{believe: []string{"", d}}, second, second)
		}
		walks["believed "+d+" and given up"] = func(p *Procedure) *walk {
			return exploreWith(p, absent, hazards{believe: []string{"", d, ""}}, nothing, nothing, nothing)
		}
		walks["believed "+d+", setting up"] = func(p *Procedure) *walk {
			return exploreWith(p, absent, hazards{believe: []string{"", d}}, setUp, setUp)
		}
	}
	for _, place := range []string{"place.array.array-side", "place.battery.battery-lug", "place.load.load"} {
		walks["repair after "+place] = func(p *Procedure) *walk {
			return exploreWith(p, absent, hazards{believe: []string{"array-alone", "array-alone"}, aim: []string{place, "mended-battery"}}, nothing, nothing)
		}
	}
	for _, test := range activeTests {
		walks["led to "+test] = func(p *Procedure) *walk {
			return exploreWith(p, absent, hazards{aim: []string{test, test, ""}}, handsOn, nothing, nothing)
		}
		for _, d := range []string{"flame", "fuse", "reversed"} {
			walks["led to "+test+", found "+d] = func(p *Procedure) *walk {
				return exploreWith(p, absent, hazards{raise: []string{d}, aim: []string{test}}, nothing)
			}
		}
	}
	for _, m := range repairs {
		walks["repair "+m] = func(p *Procedure) *walk {
			return exploreWith(p, absent, hazards{aim: []string{m, ""}}, nothing, nothing)
		}
		for _, d := range []string{"array-alone", "overcharge"} {
			walks["repair "+m+" in danger "+d] = func(p *Procedure) *walk {
				return exploreWith(p, absent, hazards{believe: []string{d, ""}, aim: []string{m, ""}}, nothing, nothing)
			}
		}
		walks["repair "+m+" at a fuse"] = func(p *Procedure) *walk {
			return exploreWith(p, absent, hazards{raise: []string{"fuse"}, aim: []string{m}}, nothing)
		}
	}
	return walks
}

// What a technician takes for a danger is one (common practice): the sight, and
// the danger that it stands for.
func TestSightsAreDangers(t *testing.T) {
	for _, tt := range []struct{ step, sight, danger string }{
		{"battery-look", "hot", "battery-bursts"}, {"battery-look", "swollen", "battery-bursts"},
		{"battery-look", "hiss", "battery-bursts"}, {"battery-look", "leak", "battery-leak"},
		{"battery-look", "smell", "battery-gas"}, {"cables-look", "burnt", "wire-bare"},
		{"cables-look", "bare", "wire-bare"}, {"lightning", "lightning", "lightning"},
		{"battery-place", "flame", "flame"}, {"battery-place", "metal", "metal"},
		{"terminals-look", "fuse", "fuse"}, {"terminals-look", "burnt", "burnt"},
	} {
		i := slices.IndexFunc(stepsOf[tt.step].Choices, func(o option) bool { return o.ID == tt.sight })
		require.GreaterOrEqual(t, i, 0, tt.sight)
		assert.Equal(t, tt.danger, stepsOf[tt.step].Choices[i].Danger, tt.sight)
	}
	for i, d := range embedded().Dangers {
		assert.Equal(t, hazardNames[i], d.ID, "the checker knows every danger")
		assert.LessOrEqual(t, len(d.Card), 5, "a card has five lines at most")
		assert.NotEmpty(t, d.Card, d.ID)
	}
}

// What ends the probing for its value is a danger, so that what it closes stays closed.
func TestStopsAreDangers(t *testing.T) {
	for _, at := range allSites() {
		p := For(at)
		for _, s := range p.Steps {
			if s.StopAbove == 0 {
				continue
			}
			st := p.Apply(State{}, Outcome{Step: s.ID, Kind: Done, Value: s.StopAbove + 5})
			require.NotEmpty(t, st.Stopped, s.ID)
			assert.True(t, slices.ContainsFunc(p.Dangers(st), func(d Danger) bool { return d.Stops }), "%s: %s", at.Name, s.ID)
		}
	}
}

// everyHazard reports whether a walk with a danger is made at a site. All are with
// AMPWALK_CI, without -short; else those with few states, which hold every danger and every repair.
func everyHazard(site, walk string) bool {
	switch {
	case effort.All() && !testing.Short():
		return true
	case site == "highShunt", site == "lookOnly":
		return !testing.Short() || strings.HasPrefix(walk, "found")
	case testing.Short():
		return false
	default:
		return strings.HasSuffix(walk, "nothing worth") || strings.HasPrefix(walk, "repair") || strings.HasPrefix(walk, "found [") || strings.HasPrefix(walk, "stopped") && site == "shuntGel12"
	}
}

// repairsOnly reports whether a step is asked in walks with a danger only.
func repairsOnly(id string) bool {
	return slices.Contains([]string{"array-cover", "array-uncover", "loads-carry", "emergency"}, id)
}

// begin is the plant before a visit.
func (w *walk) begin() plantState {
	_, kit := w.p.index["kit-look"]
	return plantState{kit: kit}
}

// hazardOf is the danger that the belief raises in the phase, as the checker knows it: a kit
// whose battery is off is woken by its panel.
func (w *walk) hazardOf(plant plantState, phase int) uint32 {
	if phase >= len(w.believe) || plant.kit && w.believe[phase] == "array-alone" {
		return 0
	}
	return bitOf(hazardNames, w.believe[phase])
}

// Every visit that leads to an active test keeps all that the checker asks for: on the way to
// it, and while dangers are found. A site that has the test is led to it.
func TestActiveTestsAreLedTo(t *testing.T) {
	for _, s := range []*site.Site{flooded12(), mppt24(), lfp12()} {
		p := For(s)
		for _, id := range activeTests {
			_, has := p.Step(id)
			for _, h := range []hazards{{aim: []string{id}}, {aim: []string{id}, raise: []string{"flame"}}} {
				w := exploreWith(p, nil, h, nothing)
				require.Empty(t, w.broken, "%s: %s", s.Name, id)
				assert.Equal(t, has, w.asked[id], "%s: %s", s.Name, id)
			}
		}
	}
}
