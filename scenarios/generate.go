package scenarios

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

// Chances of what a generated scenario is (choices of this project): one in
// six is sound, so that sound is a possible answer.
const (
	soundShare      = 1. / 6
	pairShare       = 0.3 // of level 3
	misleadingShare = 0.4 // of level 3
)

// drawsMost is how often a scenario is drawn again whose fault does not act at
// its moment.
const drawsMost = 60

// Generate makes the scenario of a level and a seed: the same one on every
// machine. The site, the moment and what is wrong are drawn; what is wrong acts
// on at least one reading by more than the limits of error.
func Generate(level int, seed uint64) *Scenario {
	level = min(max(level, 1), Levels)
	r := chance(fmt.Sprint("level ", level), seed)
	// A closed kit has few readings: its cases are written by hand.
	names := slices.DeleteFunc(SiteNames(), func(name string) bool { at, _ := siteOf(name); return at.Kit != nil })
	for i := range drawsMost {
		s := draw(r, level, names)
		s.seed = seed<<8 | uint64(i) // another plant for each draw
		if len(s.truth) == 0 || s.acts() {
			s.addSigns(chance("signs", s.seed))
			s.ID = fmt.Sprintf("level-%d-seed-%d", level, seed)
			s.Title = fmt.Sprintf(words().Generated.Title, seed, level, s.Site.Name)
			s.Story = s.story()
			s.learn = words().Generated.Learn
			return s
		}
	}
	panic("scenarios: no fault acts") // a test draws many
}

func draw(r *rand.Rand, level int, names []string) *Scenario {
	s := &Scenario{Level: level, Solvable: true}
	s.Site, s.SiteTOML = siteOf(names[r.IntN(len(names))])
	s.drawMoment(r, level)
	s.drawTruth(r, level)
	if level == Levels && r.Float64() < misleadingShare {
		s.drawQuirk(r)
	}
	return s
}

// drawMoment draws date, hour, weather, charge and loads. Level 1 comes about
// noon in steady light.
func (s *Scenario) drawMoment(r *rand.Rand, level int) {
	hour := 10 + 4*r.Float64()
	share := 0.85 + 0.2*r.Float64()
	restless := 0.01
	if level > 1 {
		hour = 6.5 + 13*r.Float64()
		share = []float64{0.15, 0.3, 0.6, 0.8, 0.95, 1.02}[r.IntN(6)]
		restless = 0.01 + 0.02*r.Float64()
	}
	p := s.Site.Place
	day := time.Date(2026, 1, 1, 0, 0, 0, 0, time.FixedZone("", int(p.UTCOffsetH*3600))).AddDate(0, 0, r.IntN(365))
	solar := hour - p.LongitudeDeg/15 + p.UTCOffsetH
	s.At = day.Add(time.Duration(solar*60) * time.Minute)
	s.setup.Weather = virtualsite.Weather{Share: share, Restless: restless, AirC: math.Round(16 + 16*r.Float64())}
	s.charge = 0.35 + 0.6*r.Float64()
	if level > 1 && r.IntN(4) == 0 {
		s.charge = 0.05 + 0.25*r.Float64()
		s.cut = r.IntN(2) == 0
	}
	if r.IntN(4) == 0 {
		s.charge, s.float = full(r), r.IntN(2) == 0
	}
	s.setup.LoadsOn = []string{}
	for _, l := range s.Site.Loads {
		if r.IntN(3) > 0 {
			s.setup.LoadsOn = append(s.setup.LoadsOn, l.Label)
		}
	}
	s.drawParts(r)
}

// full draws the charge of a full battery. Just below it the current falls by
// half within minutes, and readings taken one after the other do not fit together.
func full(r *rand.Rand) float64 { return 0.996 + 0.003*r.Float64() }

func (s *Scenario) drawTruth(r *rand.Rand, level int) {
	if r.Float64() < soundShare {
		return
	}
	could := condition.Applicable(s.Site)[1:] // sound stands first
	n := 1
	if level == Levels && r.Float64() < pairShare {
		n = 2
	}
	least := 0.5 - 0.2*float64(level-1) // level 1 shows plainly
	for len(s.truth) < n {
		c := could[r.IntN(len(could))]
		if slices.Contains(s.Truth(), c.ID) || len(s.truth) == 1 && c.Part == condition.Of(s.truth[0].id).Part {
			continue
		}
		severity := func() float64 { return least + (1-least)*r.Float64() }
		s.truth = append(s.truth, fault{c.ID, severity(), severity(), r.IntN(len(condition.Options(c.ID, s.Site)))})
		switch c.ID {
		case condition.ChargePathStuck, condition.SetPointLow, condition.SetPointHigh: // seen at a full battery only
			s.charge, s.float = full(r), r.IntN(2) == 0
		case condition.CutOffFails: // at a flat one
			s.charge, s.float = 0.01+0.05*r.Float64(), false
		}
	}
}

// drawQuirk makes one reading wrong at its first taking.
func (s *Scenario) drawQuirk(r *rand.Rand) {
	volts := []reading.Key{reading.ArrayV, reading.BatteryV, reading.PostV}
	s.setup.Quirks = []virtualsite.Quirk{{Reading: volts[r.IntN(len(volts))], Add: -(0.05 + 0.1*r.Float64()) * s.Site.NominalV, Times: 1}}
}

// first is the plant when the trainee comes, its tests included.
func (s *Scenario) first() (o plant.Out) {
	u := s.unknowns()
	u.Irradiance, u.CellC, u.AirC = s.Bench().Conditions()
	u.IrradianceIsolated, u.CellCIsolated = u.Irradiance, u.CellC
	u.SetLoads(s.Site, func(i int) float64 {
		if l := s.Site.Loads[i]; slices.Contains(s.setup.LoadsOn, l.Label) {
			return l.PowerW
		}
		return 0
	})
	plant.New(s.Site, 45).Solve(&u, &o)
	return o
}

// actsFrom is by how many limits of error a fault must move a reading.
const actsFrom = 2.5

// acts reports whether each fault moves a reading as found, isolated or rested.
func (s *Scenario) acts() bool { return len(s.silent()) == 0 }

// silent are the faults that move no reading.
func (s *Scenario) silent() (list []condition.ID) {
	for i, f := range s.truth {
		without := *s
		without.truth = slices.Delete(slices.Clone(s.truth), i, i+1)
		if !differs(s.first(), without.first()) {
			list = append(list, f.id)
		}
	}
	return list
}

func differs(a, b plant.Out) bool {
	if a.DeadLoad != b.DeadLoad { // who tries its switch finds it
		return true
	}
	meters := reading.DefaultInstruments()
	for _, spec := range reading.Specs {
		for _, i := range places(spec) {
			limit := meters[spec.Meter].Limit(b.Value[i])
			switch spec.Meter {
			case reading.Voltmeter:
				limit += 0.1 // tables of rest voltages and switches differ by as much
			case reading.NoMeter: // of a closed kit: told, or by a USB meter
				limit = 0.2 * math.Abs(b.Value[i])
			case reading.Clamp:
				limit += 0.08 * math.Abs(b.Value[i]) // as the light does
			}
			if math.Abs(a.Value[i]-b.Value[i]) > actsFrom*limit {
				return true
			}
		}
	}
	return false
}

// places are those of a reading with numbers that an instrument gives.
func places(spec reading.Spec) []plant.Index {
	if spec.Meter == reading.NoMeter && !slices.Contains([]reading.Key{reading.USBV, reading.OutputW, reading.RunH}, spec.Key) {
		return nil
	}
	if i, ok := plant.IndexOf(spec.Key); ok {
		return []plant.Index{i}
	}
	if spec.Form == reading.List {
		low, rest := plant.ListOf(spec.Key)
		return []plant.Index{low, rest}
	}
	return nil
}

// story is what the people say of their loads, which they see.
func (s *Scenario) story() string {
	return words().Generated.Story[string(s.Bench().Service())]
}
