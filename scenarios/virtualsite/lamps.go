package virtualsite

import (
	"strings"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// holds is what is so of the meanings of a controller's lamps.
func (b *Bench) holds() map[site.Meaning]bool {
	o := &b.solve().found
	return map[site.Meaning]bool{
		site.ArrayLive: o.ArrayLive, site.ArrayDead: o.Powered && !o.ArrayLive,
		site.Charging: o.Powered && o.Charging, site.NotCharging: o.Powered && !o.Charging,
		site.Regulating: o.Powered && o.Regulating, site.NotRegulating: o.Powered && !o.Regulating,
		site.LoadsLive: o.Powered && o.LoadsLive, site.LoadsCut: o.Powered && !o.LoadsLive,
		site.Powered: o.Powered, site.Unpowered: !o.Powered,
	}
}

// inverterHolds is what is so of those of an inverter's.
func (b *Bench) inverterHolds() map[site.Meaning]bool {
	o := &b.solve().found
	fed := !o.Floats[plant.InverterV] && o.Value[plant.InverterV] > runsFrom*b.setup.Site.NominalV
	return map[site.Meaning]bool{
		site.InverterOn: o.InverterRuns, site.InverterOff: !o.InverterRuns,
		site.InverterLow: o.InverterLow, site.InverterOverload: o.InverterOver,
		site.Powered: fed, site.Unpowered: !fed,
	}
}

// lampLook is how a lamp looks: the look whose meanings hold best.
func (b *Bench) lampLook(l *site.Lamp, holds map[site.Meaning]bool) string {
	o := &b.solve().found
	best, most := "", -1.0
	for _, look := range l.Looks {
		n := 0.0
		for _, m := range look.Means {
			so := holds[m]
			switch m {
			case site.BatteryAbove:
				so = o.Powered && o.BusV >= look.Volts
			case site.BatteryBelow:
				so = o.Powered && o.BusV < look.Volts
			case site.BatteryBetween:
				so = o.Powered && o.BusV >= look.Volts && o.BusV < look.VoltsTo
			}
			if so {
				n++
			} else {
				n -= 2
			}
		}
		if n > most {
			best, most = look.Look, n
		}
	}
	if best == "" && !o.Powered { // a lamp that says nothing of it is dark
		for _, look := range l.Looks {
			if dark := strings.ToLower(look.Look); dark == "out" || dark == "off" || dark == "blank" {
				return look.Look
			}
		}
	}
	if best == "" {
		best = l.Looks[len(l.Looks)-1].Look
	}
	return best
}
