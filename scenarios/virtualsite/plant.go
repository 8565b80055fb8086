package virtualsite

import (
	"math"
	"slices"
	"time"

	"ampwalk/diagnose/physics/plant"
)

// A solution is the plant now: as it is with all that is switched; the array by
// itself, what stands at its ends when it is isolated; and the rested battery.
type solution struct {
	at                 time.Time
	u                  plant.Unknowns
	found, array, rest plant.Out
}

// A rested battery: since when nothing flows, and what the plant was before.
type rested struct {
	since time.Time
	from  plant.Unknowns
	step  time.Time // when a load went on after the rest; zero while none is
	ready float64   // minutes of rest by then
}

// solve is the plant now.
func (b *Bench) solve() *solution {
	if b.solved != nil && b.solved.at.Equal(b.now) {
		return b.solved
	}
	s := &solution{at: b.now, u: b.unknowns()}
	b.plant.Solve(&s.u, &s.found)
	alone := s.u
	alone.Fault.ArrayOpen = b.u.Fault.ArrayOpen
	b.plant.Solve(&alone, &s.array)
	if r := b.rest; r != nil {
		minutes, u := b.now.Sub(r.since).Minutes(), r.from
		if !r.step.IsZero() {
			minutes = r.ready
		}
		if b.drawing() {
			u.StepA = max(-s.found.Value[plant.BatteryA], 0)
		}
		u.SoC, u.BatteryC = b.u.SoC, s.u.BatteryC
		plant.New(b.setup.Site, minutes).Solve(&u, &s.rest)
	}
	b.solved = s
	return s
}

// unknowns are those of the plant now, with what the trainee has opened.
func (b *Bench) unknowns() plant.Unknowns {
	u := b.u
	u.Irradiance = b.light()
	u.IrradianceIsolated = u.Irradiance
	u.AirC, u.CellC = b.airC(), b.cellC(u.Irradiance)
	u.CellCIsolated = u.CellC
	u.SetLoads(b.setup.Site, b.drawn)
	f := &u.Fault
	if (b.open.Array || b.open.ArrayFuse) && f.ArrayOpen == plant.NotOpen {
		f.ArrayOpen = plant.AfterPlug
	}
	b.shaded(f)
	f.BatteryOpen = f.BatteryOpen || b.open.BatteryFuse
	f.LoadOpen = f.LoadOpen || b.open.LoadFuse
	f.Dead = f.Dead || b.open.controller
	return u
}

// changed drops what was solved before.
func (b *Bench) changed() { b.solved = nil }

// Steps of time: the battery's charge and the controller's stage are followed
// in these.
const timeStep = 5 * time.Minute

// absorbTime is how long a controller with two stages holds the first (common
// practice: one to two hours).
const absorbTime = 90 * time.Minute

// pass lets time pass.
func (b *Bench) pass(d time.Duration) {
	for d > 0 {
		step := min(d, timeStep)
		s := b.solve()
		o := &s.found
		amps := o.Value[plant.BatteryA]
		b.u.SoC = min(max(b.u.SoC+amps*step.Hours()/b.plant.CapacityAh(&b.u), 0.01), 0.999)
		b.u.LatchedOff, b.u.InverterLatched = o.LoadsCut, o.InverterLow
		switch {
		case o.Regulating && !b.u.FloatStage:
			if b.full += step; b.full >= absorbTime {
				b.u.FloatStage = true
			}
		case b.u.SoC < 0.8:
			b.full, b.u.FloatStage = 0, false
		}
		b.now = b.now.Add(step)
		d -= step
		b.changed()
	}
}

// quiet reports whether nothing charges or discharges the battery but its own
// controller.
func (b *Bench) quiet() bool {
	return !b.fed() && !b.drawing()
}

// fed reports whether something can charge the battery: an array that is connected, by day,
// or the mains charger.
func (b *Bench) fed() bool {
	return !b.isolated() && b.light() >= plant.DaylightFrom || b.ChargerOn()
}

// drawing reports whether loads are on, or the inverter, which draws by itself.
func (b *Bench) drawing() bool { return len(b.on) > 0 || b.InverterOn() }

// settle keeps track of the battery's rest after something was switched; before
// is the plant before it.
func (b *Bench) settle(before plant.Unknowns) {
	switch {
	case b.quiet() && b.rest == nil:
		b.rest = &rested{since: b.now, from: before}
	case !b.quiet() && b.rest != nil:
		fed := b.fed()
		if !fed && b.rest.step.IsZero() {
			b.rest.step, b.rest.ready = b.now, b.now.Sub(b.rest.since).Minutes()
			break
		}
		if !fed && b.now.Sub(b.rest.step) <= onAfterAnother {
			b.rest.step = b.now
		}
		if fed {
			b.rest = nil
		}
	case b.quiet() && b.rest != nil && !b.rest.step.IsZero(): // the load is off again: a new rest
		b.rest = &rested{since: b.now, from: before}
	}
	b.changed()
}

// stepMinutes is how long after a load went on the posts show the step's
// voltage; later the battery is on its way down.
const stepMinutes = 8

// onAfterAnother is within what time loads that go on one after the other are one step.
const onAfterAnother = 3 * time.Minute

// stepping reports whether a known load was just put on a rested battery.
func (b *Bench) stepping() bool {
	return b.rest != nil && !b.rest.step.IsZero() && b.now.Sub(b.rest.step).Minutes() <= stepMinutes
}

// posts is the voltage at the battery's posts [V].
func (b *Bench) posts() float64 {
	s := b.solve()
	switch {
	case b.stepping():
		return s.rest.Value[plant.StepPostV]
	case b.rest != nil && b.quiet():
		return s.rest.Value[plant.RestV]
	}
	return s.found.Value[plant.PostV]
}

// pulseRMS is what an AC range shows of an array that a series controller
// switches on and off [V]: a square wave between the open-circuit voltage and
// the battery's, D and 1 − D of the time, has the deviation ΔV·√(D(1 − D)).
func (b *Bench) pulseRMS() float64 {
	s := b.solve()
	if !s.found.Regulating || b.setup.Site.Controller.Kind == "mppt" {
		return 0
	}
	high, low := b.plant.ArrayOpenV(&s.u), s.found.BusV+s.u.DropV
	if b.setup.Site.Controller.Kind == "shunt" {
		high, low = s.found.BusV+s.u.DropV, 0.1
	}
	if high-low < 0.5 {
		return 0
	}
	d := min(max((high-s.found.Value[plant.ArrayV])/(high-low), 0), 1)
	return (high - low) * math.Sqrt(d*(1-d))
}

// blocks are the voltages of the battery's blocks in order [V]; the weak one's
// place is drawn.
func (b *Bench) blocks() []float64 {
	s := b.solve()
	n := b.setup.Site.Battery.Blocks
	base := b.posts() / float64(n)
	list := slices.Repeat([]float64{base}, n)
	low, rest := s.array.Value[plant.BlockLow], s.array.Value[plant.BlockRest]
	if b.stepping() {
		low, rest = s.rest.Value[plant.StepBlockLow], s.rest.Value[plant.StepBlockRest]
	}
	if rest-low > 0.01 {
		per := (b.posts() + rest - low) / float64(n)
		list = slices.Repeat([]float64{per}, n)
		list[b.random("weak", 0).IntN(n)] = per - (rest - low)
	}
	return list
}

// cells are the densities of the acid, cell by cell.
func (b *Bench) cells() []float64 {
	s := b.solve()
	n := b.setup.Site.Battery.Cells()
	list := slices.Repeat([]float64{s.array.Value[plant.GravityRest]}, n)
	r := b.random("acid", 0)
	for i := range list {
		list[i] += 0.003 * r.NormFloat64() // sound cells differ (judgement)
	}
	if low, rest := s.array.Value[plant.GravityLow], s.array.Value[plant.GravityRest]; rest-low > 0.01 {
		list[b.random("weak", 0).IntN(n)] = low
	}
	return list
}
