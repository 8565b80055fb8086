package plain

import (
	"fmt"
	"slices"
	"strconv"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/tui/wiring"
)

func (t *talk) why(p visiting.Prompt) {
	w := words()
	if p.Why != "" {
		t.sayf(w.Why, p.Why)
	}
	for _, l := range []struct{ form, text string }{
		{w.Surprise, p.Step.Surprise}, {w.Needs, p.Step.RequiresText()}, {w.Changes, p.Step.ChangesText()},
		{w.Skip, p.Step.Skip}, {w.Codes, p.Step.Codes}, {w.Source, p.Step.Source},
	} {
		if l.text != "" {
			t.sayf(l.form, l.text)
		}
	}
	r := t.Visit.Belief()
	if r == nil {
		return
	}
	if list := visiting.ShownSentences(r, p.Step.Reading); len(list) > 0 {
		t.say(w.Shows)
		for _, s := range list {
			t.indentedf("  ", w.Reason, s)
		}
	}
	if r = visiting.Told(r, t.Visit.Input().Readings); r == nil {
		return
	}
	for _, s := range visiting.StateSentences(t.Visit.Site(), r) {
		t.say(s)
	}
	for _, s := range t.Visit.Because(mostReasons) {
		t.indentedf("  ", w.Reason, s)
	}
	if r.Array != nil {
		t.say(visiting.PointSentence(r.Array))
	}
}

const mostReasons = 5

// history lists the standing answers, numbered for back.
func (t *talk) history() {
	w, answers := words(), t.Visit.Answers()
	if len(answers) == 0 {
		t.say(w.NothingYet)
	}
	for i, a := range answers {
		t.indentedf("  ", w.Past, i+1, t.title(a.Step), visiting.TakesText(t.Visit.Takes(a.Step)))
	}
	for _, n := range t.Visit.Notes() {
		t.indentedf("  ", w.PastNote, t.title(n.Step), n.Text())
	}
}

func (t *talk) title(step string) string {
	if p, ok := t.Visit.PromptFor(step); ok {
		return p.Step.Title
	}
	return step
}

// back shows the step before the one shown, or the one numbered in the history.
func (t *talk) back(p visiting.Prompt, number string) {
	answers := t.Visit.Answers()
	i := len(answers)
	if at := slices.IndexFunc(answers, func(a visiting.Answer) bool { return a.Step == p.Step.ID && t.again != "" }); at >= 0 {
		i = at
	}
	i--
	if number != "" {
		n, err := strconv.Atoi(number)
		if err != nil || n < 1 || n > len(answers) {
			t.sayf(words().Problem, fmt.Sprintf(words().NoNumber, number))
			t.quiet = true
			return
		}
		i = n - 1
	}
	if i < 0 {
		t.say(words().FirstStep)
		t.quiet = true
		return
	}
	t.again, t.once = answers[i].Step, false
}

// repeat asks for a reading once more: the one shown again, or the last one
// taken.
func (t *talk) repeat(p visiting.Prompt) {
	took := func(a visiting.Answer) bool { return a.Kind == visiting.Took && a.Reading != "" }
	if t.again != "" && p.Given != nil && took(*p.Given) {
		t.once = true
		return
	}
	answers := t.Visit.Answers()
	for i := len(answers) - 1; i >= 0; i-- {
		if took(answers[i]) {
			t.again, t.once = answers[i].Step, true
			return
		}
	}
	t.say(words().NoReading)
	t.quiet = true
}

// whatIf says where an answer to the number asked for would lead.
func (t *talk) whatIf(p visiting.Prompt, typed string) {
	t.quiet = true
	w := words()
	if p.Spec.Form == reading.Word || p.Step.Reading == "" {
		t.say(w.IfNumber)
		return
	}
	a, err := t.Visit.ReadAnyway(p, typed)
	if err != nil {
		t.sayf(w.Problem, err)
		return
	}
	r, err := visiting.WhatIf(t.Visit.Input(), a, t.Infer)
	if err != nil {
		t.sayf(w.NoBelief, err)
		return
	}
	t.sayf(w.If, a.Text())
	t.standings(r, t.Visit.Belief())
}

// wiring tells the drawing of the site in words.
func (t *talk) wiring(p visiting.Prompt) {
	for _, s := range wiring.Words(wiring.Of(t.Visit, p.Step)) {
		t.say(s)
	}
}

// cannot keeps that a step could not be done, with a reason of the list by its
// number or in free words.
func (t *talk) cannot(p visiting.Prompt, reason string) {
	reasons := p.Step.Reasons
	if reason == "" {
		w := words()
		if len(reasons) == 0 {
			t.say(w.WhyCannot)
		} else {
			t.say(w.WhyCannotNumber)
		}
		for i, r := range reasons {
			t.indentedf("  ", w.Choice, i+1, r.Text)
		}
		t.quiet = true
		return
	}
	why, ok := reasons.Typed(reason)
	if !ok {
		why = procedure.Choice{Text: reason}
	}
	a := visiting.CannotFor(p, why)
	a.Repeats = a.Repeats || t.once
	t.give(a)
}

func (t *talk) stop(p visiting.Prompt, reason string) {
	t.inWords(p, visiting.Stop, reason, words().WhyStop)
}

// leave ends the talk. Where something is open, who decided that it stays so is
// kept first.
func (t *talk) leave(p visiting.Prompt, decision string) {
	t.card()
	switch open := t.Visit.Procedure().OpenText(t.Visit.State()); {
	case open == "":
		t.left = true
	case decision == "":
		t.sayf(words().StillOpen, open)
		t.quiet = true
	default:
		before := t.unkept != nil
		t.give(visiting.Answer{Step: p.Step.ID, Kind: visiting.Note, Reason: visiting.LeftWith(open, decision)})
		t.left = t.unkept == nil || before // nobody is held here by a full disk
	}
}

// card says to whoever goes now what to do about a danger that is not made safe.
func (t *talk) card() {
	d, ok := t.Visit.Procedure().Unsafe(t.Visit.State())
	if !ok {
		return
	}
	t.sayf(words().Danger, d.Title)
	for i, text := range d.Card {
		t.indentedf("  ", words().Choice, i+1, text)
	}
}

// leaveUndecided keeps that the answers ended with something open.
func (t *talk) leaveUndecided(p visiting.Prompt) {
	t.card()
	if open := t.Visit.Procedure().OpenText(t.Visit.State()); open != "" {
		a := visiting.Answer{Step: p.Step.ID, Kind: visiting.Note, Reason: visiting.LeftWith(open, ""), At: t.Now()}
		if err := t.Visit.Give(a); err != nil {
			t.unkept, t.full = &a, err
		}
	}
}

func (t *talk) note(p visiting.Prompt, text string) {
	t.inWords(p, visiting.Note, text, words().WhatNote)
}

// inWords keeps what was said of a step, or asks for it where nothing was.
func (t *talk) inWords(p visiting.Prompt, kind visiting.AnswerKind, text, ask string) {
	if text == "" {
		t.say(ask)
		t.quiet = true
		return
	}
	t.give(visiting.Answer{Step: p.Step.ID, Kind: kind, Reason: text, Repeats: kind == visiting.Stop && (p.Once || t.once)})
}
