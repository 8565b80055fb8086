package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/visiting"
)

// detailsScreen shows all there is to say of a step, and the belief in full.
type detailsScreen struct {
	over
	page page
}

func newDetails(below screen) detailsScreen { return detailsScreen{over{below}, newPage()} }

func (s detailsScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s detailsScreen) onto(below screen) screen { s.below = below; return s }

func (s detailsScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Enter, keys.More):
		return s.below, nil
	}
	s.page = s.page.update(k, s.lines(e), e.w, e.h-detailsHead)
	return s, nil
}

// detailsHead is the rows above the text.
const detailsHead = 3

func (s detailsScreen) view(e env) []string {
	head := append(ruled(e, s.visit().prompt.Step.Title, ""), "")
	return append(head, s.page.view(e.st, s.lines(e), e.w, e.h-detailsHead)...)
}

func (s detailsScreen) lines(e env) []string {
	v, w := s.visit(), visitWords()
	var lines []string
	for _, b := range v.tell(e, e.w) {
		lines = append(lines, b.lines...)
	}
	lines = append(lines, "")
	lines = append(lines, v.drawing(e, e.w, tallest)...)
	lines = append(lines, "")
	step := v.prompt.Step
	lines = append(lines, labelled(e.st.label, w.Label.Who, labelW, step.Who, e.w)...)
	if step.Minutes > 0 {
		lines = append(lines, labelled(e.st.label, w.Label.Time, labelW, fmt.Sprintf(w.AboutMinutes, step.Minutes), e.w)...)
	}
	for _, l := range []struct{ label, text string }{
		{w.Label.Needs, step.RequiresText()}, {w.Label.Changes, step.ChangesText()}, {w.Label.Skip, step.Skip}, {w.Label.Codes, step.Codes}, {w.Label.Source, step.Source},
	} {
		lines = append(lines, labelled(e.st.label, l.label, labelW, l.text, e.w)...)
	}
	b := visiting.Told(v.v.Belief(), v.v.Input().Readings)
	if b == nil {
		return lines
	}
	lines = append(lines, "", e.st.label.Render(w.CanBe))
	lines = append(lines, bars(e, b, v.v.Before(), 8, e.w)...)
	lines = append(lines, "", e.st.label.Render(w.SystemNow))
	for _, t := range visiting.StateSentences(v.v.Site(), b) {
		lines = append(lines, wrap(t, e.w)...)
	}
	return lines
}

func (detailsScreen) help() []key.Binding {
	return []key.Binding{keys.Back, as(keys.Arrows, "scroll"), keys.Help, as(keys.Quit, "leave")}
}
