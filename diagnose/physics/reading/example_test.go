package reading_test

import (
	"fmt"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

func ExampleParse() {
	set, err := reading.Parse("morning.readings.toml", []byte(`
[as_found]
sky = "clear"
battery_v = 12.62
array_a = -0.02
`), site.Demo())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(set.Words[reading.Sky], set.Numbers[reading.BatteryV], set.Numbers[reading.ArrayA])
	// Output:
	// clear 12.62 -0.02
}
