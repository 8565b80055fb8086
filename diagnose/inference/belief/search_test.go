package belief

import (
	"io/fs"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/tools/txtar"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A path lamp with twelve watts, whose controller lets little doubt about its voltage.
const pathLamp = `
name = "Low Shelf path lamp"
nominal_v = 12

[place]
latitude_deg = -12
longitude_deg = 28
utc_offset_h = 2.0
tilt_deg = 15
bearing_deg = 0

[array]
series = 1
strings = 1
cable_m = 3
cable_mm2 = 1.5

[array.module]
pmp_w = 12
vmp_v = 17.8
imp_a = 0.67
voc_v = 22.0
isc_a = 0.72
cells = 36
bypass = 1
isc_pct_per_c = 0.05
voc_pct_per_c = -0.32
noct_c = 47

[controller]
kind = "series"
rated_a = 5
absorb_v = 14.4
float_v = 13.7
comp_mv_per_c_cell = -4
cut_v = 11.5
restore_v = 12.7
own_use_ma = 5
load_output = true

[[controller.lamp]]
label = "status"

[[controller.lamp.look]]
look = "lit"
means = "regulating"

[[controller.lamp.look]]
look = "blinks"
means = ["charging", "not-regulating"]

[battery]
chemistry = "agm"
capacity_ah = 9
blocks = 1
cells_per_block = 6
fuse_a = 5
cable_m = 0.4
cable_mm2 = 1.5

[[load]]
label = "path lamp"
power_w = 3
hours_per_day = 10
priority = 1

[load_wiring]
fuse_a = 3
cable_m = 3
cable_mm2 = 1.0
`

// Half a volt above its set-point, a controller is set too high as well as it stands
// by a cold battery. The search must see the one as well as the other, though from most
// starts some reading is out of reach and taken for wrong.
func TestSearchTurnsBackToReadingsOutOfReach(t *testing.T) {
	s, err := site.Parse("path-lamp.site.toml", []byte(pathLamp))
	require.NoError(t, err)
	readings := set(at(13), map[reading.Key]float64{
		reading.ArrayA: 0.59, reading.BatteryA: 0.58, reading.LoadA: 0,
		reading.ArrayV: 16.11, reading.ModuleV: 16.15, reading.PostV: 14.96, reading.LoadEndV: 14.97,
		reading.ModuleC: 46,
	})
	readings.LoadsOn = []string{}
	readings.Words[reading.Sky], readings.Words[reading.Glass] = "hazy", "dusty"
	readings.Words[reading.Lamp("status")] = "lit"
	readings.Instruments[reading.Voltmeter] = quantity.Instrument{Percent: 0.5, Digits: 3, Resolution: 0.01}
	readings.Instruments[reading.Clamp] = quantity.Instrument{Percent: 2.5, Digits: 5, Resolution: 0.01}
	m := newModel(Input{Site: s, Readings: readings})
	found := m.search()
	least := func(id condition.ID) float64 {
		k := slices.IndexFunc(m.hyps, func(h hypothesis) bool { return slices.Equal(h.ids, []condition.ID{id}) })
		if id == condition.Sound {
			k = 0
		}
		cost := math.Inf(1)
		for _, md := range found[k] {
			cost = min(cost, md.cost)
		}
		return cost
	}
	assert.Less(t, least(condition.SetPointHigh), least(condition.Sound)+2)
}

// What is switched on is chosen once more at the mode: far from it the readings say too
// little, and a plant whose inverter was simply off would be held for one that is broken.
func TestChoicesAreTheBestAtTheMode(t *testing.T) {
	a, err := txtar.ParseFile("../../../testdata/cases-parts/cases.txtar")
	require.NoError(t, err)
	files, err := txtar.FS(a)
	require.NoError(t, err)
	dirs, err := fs.ReadDir(files, ".")
	require.NoError(t, err)
	checked := 0
	for _, dir := range dirs {
		text, err := fs.ReadFile(files, dir.Name()+"/site.toml")
		if err != nil || checked >= effort.Of(5, 15, 40) {
			continue
		}
		s, err := site.Parse(dir.Name(), text)
		require.NoError(t, err)
		text, err = fs.ReadFile(files, dir.Name()+"/readings.toml")
		require.NoError(t, err)
		set, err := reading.Parse(dir.Name(), text, s)
		require.NoError(t, err)
		m := newModel(Input{Site: s, Readings: set})
		if len(m.open) < 2 {
			continue
		}
		checked++
		e := &evaluator{m: m}
		for _, md := range m.search()[0] {
			h := &m.hyps[md.hyp]
			parts := m.choiceParts(h)
			for _, d := range m.open {
				here := e.cost(&md.z, h, 0) - math.Log(md.chosen[d-firstChoice].width())
				for _, part := range parts[d-firstChoice] {
					z := md.z
					z[d] = part.mid()
					assert.GreaterOrEqual(t, e.cost(&z, h, 0)-math.Log(part.width()), here-1, "%s: choice %d", dir.Name(), d-firstChoice)
				}
			}
		}
	}
	assert.Positive(t, checked)
}
