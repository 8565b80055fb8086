package tui

import (
	"fmt"
	"math"
	"slices"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/conversation"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// whyScreen says for every reading what it says, and what a reading not yet
// taken would say.
type whyScreen struct {
	over
	page    page
	field   field // what the reading asked for might be
	problem string
	asked   int // what-ifs asked for so far
	working bool
	found   *whatIfMsg
}

// whatIfMsg brings the belief that the nth what-if would lead to.
type whatIfMsg struct {
	n      int
	answer visiting.Answer
	result *belief.Result
	err    error
}

func newWhy(below screen) whyScreen {
	return whyScreen{over: over{below}, page: newPage(), field: newField("")}
}

func (s whyScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	if m, ok := msg.(whatIfMsg); ok {
		if m.n == s.asked {
			s.working, s.found = false, &m
		}
		return s, nil
	}
	return updateOver(s, e, msg)
}

func (s whyScreen) onto(below screen) screen { s.below = below; return s }

// asks reports whether there is a number to try.
func (s whyScreen) asks() bool {
	v := s.visit()
	return v.prompt.Step.Reading != "" && v.typed() && !v.working() && v.v.Belief() != nil
}

func (s whyScreen) typing() typing {
	if s.asks() {
		return figures
	}
	return nothing
}

func (s whyScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Enter) && s.field.text() != "":
		return s.whatIf()
	case key.Matches(k, keys.Enter, keys.Why):
		return s.below, nil
	case key.Matches(k, keys.Up, keys.Down, keys.PageUp, keys.PageDown), !s.asks():
		s.page = s.page.update(k, s.lines(e), e.w, s.room(e))
		return s, nil
	}
	s.problem = ""
	s.field = s.field.update(k)
	return s, nil
}

// whatIf has the belief worked out as if the reading were as typed.
func (s whyScreen) whatIf() (screen, tea.Cmd) {
	what, err := s.visit().talk.WhatIf(s.field.text())
	if err != nil {
		s.problem = err.Error()
		return s, nil
	}
	s.asked++
	s.working, s.problem = true, ""
	n := s.asked
	return s, func() tea.Msg {
		r, err := what.Do()
		return whatIfMsg{n, what.Answer, r, err}
	}
}

// head is the title and, where a number is asked for, the field for what it
// might be.
func (s whyScreen) head(e env) []string {
	w := visitWords().WhatIf
	lines := ruled(e, w.Title, "")
	if !s.asks() {
		return append(lines, "")
	}
	p := s.visit().prompt
	lines = append(lines, wrap(fmt.Sprintf(w.Ask, p.Step.Title), e.w)...)
	unit := unitSign(p.Spec.Unit)
	line := s.field.view(e.st, true, fieldW) + "  " + unit
	switch {
	case s.working:
		line += "   " + wordsOf().Working
	case s.field.text() == "":
		line += "   " + w.Type
	}
	lines = append(lines, line)
	if s.problem != "" {
		lines = append(lines, problem(e.st, s.problem, e.w)...)
	}
	return append(lines, "")
}

func (s whyScreen) room(e env) int { return max(1, e.h-len(s.head(e))) }

func (s whyScreen) view(e env) []string {
	return append(s.head(e), s.page.view(e.st, s.lines(e), e.w, s.room(e))...)
}

func (s whyScreen) lines(e env) []string {
	v, w := s.visit(), visitWords().WhatIf
	b := v.v.Belief()
	if b == nil {
		return []string{w.NothingKnown}
	}
	var lines []string
	section := func(title string, body ...string) {
		if len(body) > 0 {
			lines = append(append(lines, e.st.label.Render(title)), append(body, "")...)
		}
	}
	switch f := s.found; {
	case f == nil:
	case f.err != nil:
		section(fmt.Sprintf(w.If, f.answer.Text()), wrap(fmt.Sprintf(w.NotInferred, f.err), e.w)...)
	default:
		section(fmt.Sprintf(w.If, f.answer.Text()), append(bars(e, f.result, b, mostIf, e.w),
			stateLines(v.v.Site(), f.result, e.w)...)...)
	}
	section(visitWords().CanBe, bars(e, b, v.v.Before(), mostBars, e.w)...)
	if s.asks() {
		p := v.prompt
		section(w.Shows, ranges(e, visiting.Showings(b, p.Step.Reading), s.typedNumber(), p.Spec, e.w)...)
	}
	section(w.Curve, curve(e, b.Array, e.w)...)
	section(w.EachReading, whyLines(e, v.v, v.answers, e.w)...)
	var state []string
	for _, t := range visiting.StateSentences(v.v.Site(), b) {
		state = append(state, wrap(t, e.w)...)
	}
	section(visitWords().SystemNow, state...)
	return lines
}

// How many conditions are shown, and how many of a what-if.
const (
	mostBars = 6
	mostIf   = 4
)

// typedNumber is the number typed so far here, or in the question below; NaN
// if it is none.
func (s whyScreen) typedNumber() float64 {
	v := s.visit()
	text := s.field.text()
	if text == "" {
		text = v.field.text()
	}
	a, err := v.v.ReadAnyway(v.prompt, text)
	if err != nil || a.Number == nil {
		return math.NaN()
	}
	return *a.Number
}

func (s whyScreen) help() []key.Binding {
	enter := as(keys.Enter, "back")
	if s.asks() && s.field.text() != "" {
		enter = as(keys.Enter, "see-result")
	}
	list := []key.Binding{enter, keys.Back, as(keys.Arrows, "scroll"), keys.Help}
	if !s.asks() {
		return append(list, as(keys.Quit, "leave"))
	}
	return append(list, as(keys.Leave, "leave"))
}

// whyLines tells what each reading says of the two leading conditions, the
// strongest first, and which readings may be wrong.
func whyLines(e env, v conversation.Visit, answers []conversation.Heard, w int) []string {
	b := v.Belief()
	if b == nil || len(b.Evidence) == 0 {
		return wrap(visitWords().WhatIf.NoReading, w)
	}
	var lines []string
	if len(b.Conditions) > 1 {
		lines = append(lines, wrap(fmt.Sprintf(visitWords().WhatIf.Compared,
			condition.Of(b.Conditions[0].ID).Title, condition.Of(b.Conditions[1].ID).Title), w)...)
	}
	taken := takenReadings(v, answers)
	for _, ev := range b.Evidence {
		if t, ok := taken[ev.Reading]; ok {
			lines = append(lines, evidenceLines(e, b, ev, t, w)...)
		}
	}
	for _, sus := range b.Suspects {
		if t, ok := taken[sus.Reading]; ok && sus.P >= suspectFrom {
			lines = append(lines, wrap(fmt.Sprintf(visitWords().WhatIf.Suspect,
				t.Title, quantity.Percent(sus.P)), w)...)
		}
	}
	return lines
}

// suspectFrom is the probability from which a reading is said to be suspect.
const suspectFrom = 0.2

// A taken is an answered reading.
type taken struct {
	conversation.Heard
	spec   reading.Spec
	number float64 // NaN for words; of a list the lowest
}

func takenReadings(v conversation.Visit, answers []conversation.Heard) map[reading.Key]taken {
	m := map[reading.Key]taken{}
	for _, g := range answers {
		p, ok := v.PromptFor(g.Step)
		if !ok || p.Step.Reading == "" {
			continue
		}
		t := taken{g, p.Spec, math.NaN()}
		switch {
		case p.Given.Number != nil:
			t.number = *p.Given.Number
		case len(p.Given.List) > 0:
			t.number = slices.Min(p.Given.List)
		}
		m[p.Step.Reading] = t
	}
	return m
}

// evidenceLines are a reading with its weight, and where it lies in the ranges
// of the leading conditions.
func evidenceLines(e env, b *belief.Result, ev belief.Evidence, t taken, w int) []string {
	head := labelled(e.st.label, "* ", 2, t.Title+": "+t.Text+"; "+weight(ev.ForLeader), w)
	picture := ranges(e, visiting.Showings(b, ev.Reading), t.number, t.spec, w-2)
	if picture == nil || !ev.HasRange {
		return head
	}
	for i := range picture {
		picture[i] = "  " + picture[i]
	}
	return append(head, picture...)
}
