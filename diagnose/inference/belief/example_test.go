package belief_test

import (
	"fmt"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Under a clear sky no voltage comes from the array, while the battery is there.
func ExampleInfer() {
	set := reading.NewSet()
	set.Words[reading.Sky] = "clear"
	set.Numbers[reading.Irradiance] = 800
	set.Numbers[reading.BatteryV] = 12.5
	set.Numbers[reading.ArrayV] = 0.02
	set.Numbers[reading.ModuleV] = 20.4

	result, err := belief.Infer(belief.Input{Site: site.Demo(), Readings: set})
	if err != nil {
		fmt.Println(err)
		return
	}
	leader := result.Leader()
	fmt.Printf("%s, more than 90 %%: %t\n", leader.ID, leader.P > 0.9)
	fmt.Printf("in daylight: %t\n", result.State.Daylight > 0.9)
	// Output:
	// array-open, more than 90 %: true
	// in daylight: true
}
