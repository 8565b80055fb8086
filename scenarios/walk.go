package scenarios

import (
	"errors"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
)

// maxSteps is more than any visit has.
const maxSteps = 500

// Walk makes the ordinary visit at the bench of s from its first step to its last,
// and keeps it in the journal. It is led by infer, which is asked before each step
// that could be a reading.
func Walk(s *Scenario, h visiting.Head, infer visiting.Inferrer, journal visiting.Journal) (*visiting.Visit, error) {
	b := s.Bench()
	h.SiteTOML, h.Instruments = string(s.SiteTOML), b.Instruments()
	v, err := visiting.New(h, journal)
	if err != nil {
		return nil, err
	}
	for range maxSteps {
		if !v.Prompt().Step.Always {
			r, err := infer(v.Input())
			if err != nil {
				return nil, err
			}
			v.Learn(v.Seq(), r)
		}
		p := v.Prompt()
		if p.Done {
			return v, nil
		}
		a := answered(b, v, p)
		a.At, a.Typed, a.Repeats = b.Now(), a.Text(), p.Once
		if p.Step.Kind == procedure.Confirm {
			a.Choose(p.Step.Checks)
		}
		if err := v.Give(a); err != nil {
			return nil, err
		}
		follow(b, p.Step, a)
	}
	return nil, errors.New(words().Problem.NoEnd)
}
