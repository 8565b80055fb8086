package site_test

import (
	"errors"
	"fmt"

	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/site"
)

// What is wrong in a site file is told with file, line and key, all of it at once.
func ExampleParse() {
	_, err := site.Parse("school.site.toml", []byte(`name = "School"
nominal_v = 13
`))
	var problems tomlfile.Problems
	if errors.As(err, &problems) {
		for _, p := range problems {
			fmt.Println(p.File, p.Line, p.Key)
		}
	}

	s, err := site.Parse("demo.site.toml", site.DemoTOML())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.Name, s.NominalV, "V,", s.Battery.CapacityAh, "Ah")
	// Output:
	// school.site.toml 1 place
	// school.site.toml 1 array
	// school.site.toml 1 controller
	// school.site.toml 1 battery
	// school.site.toml 1 load_wiring
	// school.site.toml 2 nominal_v
	// Lantern Hill clinic 12 V, 80 Ah
}
