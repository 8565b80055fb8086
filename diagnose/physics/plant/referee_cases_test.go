package plant_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
	"ampwalk/diagnose/physics/sun"
)

var write = flag.Bool("write", false, "TestMakeCases: write the cases anew")

const casesDir = "../../../testdata/cases"

// A caseTruth is truth.json.
type caseTruth struct {
	Conditions []condition.ID `json:"conditions"`
	Suspect    []reading.Key  `json:"suspect"`
	State      caseState      `json:"state"`
	Note       string         `json:"note"`
}

type caseState struct {
	Daylight    bool    `json:"daylight"`
	Charging    bool    `json:"charging"`
	Regulating  bool    `json:"regulating"`
	LoadsCut    *bool   `json:"loads_cut"` // null: the output is off for another reason
	ChargeLevel float64 `json:"charge_level"`
	SpareW      float64 `json:"spare_w"`
}

// A visit is one invented visit: when, under what sky, and what is the matter.
type visit struct {
	*trial
	at      time.Time
	sky     int // of the choices of reading.Sky
	loadsOn []string
	sound   *trial // the same without the fault
}

// TestMakeCases checks that the cases can be read; with -args -write it makes
// them again, the same ones every time.
func TestMakeCases(t *testing.T) {
	if *write {
		makeCases(t)
	}
	dirs, err := filepath.Glob(filepath.Join(casesDir, "[0-9]*"))
	require.NoError(t, err)
	assert.GreaterOrEqual(t, len(dirs), 60)
	for _, dir := range dirs {
		s, err := site.Parse("site.toml", mustRead(t, dir, "site.toml"))
		require.NoError(t, err, dir)
		set, err := reading.Parse("readings.toml", mustRead(t, dir, "readings.toml"), s)
		require.NoError(t, err, dir)
		var truth caseTruth
		require.NoError(t, json.Unmarshal(mustRead(t, dir, "truth.json"), &truth), dir)
		for _, id := range truth.Conditions {
			known := slices.ContainsFunc(condition.Applicable(s), func(c condition.Condition) bool { return c.ID == id })
			assert.True(t, known, "%s: %s", dir, id)
		}
		for _, k := range truth.Suspect {
			assert.True(t, set.Has(k), "%s: %s", dir, k)
		}
	}
}

func mustRead(tb testing.TB, dir, name string) []byte {
	tb.Helper()
	data, err := os.ReadFile(filepath.Join(dir, name))
	require.NoError(tb, err)
	return data
}

const (
	caseCount  = 64
	candidates = 6 // drawn for each case, to choose one in which the fault acts
)

// makeCases draws, solves and writes the cases. Of six candidates for each the
// first is taken in which the fault shows in some reading.
func makeCases(tb testing.TB) {
	tb.Helper()
	var visits []*visit
	var trials []*trial
	for k := range caseCount {
		for c := range candidates {
			d := dice{rand.New(rand.NewPCG(uint64(1000+k), uint64(c)))}
			v := d.visit(tb, k)
			visits = append(visits, v)
			trials = append(trials, v.trial, v.sound)
		}
	}
	verdicts := judge(tb, trials)
	for k := range caseCount {
		chosen, lucky := k*candidates, false
		if roles[k%8].acts {
			for c := range candidates {
				i := k*candidates + c
				if len(visits[i].ids) == 0 || acts(verdicts[2*i], verdicts[2*i+1]) {
					chosen, lucky = i, true
					break
				}
			}
		}
		writeCase(tb, k+1, visits[chosen], verdicts[2*chosen], lucky)
	}
}

// acts reports whether a fault shows in a reading by more than meters err.
func acts(with, without *verdict) bool {
	return slices.ContainsFunc(refereed, func(r refereedReading) bool {
		a, b := with.value[r.index], without.value[r.index]
		limit := 0.1 + 0.015*math.Abs(b)
		if r.amps {
			limit = 0.1 + 0.06*math.Abs(b)
		}
		return math.Abs(a-b) > limit
	})
}

var caseNames = [2][]string{
	{"Tall Reed", "Dry Gully", "Lower Heron", "Stony Ford", "Ember Hill", "Old Quarry", "Windle", "Marrow Bay"},
	{"post", "clinic", "school", "store", "pump house", "reading room", "relay hut", "dispensary"},
}

// visit draws the k-th case's visit.
func (d dice) visit(tb testing.TB, k int) *visit {
	tb.Helper()
	kinds := []site.Kind{site.Series, site.Series, site.Shunt, site.MPPT}
	chemistries := []site.Chemistry{site.Flooded, site.AGM, site.LFP, site.Gel, site.Flooded}
	s := d.site(kinds[k%len(kinds)], chemistries[k%len(chemistries)])
	s.Name = caseNames[0][k%8] + " " + caseNames[1][k/8%8]
	d.giveLamps(s)
	v := &visit{}
	u := d.unknowns(s, pick(d, bySun, nearFull, runDown))
	u.FloatStage = u.FloatStage || s.Controller.FloatV == s.Controller.AbsorbV
	d.when(s, &u, v)
	u.LoadW = 0
	for _, l := range s.Loads {
		if d.IntN(2) == 0 {
			v.loadsOn = append(v.loadsOn, l.Label)
			u.LoadW += l.PowerW * d.spread(1.15)
		}
	}
	v.sound = d.trialOf(tb, s, u, 60)
	v.trial = d.trialOf(tb, s, u, 60, d.faults(s, k)...)
	return v
}

// roles of eight cases in a row.
var roles = [8]struct {
	faults int
	acts   bool // the fault is to show
}{{1, true}, {0, true}, {1, true}, {1, false}, {0, true}, {1, true}, {0, true}, {2, true}}

// faults of the k-th case, none where it is sound. The first goes through all
// conditions, a second is of another part of the plant.
func (d dice) faults(s *site.Site, k int) []condition.ID {
	n := roles[k%8].faults
	if n == 0 {
		return nil
	}
	before := 0 // faulty cases so far
	for i := range k {
		before += min(roles[i%8].faults, 1)
	}
	applicable := condition.Applicable(s)[1:]
	applies := func(id condition.ID) bool {
		return slices.ContainsFunc(applicable, func(c condition.Condition) bool { return c.ID == id })
	}
	all := condition.All()[1:]
	for !applies(all[before%len(all)].ID) {
		before++
	}
	first := all[before%len(all)]
	ids := []condition.ID{first.ID}
	for len(ids) < n {
		if other := pick(d, applicable...); other.Part != first.Part {
			ids = append(ids, other.ID)
		}
	}
	return ids
}

// when draws a date and hour and a sky, and the light and warmth that follow.
func (d dice) when(s *site.Site, u *plant.Unknowns, v *visit) {
	zone := time.FixedZone("", int(s.Place.UTCOffsetH*3600))
	day := time.Date(2026, 1, 1, 0, 0, 0, 0, zone).AddDate(0, 0, d.IntN(365))
	minutes := 8*60 + d.IntN(9*60) // by day
	if d.IntN(6) == 0 {
		minutes = 20*60 + d.IntN(3*60)
	}
	v.at = day.Add(time.Duration(minutes) * time.Minute)
	p := s.Place
	clear := sun.ClearPlane(v.at, p.LatitudeDeg, p.LongitudeDeg, p.TiltDeg, p.BearingDeg)
	v.sky = pick(d, 1, 2, 3, 3, 3)
	share := [...]float64{0, d.between(0.08, 0.35), d.between(0.5, 0.85), d.between(0.9, 1.05)}[v.sky]
	if elevation, _ := sun.Position(v.at, p.LatitudeDeg, p.LongitudeDeg); elevation < -6 {
		v.sky = 0
	}
	u.Irradiance = max(clear*share, darkest)
	u.IrradianceIsolated = max(u.Irradiance*d.between(0.93, 1.07), darkest)
	rise := (s.Array.Module.NOCTC - 20) / 800
	u.CellC = u.AirC + rise*u.Irradiance + d.between(-4, 4)
	u.CellCIsolated = u.CellC + rise*(u.IrradianceIsolated-u.Irradiance)
	u.Gravity = d.between(-0.008, 0.008)
}

// giveLamps invents the controller's lamps.
func (d dice) giveLamps(s *site.Site) {
	n := s.NominalV / 12
	means := func(m ...site.Meaning) []site.Meaning { return m }
	high, low := round(n*d.between(12.7, 13.2), 1), round(n*d.between(11.7, 12.1), 1)
	lamps := []site.Lamp{
		{Label: "panel eye", Looks: []site.Look{{Look: "bright", Means: means(site.ArrayLive)}, {Look: "blank", Means: means(site.ArrayDead)}}},
		{Label: "flow mark", Looks: []site.Look{
			{Look: "three dots", Means: means(site.Charging, site.NotRegulating)},
			{Look: "one dot", Means: means(site.Regulating)},
			{Look: "bar", Means: means(site.NotCharging, site.NotRegulating)},
			{Look: "nothing", Means: means(site.Unpowered)}}},
		{Label: "store mark", Looks: []site.Look{
			{Look: "full square", Means: means(site.BatteryAbove), Volts: high},
			{Look: "half square", Means: means(site.BatteryBetween), Volts: low, VoltsTo: high},
			{Look: "empty square", Means: means(site.BatteryBelow), Volts: low},
			{Look: "nothing", Means: means(site.Unpowered)}}},
	}
	if s.Controller.LoadOutput {
		lamps = append(lamps, site.Lamp{Label: "use mark", Looks: []site.Look{
			{Look: "ring", Means: means(site.LoadsLive)},
			{Look: "ring with a stroke", Means: means(site.LoadsCut)},
			{Look: "nothing", Means: means(site.Unpowered)}}})
	}
	d.Shuffle(len(lamps), func(i, j int) { lamps[i], lamps[j] = lamps[j], lamps[i] })
	s.Controller.Lamps = lamps[:1+d.IntN(len(lamps))]
}

// writeCase notes what a visitor would and writes the case's folder.
func writeCase(tb testing.TB, number int, v *visit, verdict *verdict, lucky bool) {
	tb.Helper()
	d := dice{rand.New(rand.NewPCG(uint64(number), 7))}
	n := newNotebook(d)
	n.set.TakenAt, n.set.LoadsOn = v.at, append([]string{}, v.loadsOn...)
	f := &v.u.Fault
	shade, glass := 0, 0
	if f.ShadedGroups > 0 {
		shade = 1
		if f.ShadedGroups == v.site.Array.Series*v.site.Array.Module.Bypass && v.site.Array.Strings == 1 {
			shade = 2
		}
	}
	if lost := f.LightLost; lost > 0.3 {
		glass = 2
	} else if lost > 0 || v.u.Soiling > 0.05 {
		glass = 1
	}
	n.word(reading.Sky, v.sky)
	n.word(reading.Shade, shade)
	n.word(reading.Glass, glass)
	n.readings(v.trial, verdict, number%5 != 0)
	n.lamps(v.trial, verdict)
	if number%10 == 4 {
		n.spoil()
	}

	truth := caseTruth{Conditions: v.ids, Suspect: append([]reading.Key{}, n.suspect...), Note: v.note(lucky)}
	if len(v.ids) == 0 {
		truth.Conditions = []condition.ID{condition.Sound}
	}
	truth.State = caseState{
		Daylight: v.u.Irradiance >= plant.DaylightFrom, Charging: verdict.charging, Regulating: verdict.regulating,
		ChargeLevel: round(v.u.SoC, 4),
	}
	if verdict.regulating {
		truth.State.SpareW = max(0, round(verdict.spareW, 1))
	}
	if !f.Dead && !f.LoadOff && v.hasBattery() {
		truth.State.LoadsCut = &verdict.cut
	}
	dir := filepath.Join(casesDir, fmt.Sprintf("%03d", number))
	require.NoError(tb, os.MkdirAll(dir, 0o755))
	data, err := json.MarshalIndent(truth, "", " ")
	require.NoError(tb, err)
	for name, content := range map[string][]byte{"site.toml": siteFile(v.site), "readings.toml": reading.Format(n.set), "truth.json": append(data, '\n')} {
		require.NoError(tb, os.WriteFile(filepath.Join(dir, name), content, 0o644))
	}
}

// note says in words what kind of case it is.
func (v *visit) note(lucky bool) string {
	var ids []string
	for _, id := range v.ids {
		ids = append(ids, string(id))
	}
	moment, luck, stage := "sun", "unlucky", "absorb"
	switch {
	case v.u.Irradiance < plant.DaylightFrom:
		moment = "night"
	case v.u.Irradiance < 250:
		moment = "weak"
	}
	if lucky {
		luck = "lucky"
	}
	if v.u.FloatStage {
		stage = "float"
	}
	if ids == nil {
		ids = []string{"sound"}
	}
	return strings.Join([]string{strings.Join(ids, "+"), moment, luck, "stage " + stage}, "; ")
}
