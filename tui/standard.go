package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/wiring"
)

// standardScreen is the page of the standard pictures, at the site that is worked at.
type standardScreen struct {
	over
	pictures []visiting.Standard
	others   map[string][]string // at the other system voltages, by picture
	page     page
}

func newStandard(below helpScreen) standardScreen {
	at := site.Demo()
	if v := below.visit(); v.talk != nil {
		at = v.v.Site()
	} else if p := practiceOn(below); p != nil {
		at = p.Bench().Site()
	}
	s := standardScreen{over{below}, visiting.Standards(at), map[string][]string{}, newPage()}
	for _, p := range s.pictures {
		s.others[p.ID] = p.AtOtherVolts()
	}
	return s
}

func (s standardScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s standardScreen) onto(below screen) screen { s.below = below; return s }

func (s standardScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	if key.Matches(k, keys.Enter, keys.Left) {
		return s.below, nil
	}
	s.page = s.page.update(k, s.lines(e), e.w, e.h-detailsHead)
	return s, nil
}

func (s standardScreen) view(e env) []string {
	head := append(ruled(e, wordsOf().Standard.Title, s.pictures[0].Site.Name), "")
	return append(head, s.page.view(e.st, s.lines(e), e.w, e.h-detailsHead)...)
}

// lines set each picture beside what to see in it, or above it where there is no room.
func (s standardScreen) lines(e env) []string {
	w := wordsOf().Standard
	var lines []string
	for _, p := range s.pictures {
		lines = append(lines, e.st.title.Render(p.Title))
		drawing := e.st.drawn(wiring.DrawStandard(p, e.signs != ASCII))
		if left := e.w - wiring.StandardWidth - len(columnGap); left >= standardText {
			text := append(wrap(p.Tell, left), wrap(w.Settle+" "+p.Settle, left)...)
			lines = append(lines, beside(max(len(drawing), len(text)), "  ", column{drawing, wiring.StandardWidth}, column{text, left})...)
		} else {
			lines = append(lines, drawing...)
			lines = append(append(lines, wrap(p.Tell, e.w)...), wrap(w.Settle+" "+p.Settle, e.w)...)
		}
		for _, text := range s.others[p.ID] {
			lines = append(lines, styled(e.st.quiet, wrap(text, e.w))...)
		}
		lines = append(lines, "")
	}
	return lines[:len(lines)-1]
}

// standardText is the least width of the text beside a picture [columns].
const standardText = 40

func (standardScreen) help() []key.Binding {
	return []key.Binding{as(keys.Back, "to-help"), as(keys.Arrows, "scroll"), as(keys.Quit, "leave")}
}
