package visiting

import (
	"encoding/json"
	"math"
	"slices"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// suspectFloor is the probability below which a reading is not worth naming as suspect.
const suspectFloor = 0.01

// An Interpretation is the diagnosis of one set of readings, as JSON for other
// programs. Its figures are rounded to four decimals.
type Interpretation struct {
	Conditions []ConditionPosterior `json:"conditions"` // most probable first
	State      StateAnswers         `json:"state"`
	Suspect    []SuspectReading     `json:"suspect"` // most probable first
	Next       *NextReading         `json:"next"`    // null: no reading is worth taking

	Result *belief.Result `json:"-"`
}

// A ConditionPosterior is the probability of one condition.
type ConditionPosterior struct {
	ID          condition.ID   `json:"id"`
	Probability Rounded        `json:"probability"`
	With        []condition.ID `json:"with"` // likely companions
}

// StateAnswers are the answers about the state of the system.
type StateAnswers struct {
	Daylight    Rounded         `json:"daylight"`
	Charging    Rounded         `json:"charging"`
	Regulating  Rounded         `json:"regulating"`
	LoadsCut    Rounded         `json:"loads_cut"`
	AsDesigned  Rounded         `json:"as_designed"`
	ChargeLevel RoundedInterval `json:"charge_level"` // fraction of present capacity
	SpareW      RoundedInterval `json:"spare_w"`
	HoursToCut  RoundedInterval `json:"hours_to_cut"`
}

// A SuspectReading may be simply wrong.
type SuspectReading struct {
	Reading     reading.Key `json:"reading"`
	Probability Rounded     `json:"probability"`
}

// A NextReading is the reading that would teach most now [bits], and its step.
type NextReading struct {
	Reading reading.Key `json:"reading"`
	Step    string      `json:"step"`
	Bits    Rounded     `json:"bits"`
}

// RoundedInterval is a mean with its 5 % and 95 % points.
type RoundedInterval struct {
	Mean Rounded `json:"mean"`
	P05  Rounded `json:"p05"`
	P95  Rounded `json:"p95"`
}

// Rounded is written with at most four decimals, and as null where there is no
// finite figure.
type Rounded float64

// MarshalJSON implements json.Marshaler.
func (r Rounded) MarshalJSON() ([]byte, error) {
	x := float64(r)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return []byte("null"), nil
	}
	return json.Marshal(math.Round(x*1e4)/1e4 + 0) // + 0: no negative zero
}

// Interpret infers the state of the site from a set of readings, and which
// reading to take next in the safe order.
func Interpret(in belief.Input, infer Inferrer) (*Interpretation, error) {
	r, err := infer(in)
	if err != nil {
		return nil, err
	}
	out := newInterpretation(r)
	course := procedure.For(in.Site)
	taught := worthOf(r, course)
	worth := func(k reading.Key) float64 {
		if slices.Contains(in.Readings.NotTaken, k) {
			return 0
		}
		return taught(k)
	}
	if step, ok := course.NextReading(in.Readings.Has, worth); ok {
		out.Next = &NextReading{step.Reading, step.ID, Rounded(worth(step.Reading))}
	}
	return out, nil
}

// JSON is the interpretation as one indented object that ends in a line feed.
func (in *Interpretation) JSON() ([]byte, error) {
	text, err := json.MarshalIndent(in, "", "  ")
	return append(text, '\n'), err
}

func newInterpretation(r *belief.Result) *Interpretation {
	in := &Interpretation{
		Conditions: []ConditionPosterior{},
		Suspect:    []SuspectReading{},
		State: StateAnswers{
			Daylight: Rounded(r.State.Daylight), Charging: Rounded(r.State.Charging),
			Regulating: Rounded(r.State.Regulating), LoadsCut: Rounded(r.State.LoadsCut),
			AsDesigned: Rounded(r.State.AsDesigned), ChargeLevel: rounded(r.State.ChargeLevel),
			SpareW: rounded(r.State.SpareW), HoursToCut: rounded(r.State.HoursToCut),
		},
		Result: r,
	}
	for _, p := range r.Conditions {
		with := p.With
		if with == nil {
			with = []condition.ID{}
		}
		in.Conditions = append(in.Conditions, ConditionPosterior{p.ID, Rounded(p.P), with})
	}
	for _, s := range r.Suspects {
		if s.P >= suspectFloor {
			in.Suspect = append(in.Suspect, SuspectReading{s.Reading, Rounded(s.P)})
		}
	}
	return in
}

func rounded(in belief.Interval) RoundedInterval {
	return RoundedInterval{Rounded(in.Mean), Rounded(in.P05), Rounded(in.P95)}
}
