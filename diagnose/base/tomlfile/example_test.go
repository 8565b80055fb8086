package tomlfile_test

import (
	"fmt"

	"ampwalk/diagnose/base/tomlfile"
)

// One value changes. Comments, order and all else stay as a person wrote them.
func ExampleText_Set() {
	text, err := tomlfile.NewText("clinic.site.toml", []byte(`# Our clinic.
name = "North"   # as on the gate
nominal_v = 12
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	if text, err = text.Set("name", "North gate"); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(string(text.Bytes()))
	// Output:
	// # Our clinic.
	// name = "North gate"  # as on the gate
	// nominal_v = 12
}
