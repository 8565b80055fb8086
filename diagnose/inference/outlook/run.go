package outlook

import (
	"runtime"
	"sync"
	"sync/atomic"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/plant"
)

// Books are where the energy of a time went [Wh]. In is the sum of all the others.
type Books struct {
	In     float64 `json:"in_wh"`     // from the array, at the controller's battery side
	Loads  float64 `json:"loads_wh"`  // used by the loads
	Own    float64 `json:"own_wh"`    // by the controller
	Drain  float64 `json:"drain_wh"`  // by what is not listed
	Stored float64 `json:"stored_wh"` // more in the battery than at the beginning
	Wires  float64 `json:"wires_wh"`  // lost in battery cable and load wiring
	Heat   float64 `json:"heat_wh"`   // lost in the cells
	Gas    float64 `json:"gas_wh"`    // lost in gassing, self-discharge among it
	Toll   float64 `json:"toll_wh"`   // lost to quick discharges, by Peukert's rule
	Over   float64 `json:"over_wh"`   // pushed into a battery that was full

	Spare   float64 `json:"spare_wh"`   // beside the sum: what the array could have given more
	Missing float64 `json:"missing_wh"` // and what loads that should have run did not get
}

// Lost is what nobody used.
func (b *Books) Lost() float64 { return b.Wires + b.Heat + b.Gas + b.Toll + b.Over + b.Drain }

// A runner leads one plant through time.
type runner struct {
	p      *plant.Plant
	u      plant.Unknowns
	o      plant.Out
	f      plant.Flow
	books  Books
	ah     float64
	rise   float64 // of the cells above the air, for each W/m2 [K]
	cellK  float64 // of this plant beside that [K]
	tank   float64 // of the battery above the mean of the air [K]
	heldH  float64 // at the absorption set-point since dark [h]
	leftOn bool    // the inverter, with nothing on it
	listed float64 // what listed power is to be multiplied by
}

const (
	// heldLongest is how long a controller stays at the absorption set-point before it goes
	// to float [h] (common practice).
	heldLongest = 2
	loadSpread  = 0.1 // of a load's draw against its label, where none was seen on
)

// newRunner begins with the plant of a draw, meanC the mean air of its day [°C].
func newRunner(p *plant.Plant, d *belief.Draw, k int, onW, meanC float64) *runner {
	r := &runner{p: p, u: d.Unknowns, ah: p.CapacityAh(&d.Unknowns)}
	r.rise = (p.Site().Array.Module.NOCTC - 20) / 800
	r.cellK = d.CellC - d.AirC - r.rise*d.Irradiance
	r.tank = d.BatteryC - meanC
	r.listed = 1 + loadSpread*chance(chanceLoads, k).NormFloat64()
	if onW > 0 {
		r.listed = wantedW(&d.Unknowns) / onW
	}
	r.listed = max(r.listed, 0.2)
	// Mains and generator come when they come: nothing is reckoned with. A second array goes
	// with the light.
	r.leftOn, r.u.ChargerOn = d.InverterOn, d.ChargerOn && p.Site().SecondArray()
	return r
}

// solve works out the moment: light in the plane, air, mean of the air of the day, listed
// power that is switched on.
func (r *runner) solve(light, airC, meanC float64, watts powers) {
	u := &r.u
	u.Irradiance, u.AirC, u.BatteryC = light, airC, meanC+r.tank
	u.CellC = airC + r.rise*light + r.cellK
	u.LoadW, u.BesideW, u.InverterW = watts.main*r.listed, watts.beside*r.listed, watts.inverter*r.listed
	u.InverterOn = r.leftOn || watts.inverter > 0
	r.p.Flow(u, &r.o, &r.f)
	u.LatchedOff, u.InverterLatched = r.o.LoadsCut, r.o.InverterLow
	if light < plant.DaylightFrom {
		r.heldH, u.FloatStage = 0, false
	}
}

// fed reports whether the loads that are switched on get power.
func (r *runner) fed() bool { return wantedW(&r.u) <= 0 || feeds(&r.u, &r.o, &r.f) }

// wantedW is what all loads that are on want [W].
func wantedW(u *plant.Unknowns) float64 { return u.LoadW + u.BesideW + u.InverterW }

// feeds reports whether loads get power at a moment: an empty battery gives none.
func feeds(u *plant.Unknowns, o *plant.Out, f *plant.Flow) bool {
	cut := o.LoadsCut && u.LoadW > 0 || !o.InverterRuns && u.InverterW > 0
	return !cut && f.Loads > 1e-9 && (u.SoC > 0 || f.ChargeA >= 0)
}

// pass lets the moment last for so many hours.
func (r *runner) pass(h float64) {
	if r.o.Regulating && !r.u.FloatStage {
		if r.heldH += h; r.heldH > heldLongest {
			r.u.FloatStage = true
		}
	}
	rate, toll := r.p.PerHour(&r.u, r.f.ChargeA)
	if rate < 0 && r.u.SoC+rate*h < 0 { // it runs empty
		until := max(0, r.u.SoC/-rate)
		r.book(until, rate, toll)
		r.u.SoC = 0
		r.empty(h - until)
		return
	}
	r.book(h, rate, toll)
	r.u.SoC += rate * h
	if over := r.u.SoC - 1; over > 0 {
		r.u.SoC = 1
		wh := over * r.ah * r.f.CellsV
		r.books.Stored -= wh
		r.books.Over += wh
	}
}

// empty passes hours with an empty battery: the loads get nothing, and where there is no
// surplus without them nothing moves.
func (r *runner) empty(h float64) {
	r.books.Missing += wantedW(&r.u) * h
	idle := r.u
	idle.LoadW, idle.BesideW, idle.InverterW, idle.InverterOn = 0, 0, 0, false
	r.p.Flow(&idle, &r.o, &r.f)
	r.o.LoadsCut, r.u.LatchedOff, r.u.InverterLatched = true, true, true
	rate, toll := r.p.PerHour(&r.u, r.f.ChargeA)
	if rate < 0 {
		r.f = plant.Flow{}
		return
	}
	r.book(h, rate, toll)
	r.u.SoC += rate * h
}

func (r *runner) book(h, rate, toll float64) {
	b, f := &r.books, &r.f
	lost := -toll * r.ah * f.CellsV // a toll is below zero
	b.In += f.In * h
	b.Loads += f.Loads * h
	b.Own += f.Own * h
	b.Drain += f.Drain * h
	b.Wires += f.Wires * h
	b.Heat += f.Heat * h
	b.Gas += f.Gas * h
	b.Toll += lost * h
	b.Stored += (f.Stored - lost) * h
	b.Spare += r.o.SpareW * h
	if !r.fed() {
		b.Missing += wantedW(&r.u) * h
	}
}

// each spreads n pieces of work over the processors; each writes only its own result, so
// that their order does not matter.
func each(n int, work func(k int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for k := int(next.Add(1)) - 1; k < n; k = int(next.Add(1)) - 1 {
				work(k)
			}
		})
	}
	wg.Wait()
}
