package visiting

import (
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// Prompt is the next step, by the safe order and the latest belief.
func (v *Visit) Prompt() Prompt {
	if p, ok := v.recheck(); ok {
		return p
	}
	if p, ok := v.proof(); ok {
		return p
	}
	step, why, ok := v.next()
	if !ok {
		return Prompt{Done: true}
	}
	if step.ID == beforeStep {
		if p, ok := v.agreeing(); ok {
			return p
		}
	}
	if p, ok := v.stillSo(step.ID); ok {
		return p
	}
	p := v.prompt(step)
	p.Why = why
	if id, shows, ok := v.proving(); ok && id == step.ID {
		p.Why = strings.ReplaceAll(words().Repair.Proof, "{shows}", shows)
		p.Expected, p.Normal = nil, ""
	}
	return p
}

// next is the next step by the procedure.
func (v *Visit) next() (procedure.Step, string, bool) {
	if step, why, ok := v.testing(); ok {
		return step, why, ok
	}
	return v.course.Find(v.state, v.search(), v.aims()...)
}

// worth is what each reading would teach. Once something was repaired, its proof comes
// first; then only what needs nothing switched off is worth measuring.
func (v *Visit) worth() procedure.Worth {
	worth := worthOf(v.latest, v.course)
	if v.head.Depth == CallOut && v.latest != nil {
		nothing := func(reading.Key) float64 { return 0 }
		if v.repairWorked() {
			return nothing // what it was made for is done
		}
		if Found(v.latest) {
			worth = nothing // what it was made for is found
		}
	}
	worth = v.withVoltage(worth)
	if v.repairedAt() < 0 {
		return worth
	}
	_, _, open := v.proving()
	return func(k reading.Key) float64 {
		if s, ok := v.course.StepFor(k); open || v.latest == nil || !ok || s.Rung >= procedure.Isolate {
			return 0
		}
		return worth(k)
	}
}

// once is the prompt for a reading that was taken and is asked for once more.
// What is expected is left out: nobody should be led to type it.
func (v *Visit) once(s procedure.Step, why string) Prompt {
	p := v.prompt(v.course.Offer(v.state, s))
	p.Expected, p.Normal = nil, ""
	p.Once, p.Why = true, why
	if takes := v.Takes(s.ID); len(takes) > 0 {
		p.Given = &takes[len(takes)-1]
	}
	return p
}

// PromptFor is an earlier step again, with Given set.
func (v *Visit) PromptFor(step string) (Prompt, bool) {
	s, ok := v.course.Step(step)
	if !ok {
		return Prompt{}, false
	}
	answers := v.Answers()
	i := slices.IndexFunc(answers, func(a Answer) bool { return a.Step == step })
	if i < 0 {
		return Prompt{}, false
	}
	p := v.prompt(v.course.Offer(v.state, s))
	if d, ok := deedOf(answers[i].Action); ok {
		p.Step, p.Action = v.withDeed(s, d), d.key()
	}
	p.Given = &answers[i]
	return p, true
}

func (v *Visit) prompt(s procedure.Step) Prompt {
	p := Prompt{Step: s}
	switch {
	case s.ID == repairStep || isRepairNow(s.ID):
		for _, d := range v.deeds() {
			if s.ID == repairStep || d.step() == s.ID {
				p.Step, p.Action = v.withDeed(s, d), d.key()
				break
			}
		}
	case s.ID == asBeforeStep:
		p.Step = v.withEarlier(s)
	case s.Kind == procedure.Say:
		p.Step = v.withWork(s)
	}
	s = p.Step
	if s.Kind == procedure.Take {
		p.Spec, _ = reading.SpecOf(s.Reading)
		if v.latest != nil {
			if r, ok := v.latest.Expect[s.Reading]; ok && p.Spec.Form != reading.Word {
				p.Expected = &r
			}
		}
	}
	p.Normal = v.normal(s)
	p.AsFound = v.asFound(s.Compare)
	p.Hint = p.hint()
	return p
}

// normal is what is normal for the step, with the range that a healthy plant
// would show at this site now; "" while that is not known.
func (v *Visit) normal(s procedure.Step) string {
	const place = "{range}"
	if !strings.Contains(s.Normal, place) {
		return s.Normal
	}
	if v.latest == nil {
		return ""
	}
	r, ok := v.latest.Normal[s.Reading]
	if !ok || !r.Known() {
		return ""
	}
	spec, _ := reading.SpecOf(s.Reading)
	return strings.ReplaceAll(s.Normal, place, FormatRange(r, spec))
}

// asFound lists the readings as found, to compare with; "lamps" stands for all
// of them, "loads-on" for the loads that were on.
func (v *Visit) asFound(keys []reading.Key) string {
	var list []string
	for _, k := range keys {
		if k == allLamps {
			for _, l := range v.site.Controller.Lamps {
				list = append(list, v.found(reading.Lamp(l.Label)))
			}
			continue
		}
		if k == loadsOn {
			list = append(list, v.wereOn())
			continue
		}
		list = append(list, v.found(k))
	}
	return strings.Join(slices.DeleteFunc(list, func(s string) bool { return s == "" }), "; ")
}

// wereOn are the loads that were on as found, "" where nobody said.
func (v *Visit) wereOn() string {
	s, ok := v.course.Step(loadsOn)
	if on := v.readings.LoadsOn; ok && on != nil {
		return s.Title + ": " + Answer{Step: loadsOn, Kind: Took, Labels: on}.Text()
	}
	return ""
}

const allLamps reading.Key = "lamps"

func (v *Visit) found(k reading.Key) string {
	if !v.readings.Has(k) {
		return ""
	}
	return Title(v.course, k) + " " + ValueText(v.readings, k)
}

// hint is an example of an answer.
func (p Prompt) hint() string {
	switch {
	case len(p.Step.Checks) > 0:
		return words().Problem.Hint.Checks
	case p.Step.Kind != procedure.Choose && p.Step.Kind != procedure.Take && len(p.Step.Choices) > 0:
		return words().Problem.Hint.Number
	case p.Step.Kind == procedure.Confirm:
		return words().Problem.Hint.YesOrNo
	case p.Step.Kind == procedure.Act:
		return "done"
	case p.Step.Kind == procedure.Say:
		return words().Work.Hint
	case p.Step.Kind == procedure.Choose:
		return words().Problem.Hint.Choose
	case p.Spec.Form == reading.Word:
		return words().Problem.Hint.Word
	}
	text := quantity.Format(p.Spec.Shown(examples[p.Spec.Unit]), p.Spec.Unit)
	if p.Spec.Form == reading.List {
		return fmt.Sprintf(words().Problem.Hint.List, text)
	}
	if !strings.Contains(text, ".") {
		return bare(text)
	}
	return fmt.Sprintf("%s or %s", bare(text), strings.Replace(text, ".", ",", 1))
}

// examples are ordinary figures in each unit. They are not what is expected
// now, which nobody should be led to type.
var examples = map[string]float64{"V": 13.1, "A": 2.4, "W/m2": 800, "C": 30, "min": 60, "%": 80, "": 1.25}
