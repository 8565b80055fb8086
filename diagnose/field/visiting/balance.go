package visiting

import (
	"fmt"
	"math"

	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A Balance is what the currents alone say, without any model: what comes into the battery's
// side, less what is known to leave it.
type Balance struct {
	ElsewhereA float64 // goes where no clamp was; below 0: comes from there
	LimitA     float64 // what the instruments and the listed loads leave open
}

// Matters reports whether current goes elsewhere beyond doubt.
func (b Balance) Matters() bool { return math.Abs(b.ElsewhereA) > b.LimitA }

// The currents stand still between readings to about so much of the largest (judgement).
const balanceSteady = 0.03

// BalanceOf is the balance of the readings, and whether they suffice: the battery's current,
// the array's where the controller does not convert it, and of what the site has the loads',
// the inverter's and the charger's. Loads past the controller count as they are listed.
func BalanceOf(s *site.Site, set *reading.Set) (b Balance, ok bool) {
	var sum, squares, most float64
	add := func(k reading.Key, sign float64) bool {
		x, has := set.Numbers[k]
		if !has {
			return false
		}
		sum += sign * x
		squares += math.Pow(set.Instruments[reading.Clamp].Limit(x), 2)
		most = max(most, math.Abs(x))
		return true
	}
	dark := set.Words[reading.Sky] == "dark"
	if !add(reading.BatteryA, -1) || s.Controller.Kind == site.MPPT && !dark || !dark && !add(reading.ArrayA, 1) {
		return b, false
	}
	if len(s.LoadsFrom(s.MainSource())) > 0 && !add(reading.LoadA, -1) {
		return b, false
	}
	if i := s.Inverter; i != nil && i.From != s.MainSource() && !add(reading.InverterA, -1) {
		return b, false
	}
	if s.Charger != nil && set.Words[reading.ChargerOn] != "false" && !add(reading.ChargerA, 1) {
		return b, false
	}
	sum -= s.Controller.OwnUseMA / 1000
	if s.Controller.LoadOutput { // those on the battery were not in the clamp
		if set.LoadsOn == nil {
			return b, false
		}
		var listed float64
		for _, l := range s.LoadsFrom(site.FromBattery) {
			for _, label := range set.LoadsOn {
				if label == l.Label {
					listed += l.PowerW / s.NominalV
				}
			}
		}
		sum -= listed
		squares += math.Pow(listed/4, 2)
	}
	return Balance{sum, 2*math.Sqrt(squares) + balanceSteady*most + balanceLeast}, true
}

// balanceLeast is what nobody looks for [A].
const balanceLeast = 0.1

// BalanceText says where current goes that no clamp saw, "" where that is not beyond doubt.
func BalanceText(s *site.Site, set *reading.Set) string {
	b, ok := BalanceOf(s, set)
	w := words().Balance
	switch {
	case !ok || !b.Matters():
		return ""
	case b.ElsewhereA > 0:
		return fmt.Sprintf(w.Elsewhere, quantity.Format(b.ElsewhereA, "A"), quantity.Format(b.LimitA, "A"))
	default:
		return fmt.Sprintf(w.FromElsewhere, quantity.Format(-b.ElsewhereA, "A"), quantity.Format(b.LimitA, "A"))
	}
}
