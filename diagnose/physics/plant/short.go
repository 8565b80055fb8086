package plant

import (
	"fmt"
	"math"

	"ampwalk/diagnose/physics/site"
)

// BatteryShortText is [BatteryShortA] to two figures, "1700 A": nobody knows the
// current of a short circuit better.
func BatteryShortText(b site.Battery) string {
	a := BatteryShortA(b.Chemistry, b.CapacityAh)
	step := math.Pow(10, math.Floor(math.Log10(a))-1)
	return fmt.Sprintf("%.0f A", math.Round(a/step)*step)
}
