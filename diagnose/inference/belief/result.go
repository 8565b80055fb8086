package belief

import (
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Input is what is known: the site and the readings so far.
type Input struct {
	Site     *site.Site
	Readings *reading.Set
}

// Result is the posterior and what follows from it.
type Result struct {
	Conditions []Posterior // every applicable condition, most probable first
	State      State
	Suspects   []Suspect             // readings that may be simply wrong, most probable first
	Gains      []Gain                // readings not yet taken, most informative first
	Expect     map[reading.Key]Range // what each number would show now by the belief without that reading itself
	Normal     map[reading.Key]Range // what each number, or figure of a list, would show at a sound plant in this light, warmth and state of charge
	Evidence   []Evidence            // per taken reading that is no context, strongest first

	Shown map[reading.Key][]Showing // what each number would show under the leading conditions, most probable first
	Array *Curve                    // nil where there is no light to speak of
}

// Leader is the most probable entry of Conditions.
func (r *Result) Leader() Posterior { return r.Conditions[0] }

// Of is the probability of id, 0 if it does not apply.
func (r *Result) Of(id condition.ID) float64 {
	for _, p := range r.Conditions {
		if p.ID == id {
			return p.P
		}
	}
	return 0
}

// BrightFrom is the light in the array's plane from which its power can be judged [W/m2]:
// IEC 62446-1 asks for stable light of at least 400 (from memory); from there on measured
// modules follow their nameplates within a few per cent (see TestMeasuredModules).
const BrightFrom = 400

// Of what takes a part of the array's power, the readings said something where its odds
// against a healthy system fell below this part of what they were before any reading.
const judgedFrom = 1.0 / 3

// TooDim reports whether there is not enough light to judge the array, and nothing else
// has judged it: what takes a part of its power is neither found nor made unlikely.
func (r *Result) TooDim() bool {
	if r.State.Bright >= 0.5 {
		return false
	}
	var weak, before float64
	for _, p := range r.Conditions {
		if c := condition.Of(p.ID); c.Light {
			weak += p.P
			before += c.Prior
		}
	}
	return weak < 0.5 && weak > judgedFrom*before/condition.Of(condition.Sound).Prior*r.Of(condition.Sound)
}

// A Posterior is the marginal probability of one condition.
type Posterior struct {
	ID   condition.ID
	P    float64
	With []condition.ID // likely companions where two conditions are believed at once
}

// State answers the questions of the visit, each an expectation under the posterior.
type State struct {
	Daylight    float64  // probability of 10 W/m2 or more in the array's plane
	Bright      float64  // probability of [BrightFrom] or more there
	Charging    float64  // probability that array current reaches the battery side
	Regulating  float64  // probability that the controller holds power back
	LoadsCut    float64  // probability that the load output is off because of low voltage
	AsDesigned  float64  // probability that everything works as designed, P(sound)
	ChargeLevel Interval // fraction of present capacity
	SpareW      Interval // what the array could give more now [W]
	HoursToCut  Interval // at the present draw without sun [h]
}

// An Interval summarises a distribution by its mean and its 5 % and 95 % points.
type Interval struct{ Mean, P05, P95 float64 }

// A Suspect is a reading with the probability that it is simply wrong.
type Suspect struct {
	Reading reading.Key
	P       float64
}

// A Gain is what a reading not yet taken would teach about the condition [bits].
type Gain struct {
	Reading reading.Key
	Bits    float64
}

// Evidence is what one taken reading says. Weights are log10 of likelihood
// ratios: 1 is ten to one.
type Evidence struct {
	Reading      reading.Key
	ForLeader    float64 // leader against the runner-up
	AgainstSound float64 // leader against sound; 0 if sound leads
	Expected     Range   // by the whole belief without this reading
	Sound        Range   // at a sound plant in this light, warmth and state of charge
	HasRange     bool    // false for words
}
