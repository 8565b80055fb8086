package main

import (
	"bytes"
	"fmt"
	"math"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// check reads what was written, as the program does; cases with the new parts are
// checked by their test, key by key. A plant that no instrument could read or no site
// file describe is drawn again.
func (m *made) check() error {
	for k, v := range m.notebook.numbers {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%w: %s is %v", errDraw, k, v)
		}
	}
	if m.world.site.parts {
		return nil
	}
	s, err := site.Parse("site.toml", m.site)
	if err != nil {
		return fmt.Errorf("%w: %w", errDraw, err)
	}
	if bytes.Contains(m.site, []byte("null")) {
		return fmt.Errorf("a site with an empty value: %s", m.site)
	}
	if _, err := reading.Parse("readings.toml", m.readings, s); err != nil {
		return fmt.Errorf("%w: %w", errDraw, err)
	}
	return nil
}
