package quantity_test

import (
	"errors"
	"fmt"

	"ampwalk/diagnose/physics/quantity"
)

func ExampleParse() {
	for _, typed := range []string{"12.6", "12,6 V", "350 mV"} {
		v, err := quantity.Parse(typed, quantity.Volt)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Println(quantity.Format(v, quantity.Volt))
	}
	_, err := quantity.Parse("12 A", quantity.Volt)
	fmt.Println(errors.Is(err, quantity.ErrUnit))
	// Output:
	// 12.60 V
	// 12.60 V
	// 0.35 V
	// true
}
