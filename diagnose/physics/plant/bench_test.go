package plant_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// benchmarks are plant states of every regime: what is asked for is at most
// 1 µs where array and battery meet directly and 3 µs in any regime.
var benchmarks = []struct {
	name string
	site func(*site.Site)
	u    func(*plant.Unknowns)
	want func(*plant.Out) bool // that the state is in the regime it is named by
}{
	{"direct", series, nil, charging},
	{"direct-two-strings-apart", series, func(u *plant.Unknowns) { u.Fault.BypassShorts = 1 }, nil},
	{"direct-leak", series, func(u *plant.Unknowns) { u.Fault.LeakA = 0.5 }, charging},
	{"direct-shade", series, shade(1), charging},
	{"direct-shade-string", series, shade(2), charging},
	{"regulating-series", series, full, regulating},
	{"regulating-series-shade", series, both(full, shade(1)), regulating},
	{"regulating-shunt", shunt, full, regulating},
	{"regulating-shunt-shade", shunt, both(full, shade(1)), regulating},
	{"mppt", mppt, nil, charging},
	{"mppt-shade", mppt, shade(1), charging},
	{"mppt-shade-leak", mppt, both(shade(1), func(u *plant.Unknowns) { u.Fault.LeakA = 0.5 }), charging},
	{"regulating-mppt", mppt, full, regulating},
	{"regulating-mppt-shade", mppt, both(full, shade(1)), regulating},
	{"lfp", lfp, nil, charging},
	{"dark", series, func(u *plant.Unknowns) { u.Irradiance, u.IrradianceIsolated = 0, 0 }, nil},
	{"cut", series, func(u *plant.Unknowns) { u.SoC, u.Irradiance, u.IrradianceIsolated = 0.02, 0, 0 },
		func(o *plant.Out) bool { return o.LoadsCut }},
	{"battery-open", series, func(u *plant.Unknowns) { u.Fault.BatteryOpen, u.RunsAlone = true, true }, regulating},
}

func series(*site.Site) {}

func shunt(s *site.Site) { s.Controller.Kind = site.Shunt }

func mppt(s *site.Site) {
	s.Controller.Kind = site.MPPT
	s.Array.Series, s.Array.Strings = 2, 2
}

func lfp(s *site.Site) {
	s.Battery.Chemistry, s.Battery.CellsPerBlock = site.LFP, 4
}

func full(u *plant.Unknowns) { u.SoC, u.LoadW, u.FloatStage = 1, 5, true }

func shade(groups int) func(*plant.Unknowns) {
	return func(u *plant.Unknowns) { u.Fault.ShadedGroups, u.Fault.ShadeLight = groups, 0.3 }
}

func both(a, b func(*plant.Unknowns)) func(*plant.Unknowns) {
	return func(u *plant.Unknowns) { a(u); b(u) }
}

func charging(o *plant.Out) bool { return o.Charging && !o.Regulating }

func regulating(o *plant.Out) bool { return o.Regulating }

// The light and the charge move a little from state to state, as in a search,
// so that no branch is learnt by heart.
func BenchmarkSolve(b *testing.B) {
	for _, bb := range benchmarks {
		b.Run(bb.name, func(b *testing.B) {
			s := site.Demo()
			bb.site(s)
			p := plant.New(s, 60)
			u := plant.Typical()
			u.LoadW, u.Shunt, u.LoadShape = 20, 0.7, 0.3
			if bb.u != nil {
				bb.u(&u)
			}
			us := make([]plant.Unknowns, 64)
			for k := range us {
				x := float64(k) / float64(len(us))
				us[k] = u
				us[k].Irradiance *= 1 - 0.2*x
				us[k].SoC -= 0.01 * x
				us[k].Cable += 0.1 * x
			}
			var o plant.Out
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				p.Solve(&us[n%len(us)], &o)
				n++
			}
			b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "states/s")
			if bb.want != nil {
				assert.True(b, bb.want(&o), "regime")
			}
		})
	}
}

// The readings of the tests alone, of a state solved before.
func BenchmarkSolveTests(b *testing.B) {
	p := plant.New(site.Demo(), 60)
	u := plant.Typical()
	var o plant.Out
	p.Solve(&u, &o)
	b.ReportAllocs()
	for b.Loop() {
		p.SolveTests(&u, &o)
	}
}

// No state may allocate: a diagnosis solves some hundred thousand of them.
func TestSolveDoesNotAllocate(t *testing.T) {
	for _, bb := range benchmarks {
		s := site.Demo()
		bb.site(s)
		p := plant.New(s, 60)
		u := plant.Typical()
		if bb.u != nil {
			bb.u(&u)
		}
		var o plant.Out
		assert.Zero(t, testing.AllocsPerRun(10, func() { p.Solve(&u, &o) }), bb.name)
	}
}
