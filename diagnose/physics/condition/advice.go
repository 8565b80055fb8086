package condition

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/physics/site"
)

//go:embed advice.toml
var adviceFile []byte

// An AdviceState is what is believed of the energy state now.
type AdviceState struct {
	Daylight    float64 // probability of useful light on the array
	Charging    float64 // probability that array current reaches the battery side
	Regulating  float64 // probability that the controller holds power back
	LoadsCut    float64 // probability that low voltage has cut the load output
	ChargeLevel float64 // expected fraction of present capacity
	Chemistry   site.Chemistry
}

// A Tip says what the energy state means for the use of the system.
type Tip struct {
	ID    string `toml:"id"`
	Title string `toml:"title"`
	Text  string `toml:"text"`

	Outlook bool `toml:"outlook"` // an outlook says it with figures, and in its place
}

// Advise lists the tips that fit st, most pressing first: always one for the
// day or for the dark, and at most two more beside it. A value that is not a
// number fits no tip that asks for it.
func Advise(st AdviceState) []Tip {
	var tips []Tip
	for _, r := range adviceRules() {
		if r.fits(st) {
			tips = append(tips, r.Tip)
		}
	}
	return tips
}

// An adviceRule gives its tip within the ranges of advice.toml; nil is any value.
type adviceRule struct {
	Tip
	Daylight    *span            `toml:"daylight"`
	Charging    *span            `toml:"charging"`
	Regulating  *span            `toml:"regulating"`
	LoadsCut    *span            `toml:"loads_cut"`
	ChargeLevel *span            `toml:"charge_level"`
	Chemistries []site.Chemistry `toml:"chemistries"`
}

func (r adviceRule) fits(st AdviceState) bool {
	return r.Daylight.has(st.Daylight) &&
		r.Charging.has(st.Charging) &&
		r.Regulating.has(st.Regulating) &&
		r.LoadsCut.has(st.LoadsCut) &&
		r.ChargeLevel.has(st.ChargeLevel) &&
		fits(r.Chemistries, st.Chemistry)
}

// A span is [from, to) within 0 to 1. Spans that begin at 0 or end at 1 are
// open there, so that rounding beyond the ends of the scale loses no tip.
type span [2]float64

func (s *span) has(x float64) bool {
	return s == nil || (x >= s[0] || s[0] <= 0 && x < 0) && (x < s[1] || s[1] >= 1 && x >= 1)
}

var adviceRules = sync.OnceValue(func() []adviceRule {
	var file struct {
		Tip []adviceRule `toml:"tip"`
	}
	mustDecode("advice.toml", adviceFile, &file)
	return file.Tip
})
