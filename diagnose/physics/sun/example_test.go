package sun_test

import (
	"fmt"
	"time"

	"ampwalk/diagnose/physics/sun"
)

// Noon at the equator on the day of the March equinox: the sun is nearly overhead.
func ExamplePosition() {
	noon := time.Date(2026, 3, 20, 12, 7, 0, 0, time.UTC)
	elevation, _ := sun.Position(noon, 0, 0)
	fmt.Printf("%.0f degrees\n", elevation)
	// Output:
	// 90 degrees
}
