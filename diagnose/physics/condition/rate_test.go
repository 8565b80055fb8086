package condition

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"ampwalk/diagnose/physics/site"
)

func TestSiteKnowsAllConditions(t *testing.T) {
	var list []string
	for _, c := range All() {
		list = append(list, string(c.ID))
	}
	assert.Equal(t, list, site.Conditions)
}

// ratio is the odds of id against sound over the base rates' odds.
func ratio(s *site.Site, day time.Time, id ID) float64 {
	var p, sound float64
	for _, c := range At(s, day, "") {
		switch c.ID {
		case id:
			p = c.Prior
		case Sound:
			sound = c.Prior
		}
	}
	return p / sound / (Of(id).Prior / Of(Sound).Prior)
}

// By hand: a rate that grows with the age, 4 years being typical of lead-acid and 8 of
// lfp, from two thirds to one and a half; 1.5 and its inverse half a year apart.
func TestRates(t *testing.T) {
	in := func(change func(*site.Site)) *site.Site { s := *site.Demo(); change(&s); return &s }
	may := time.Date(2027, 5, 1, 0, 0, 0, 0, time.UTC)
	tests := []struct {
		name string
		site *site.Site
		day  time.Time
		id   ID
		want float64
	}{
		{"four years", in(func(s *site.Site) { s.Battery.Installed = "2023-05" }), may, BatteryWorn, 1},
		{"six", in(func(s *site.Site) { s.Battery.Installed = "2021-05" }), may, BatteryWorn, 1.5},
		{"renewed last month", in(func(s *site.Site) { s.Battery.Installed = "2027-04" }), may, BatteryWorn, 1 / 1.5},
		{"twenty", in(func(s *site.Site) { s.Battery.Installed = "2007-05" }), may, BatteryWorn, 1.5},
		{"lithium, six", in(func(s *site.Site) { s.Battery.Installed, s.Battery.Chemistry = "2021-05", site.LFP }), may, BatteryWorn, 0.75},
		{"not known when", in(func(s *site.Site) { s.Battery.Installed = "" }), may, BatteryWorn, 1},
		{"what does not wear", in(func(s *site.Site) { s.Array.Installed = "2007-05" }), may, ArrayReversed, 1},
		{"joints of nine years", in(func(s *site.Site) { s.Array.Installed = "2018-05" }), may, LoadJoint, 1.5},
		{"end of the southern dry season", site.Demo(), time.Date(2026, 9, 10, 0, 0, 0, 0, time.UTC), ArraySoiled, 1.5},
		{"end of the southern rains", site.Demo(), time.Date(2026, 3, 10, 0, 0, 0, 0, time.UTC), ArraySoiled, 1 / 1.5},
		{"the north", in(func(s *site.Site) { s.Place.LatitudeDeg = 13 }), time.Date(2026, 3, 10, 0, 0, 0, 0, time.UTC), ArraySoiled, 1.5},
		{"far north", in(func(s *site.Site) { s.Place.LatitudeDeg = 50 }), time.Date(2026, 3, 10, 0, 0, 0, 0, time.UTC), ArraySoiled, 1},
		{"no day", site.Demo(), time.Time{}, ArraySoiled, 1},
		{"the site's own", in(func(s *site.Site) { s.Priors = map[string]float64{"array-soiled": 3} }), time.Time{}, ArraySoiled, 3},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.InDelta(t, tt.want, ratio(tt.site, tt.day, tt.id), 0.01) })
	}
}

// On any day at any place the priors add up to 1 and none is lost.
func TestRatesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := *site.Demo()
		s.Place.LatitudeDeg = rapid.Float64Range(-90, 90).Draw(t, "latitude")
		s.Priors = map[string]float64{string(rapid.SampledFrom(ids).Draw(t, "id")): rapid.Float64Range(0.01, 100).Draw(t, "weight")}
		cs := At(&s, time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "day"), 0), "")
		assert.Len(t, cs, len(Applicable(&s)))
		var sum float64
		for _, c := range cs {
			assert.Positive(t, c.Prior)
			sum += c.Prior
		}
		assert.InDelta(t, 1, sum, 1e-9)
	})
}
