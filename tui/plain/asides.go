package plain

import (
	"strconv"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/tui/wiring"
)

func (l *lines) why() {
	w, p := words(), l.Prompt()
	if p.Why != "" {
		l.sayf(w.Why, p.Why)
	}
	for _, part := range []struct{ form, text string }{
		{w.Surprise, p.Step.Surprise}, {w.Needs, p.Step.RequiresText()}, {w.Changes, p.Step.ChangesText()},
		{w.Skip, p.Step.Skip}, {w.Codes, p.Step.Codes}, {w.Source, p.Step.Source},
	} {
		if part.text != "" {
			l.sayf(part.form, part.text)
		}
	}
	r := l.Visit().Belief()
	if r == nil {
		return
	}
	if list := visiting.ShownSentences(r, p.Step.Reading); len(list) > 0 {
		l.say(w.Shows)
		for _, s := range list {
			l.indentedf("  ", w.Reason, s)
		}
	}
	if r = visiting.Told(r, l.Visit().Input().Readings); r == nil {
		return
	}
	for _, s := range visiting.StateSentences(l.Visit().Site(), r) {
		l.say(s)
	}
	for _, s := range visiting.Because(r, l.Visit().Input().Readings, l.Visit().Procedure(), mostReasons) {
		l.indentedf("  ", w.Reason, s)
	}
	if r.Array != nil {
		l.say(visiting.PointSentence(r.Array))
	}
}

const mostReasons = 5

// history lists the standing answers, numbered for back.
func (l *lines) history() {
	w, answers := words(), l.Answers()
	if len(answers) == 0 {
		l.say(w.NothingYet)
	}
	for i, a := range answers {
		l.indentedf("  ", w.Past, i+1, a.Title, a.Text)
	}
	for _, n := range l.Notes() {
		l.indentedf("  ", w.PastNote, n.Title, n.Text)
	}
}

// back shows the step before the one shown, or the one numbered in the history.
func (l *lines) back(number string) {
	if number == "" {
		l.turned(l.Back())
		return
	}
	n, _ := strconv.Atoi(number) // no number: no answer has it
	l.turned(l.ShowNumber(number, n))
}

// whatIf says where an answer to the number asked for would lead.
func (l *lines) whatIf(typed string) {
	what, err := l.WhatIf(typed)
	if err != nil {
		l.problem(err)
		return
	}
	r, err := what.Do()
	if err != nil {
		l.problem(err)
		return
	}
	l.sayf(words().If, what.Answer.Text())
	l.standings(r, l.Visit().Belief())
}

// wiring tells the drawing of the site in words.
func (l *lines) wiring() {
	for _, s := range wiring.Words(wiring.Of(l.Visit(), l.Prompt().Step)) {
		l.say(s)
	}
}

// cannot keeps that a step could not be done, with a reason of the list by its
// number or in free words.
func (l *lines) cannot(reason string) {
	if reason == "" {
		l.choose(words().WhyCannot, l.Reasons(visiting.Cannot))
		return
	}
	l.taken(l.Cannot(typedReason(l.Reasons(visiting.Cannot), reason)))
}

// stop ends the probing, for a reason of the list by its number or in free words.
func (l *lines) stop(reason string) {
	if reason == "" {
		l.choose(words().WhyStop, l.Reasons(visiting.Stop))
		return
	}
	l.taken(l.Stop(typedReason(l.Reasons(visiting.Stop), reason)))
}

func (l *lines) choose(ask string, reasons procedure.Choices) {
	l.say(ask)
	for i, r := range reasons {
		l.indentedf("  ", words().Choice, i+1, r.Text)
	}
}

func typedReason(reasons procedure.Choices, typed string) procedure.Choice {
	if why, ok := reasons.Typed(typed); ok {
		return why
	}
	return procedure.Choice{Text: typed}
}

// note keeps what was said of a step, or asks for it where nothing was.
func (l *lines) note(text string) {
	if text == "" {
		l.say(words().WhatNote)
		return
	}
	l.taken(l.Note(text))
}

// leave ends the talk. Where something is open, who decided that it stays so is
// kept first.
func (l *lines) leave(decision string) {
	l.card()
	switch open := l.Leaving().Text; {
	case open == "":
		l.left = true
	case decision == "":
		l.sayf(words().StillOpen, open)
	default:
		before := l.Unkept()
		l.taken(l.Leave(decision))
		l.left = !l.Unkept() || before // nobody is held here by a full disk
	}
}

// card says to whoever goes now what to do about a danger that is not made safe.
func (l *lines) card() {
	d := l.Leaving().Danger
	if d.Title == "" {
		return
	}
	l.sayf(words().Danger, d.Title)
	for i, text := range d.Card {
		l.indentedf("  ", words().Choice, i+1, text)
	}
}

// leaveUndecided keeps that the answers ended with something open.
func (l *lines) leaveUndecided() {
	l.card()
	if err := l.Leave(""); err != nil {
		l.full = err
	}
}
