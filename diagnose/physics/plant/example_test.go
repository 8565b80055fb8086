package plant_test

import (
	"fmt"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// The demo site in strong light, healthy and with its array circuit open.
func ExamplePlant_Solve() {
	p := plant.New(site.Demo(), 60)
	u := plant.Typical()
	u.Irradiance, u.CellC, u.SoC, u.LoadW = 800, 50, 0.6, 10
	var out plant.Out
	for _, open := range []plant.Open{plant.NotOpen, plant.BeforePlug} {
		u.Fault.ArrayOpen = open
		p.Solve(&u, &out)
		fmt.Printf("array %.1f A, battery %.1f V, charging %t\n", out.Value[plant.ArrayA], out.Value[plant.BatteryV], out.Charging)
	}
	// Output:
	// array 4.7 A, battery 13.0 V, charging true
	// array 0.0 A, battery 12.2 V, charging false
}
