package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/conversation"
	"ampwalk/diagnose/field/visiting"
)

// leaveScreen asks before something under way is left. It says what would be left open
// and what to do about a danger that is not made safe.
type leaveScreen struct {
	over
	conversation.Leaving
	asked leaving // what is left, where nothing is open
	menu  menu
}

// leave ends the screens; every answer is kept already, and a note that is typed now
// is too. It asks first where something is under way. Who leaves a second time goes, and a
// visit that leaves the plant open says that nobody decided.
func leave(e env, from screen) (screen, tea.Cmd) {
	switch s := from.(type) {
	case leaveScreen:
		if talk := s.visit().talk; talk != nil {
			talk.Leave("") // whatever becomes of it: nobody is held here
		}
		return s, tea.Quit
	case describeScreen, reviewScreen:
		return leaveScreen{over: over{from}, asked: visitWords().Leaving.Site, menu: newMenu(entries(doGoOn, doToStart, doEnd))}, nil
	case practiceScreen:
		if s.debrief == nil {
			return leaveScreen{over: over{from}, asked: visitWords().Leaving.Case, menu: newMenu(entries(doGoOn, doEnd))}, nil
		}
	case quizScreen:
		if s.debrief == nil {
			return leaveScreen{over: over{from}, asked: visitWords().Leaving.Case, menu: newMenu(entries(doGoOn, doEnd))}, nil
		}
	case summaryScreen:
		return s, tea.Quit
	case noteScreen:
		if s.field.text() != "" {
			kept, _ := s.give()
			if _, failed := kept.(noteScreen); failed && s.problem == "" { // told once
				return kept, nil
			}
			from = kept
		}
	}
	d, ok := from.(duringVisit)
	if !ok {
		return from, tea.Quit
	}
	talk := d.visit().talk
	if talk == nil {
		return from, tea.Quit
	}
	s := leaveScreen{over: over{from}, Leaving: talk.Leaving(), asked: visitWords().Leaving.Visit}
	switch {
	case !s.Free():
		s.menu = newMenu(entries(doGoOn, doPutBack, doLeaveSo))
	case d.visit().benched() || e.opt.Close == nil:
		s.menu = newMenu(entries(doGoOn, doEnd))
	default:
		s.menu = newMenu(entries(doGoOn, doToStart, doEnd))
	}
	return s, nil
}

func (s leaveScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s leaveScreen) onto(below screen) screen { s.below = below; return s }

func (s leaveScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Enter):
		switch v, do := s.visit(), s.menu.doing(); {
		case do == doLeaveSo:
			return s.leaveSo()
		case do == doEnd:
			return s, tea.Quit
		case do == doToStart && v.talk != nil:
			return s, toStart
		case do == doToStart:
			return s.site().done(e)
		case do == doPutBack && !v.working():
			return newReasons(v, visiting.Stop), nil
		default:
			return s.below, nil
		}
	}
	s.menu, _ = s.menu.update(k)
	return s, nil
}

// leaveSo keeps the decision to leave something open, and ends the screens.
func (s leaveScreen) leaveSo() (screen, tea.Cmd) {
	if err := s.visit().talk.Leave(visitWords().Leaving.Labelled); err != nil {
		v := s.visit()
		v.problem = err.Error()
		return v, nil
	}
	return s, tea.Quit
}

// site is the description that would be left.
func (s leaveScreen) site() describeScreen {
	if r, ok := s.below.(reviewScreen); ok {
		return r.was
	}
	return s.below.(describeScreen)
}

func (s leaveScreen) view(e env) []string {
	if s.Free() {
		lines := append(ruled(e, s.asked.Title, ""), "")
		lines = append(append(lines, wrap(s.asked.Text, e.w)...), "")
		return append(lines, s.menu.view(e.st, true, e.w, len(s.menu.items))...)
	}
	if s.Danger.Title != "" {
		return s.card(e)
	}
	w := visitWords().Leaving
	lines := append(ruled(e, w.Title, ""), "", w.Still)
	for _, step := range s.Open {
		lines = append(lines, labelled(e.st.caution, "  -", 4, step.Title, e.w)...)
	}
	lines = append(append(lines, ""), wrap(w.Advice, e.w)...)
	lines = append(lines, "")
	return append(lines, s.menu.view(e.st, true, e.w, max(1, e.h-len(lines)))...)
}

// card is what to do about the danger; what is only open gives way to it.
func (s leaveScreen) card(e env) []string {
	lines := ruled(e, s.Danger.Title, "")
	for i, text := range s.Danger.Card {
		lines = append(lines, labelled(e.st.caution, fmt.Sprintf("%d.", i+1), 3, text, e.w)...)
	}
	menu := s.menu.view(e.st, true, e.w, len(s.menu.items))
	for _, step := range s.Open {
		if more := headed(e.st.label, visitWords().Leaving.Still, step.Title, e.w); len(lines)+len(more)+len(menu) <= e.h {
			lines = append(lines, more...)
		}
	}
	if len(lines)+len(menu) < e.h {
		lines = append(lines, "")
	}
	return append(lines, menu...)
}

func (leaveScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "choose"), as(keys.Back, "go-on"), keys.Arrows, as(keys.Leave, "leave-now")}
}
