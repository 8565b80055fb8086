package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"ampwalk/diagnose"
	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/reading"
)

// whyScreen says for every reading what it says.
type whyScreen struct {
	over
	page page
}

func newWhy(below screen) whyScreen {
	return whyScreen{over{below}, newPage()}
}

func (s whyScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s whyScreen) onto(below screen) screen { s.below = below; return s }

func (s whyScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Enter):
		return s.below, nil
	}
	s.page = s.page.update(k, s.lines(e), e.w, e.h-whyHead)
	return s, nil
}

// whyHead is the rows above the reasons.
const whyHead = 3

func (s whyScreen) view(e env) []string {
	head := append(ruled(e, "Why", ""), "")
	return append(head, s.page.view(e.st, s.lines(e), e.w, e.h-whyHead)...)
}

func (s whyScreen) lines(e env) []string {
	v := s.visit()
	b := v.v.Belief()
	if b == nil {
		return []string{"Nothing is known yet."}
	}
	lines := bars(e, b, v.v.Before(), len(b.Conditions), e.w)
	lines = append(lines, "")
	for _, t := range diagnose.StateSentences(v.v.Site(), b) {
		lines = append(lines, wrap(t, e.w)...)
	}
	lines = append(lines, "", e.st.label.Render("What each reading says"))
	return append(lines, whyLines(e.st, v.v, v.answers, e.w)...)
}

func (whyScreen) help() []key.Binding {
	return []key.Binding{keys.Back, as(keys.Arrows, "scroll"), keys.Help, as(keys.Quit, "leave")}
}

// whyLines tells what each reading says of the two leading conditions, the
// strongest first, and which readings may be wrong.
func whyLines(st styles, v visit, answers []given, w int) []string {
	b := v.Belief()
	if b == nil || len(b.Evidence) == 0 {
		return wrap("No reading has been taken yet.", w)
	}
	var lines []string
	if len(b.Conditions) > 1 {
		lines = append(lines, wrap(fmt.Sprintf("For or against %q, compared with %q:",
			condition.Of(b.Conditions[0].ID).Title, condition.Of(b.Conditions[1].ID).Title), w)...)
	}
	taken := takenReadings(v, answers)
	for _, ev := range b.Evidence {
		if t, ok := taken[ev.Reading]; ok {
			lines = append(lines, evidenceLines(st, ev, t, w)...)
		}
	}
	for _, sus := range b.Suspects {
		if t, ok := taken[sus.Reading]; ok && sus.P >= suspectFrom {
			lines = append(lines, wrap(fmt.Sprintf("%s may be a wrong reading (%s). Taking it again would tell.",
				t.title, diagnose.Percent(sus.P)), w)...)
		}
	}
	return lines
}

// suspectFrom is the probability from which a reading is said to be suspect.
const suspectFrom = 0.2

// A taken is an answered reading.
type taken struct {
	given
	unit string
}

func takenReadings(v visit, answers []given) map[reading.Key]taken {
	m := map[reading.Key]taken{}
	for _, g := range answers {
		if p, ok := v.PromptFor(g.step); ok && p.Step.Reading != "" {
			m[p.Step.Reading] = taken{g, p.Spec.Unit}
		}
	}
	return m
}

func evidenceLines(st styles, ev belief.Evidence, t taken, w int) []string {
	head := labelled(st.label, "* ", 2, t.title+": "+t.text, w)
	text := weight(ev.ForLeader)
	if ev.HasRange {
		text = "expected " + diagnose.FormatRange(ev.Expected, t.unit) +
			"; if nothing were wrong " + diagnose.FormatRange(ev.Sound, t.unit) + "; " + text
	}
	return append(head, labelled(lipgloss.NewStyle(), "", 2, text, w)...)
}
