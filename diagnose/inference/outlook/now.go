package outlook

import (
	"slices"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// Now is the moment of the visit.
type Now struct {
	Day     float64   `json:"day"`              // probability that there is light to speak of
	GivesW  Band      `json:"gives_w"`          // by the array, at the controller's battery side [W]
	CouldW  Band      `json:"could_w"`          // by the array if nothing were held back [W]
	TakenW  Band      `json:"taken_w"`          // by loads, controller, drains and wires [W]
	SpareW  Band      `json:"spare_w"`          // what the array could give beyond that, below 0: lacking [W]
	GainsA  Band      `json:"gains_a"`          // by the battery [A]
	GainsW  Band      `json:"gains_w"`          // [W]
	PerHour Band      `json:"percent_per_hour"` // percent of its charge in an hour
	Level   Band      `json:"level"`            // charge, part of what it holds today
	Loads   []LoadNow `json:"loads"`
}

// A LoadNow says whether a load can run without taking from the battery.
type LoadNow struct {
	Label string  `json:"label"`
	On    bool    `json:"on"`   // it was on at the visit
	Free  float64 `json:"free"` // probability that the battery loses nothing with it on
	Runs  float64 `json:"runs"` // probability that it gets power at all
}

// leastLoss is what a battery may give and still be said to lose nothing, of its capacity
// an hour: less than a controller takes.
const leastLoss = 1e-3

func (l *looker) now() Now {
	n := len(l.draws)
	var day int
	cols := make([][]float64, 8)
	loads := make([]LoadNow, len(l.uses))
	for j, u := range l.uses {
		loads[j] = LoadNow{Label: u.Label, On: slices.Contains(l.on, u.Label)}
	}
	for k := range l.draws {
		d := l.draws[k]
		var o plant.Out
		var f plant.Flow
		l.plant.Flow(&d.Unknowns, &o, &f)
		if o.Daylight {
			day++
		}
		taken := f.Loads + f.Own + f.Drain + f.Wires
		gainsA := o.Value[plant.BatteryA]
		rate, _ := l.plant.PerHour(&d.Unknowns, f.ChargeA)
		for c, x := range []float64{f.In, f.In + o.SpareW, taken, f.In + o.SpareW - taken, gainsA, gainsA * o.Value[plant.PostV], 100 * rate, d.SoC} {
			cols[c] = append(cols[c], x)
		}
		listed := 1.0
		if l.onW > 0 {
			listed = wantedW(&d.Unknowns) / l.onW
		}
		for j, u := range l.uses {
			with := d
			if !loads[j].On {
				more := powers{}.plus(u, listed)
				with.LoadW, with.BesideW, with.InverterW = with.LoadW+more.main, with.BesideW+more.beside, with.InverterW+more.inverter
				with.InverterOn = with.InverterOn || more.inverter > 0
			}
			l.plant.Flow(&with.Unknowns, &o, &f)
			runs := serves(u, with.Unknowns, &o, &f)
			if runs {
				loads[j].Runs += 1 / float64(n)
			}
			if runs && o.Value[plant.BatteryA] > -leastLoss*l.plant.CapacityAh(&d.Unknowns) {
				loads[j].Free += 1 / float64(n)
			}
		}
	}
	return Now{
		Day: float64(day) / float64(n), GivesW: bandOf(cols[0]), CouldW: bandOf(cols[1]), TakenW: bandOf(cols[2]), SpareW: bandOf(cols[3]),
		GainsA: bandOf(cols[4]), GainsW: bandOf(cols[5]), PerHour: bandOf(cols[6]), Level: bandOf(cols[7]), Loads: loads,
	}
}

// serves reports whether a load gets power at a moment, whatever becomes of loads that are
// wired otherwise.
func serves(u Use, at plant.Unknowns, o *plant.Out, f *plant.Flow) bool {
	if u.from != site.FromInverter {
		at.InverterW = 0
	}
	if u.from != "" {
		at.LoadW = 0
	}
	return feeds(&at, o, f)
}
