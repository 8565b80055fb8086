package plant_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// A pulsing controller is run in time, with real switching at a kilohertz, and
// averaged as a meter does.
const (
	period    = 1e-3 // [s]
	settling  = 60   // periods before the meter looks
	looking   = 10   // periods it averages over
	finest    = period / 50
	layer     = 12 // time constant of the battery's double layer, in periods
	maxGroups = 8  // groups of the largest array that is run, for the time it takes
)

// means are what a meter shows.
var means = []struct {
	index    plant.Index
	name, of string
}{
	{plant.ArrayV, "array_v", "v(sa)"}, {plant.ModuleV, "module_v", "v(sm)"}, {plant.ArrayA, "array_a", "i(vsia)"},
	{plant.BatteryV, "battery_v", "v(b)"}, {plant.PostV, "post_v", "v(p)"}, {plant.BatteryA, "battery_a", "i(vib)"},
}

// pulsed is the circuit in time with the switch closed for the duty.
//
// A battery's double layer, tens of farads in each cell (from memory), smooths
// its overvoltage over seconds. Here it is smaller, so that it settles within
// the run, yet carries most of the pulses. What it leaves as a ripple is a known
// difference: where loads draw much between the pulses, the battery goes from
// charge to discharge and back, and its mean current moves by some milliamperes.
func (b *bench) pulsed(name string, output bool, duty float64) {
	c := b.circuit(name)
	c.inTime = true
	c.bus(b.trial, output)
	b.array(c)
	m, n := b.cellModel(), b.cellCount()
	if b.hasBattery() {
		slope := n * m.etaC / math.Max(b.stand.need, m.i0C)
		c.line("Cdl bi emf %s IC=%s", number(layer*period/slope), number(b.stand.bus["v(bi)"]-n*b.cellV()))
	}
	c.line("Carray sa 0 10n IC=%s", number(b.result["alone"]["v(sa)"])) // cells and wires
	c.line("Vgate gate 0 PULSE(0 1 0 100n 100n %s %g)", number(duty*period-100e-9), period)
	c.line(".model closed SW(RON=1u ROFF=1e9 VT=0.5 VH=0.01)")
	if b.site.Controller.Kind == site.Shunt {
		c.line("Vopen away 0 PULSE(1 0 0 100n 100n %s %g)", number(duty*period-100e-9), period)
		c.line("S1 sa sb away 0 closed")
		c.oneWay("sb", "0", shortedDropV, 1e-4)
		c.path(b.trial, "sa", "b")
	} else {
		c.line("S1 sa sb gate 0 closed")
		c.path(b.trial, "sb", "b")
	}
	from, to := settling*period, (settling+looking)*period
	c.probes = nil
	c.analysis = fmt.Sprintf("tran %g %g %g %g uic", finest, to, from-period, finest)
	for _, m := range means {
		c.analysis += fmt.Sprintf("\nmeas tran %s avg %s from=%g to=%g", m.name, m.of, from, to)
		c.probe(m.name)
	}
}

// TestRefereePulses compares the plant's averaged readings of a controller that
// holds the battery by switching with a simulation of the switching itself.
func TestRefereePulses(t *testing.T) {
	ngspice(t)
	benches := pulsing(t)
	duty := seekDuty(t, benches)
	compared, far := 0, 0
	for k, b := range benches {
		var o plant.Out
		plant.New(b.site, b.minutes).Solve(&b.u, &o)
		for _, m := range means {
			compared++
			want, got := b.result["pulsed"][m.name], o.Value[m.index]
			if !near(want, got) {
				far++
				t.Logf("#%d duty %.2f, %s: %s is %.4f, by switching %.4f", k, duty[k], b.about, m.name, got, want)
			}
		}
	}
	t.Logf("%d plants, %d means, %d further than %g %% and %g V or A", len(benches), compared, far, 100*relativeLimit, absoluteLimit)
	assert.LessOrEqual(t, float64(far), (1-shareLimit)*float64(compared))
}

// pulsing draws plants whose controller holds the set-point by switching, as
// many with series as with shunt controllers.
func pulsing(tb testing.TB) []*bench {
	tb.Helper()
	each := effort.Of(0, 3, 24)
	var benches []*bench
	count := map[site.Kind]int{}
	for _, b := range judgeStands(tb, drawTrials(tb, 2, effort.Of(0, 150, 1200))) {
		a, kind := b.site.Array, b.site.Controller.Kind
		switch {
		case !b.stand.regulating || b.stand.need < 0.02 || !b.hasBattery() || kind == site.MPPT:
		case b.u.Fault.LeakA > 0: // its valve does not close
		case a.Series*a.Strings*a.Module.Bypass > maxGroups || count[kind] == each:
		default:
			count[kind]++
			benches = append(benches, b)
		}
	}
	require.Equal(tb, map[site.Kind]int{site.Series: each, site.Shunt: each}, count)
	return benches
}

// seekDuty does what the controllers do: each adjusts its duty until the mean
// voltage is the set-point.
func seekDuty(tb testing.TB, benches []*bench) []float64 {
	tb.Helper()
	duty := make([]float64, len(benches))
	last := make([]struct{ duty, miss float64 }, len(benches))
	for k, b := range benches {
		duty[k] = b.stand.need / b.full()
	}
	for range 6 {
		for k, b := range benches {
			b.pulsed("pulsed", b.stand.output, duty[k])
		}
		solveAll(tb, benches)
		for k, b := range benches {
			miss := b.result["pulsed"]["battery_v"] - b.setPoint()
			next := duty[k] * 0.99
			if d := miss - last[k].miss; last[k].duty > 0 && d != 0 {
				next = duty[k] - miss*(duty[k]-last[k].duty)/d
			}
			last[k].duty, last[k].miss = duty[k], miss
			if math.Abs(miss) > 3e-5 {
				duty[k] = min(max(next, 0.001), 0.999)
			}
		}
	}
	for k, b := range benches {
		require.InDelta(tb, 0, last[k].miss, 2e-3, "#%d %s: no duty holds the set-point", k, b.about)
		duty[k] = last[k].duty
	}
	return duty
}
