package tui

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
)

// summaryScreen shows the summary when nothing is left to do.
type summaryScreen struct {
	was     visitScreen
	ahead   *outlook.Outlook // nil: not worked out yet, or not to be told
	page    page
	action  int
	said    string
	problem string
}

// writtenMsg says where a summary was written.
type writtenMsg struct {
	path string
	err  error
}

// aheadMsg brings the outlook of a belief.
type aheadMsg struct {
	of    *belief.Result
	found *outlook.Outlook
}

// newSummary has the outlook worked out, and shows the rest until it is there.
func newSummary(v visitScreen) (screen, tea.Cmd) {
	s := summaryScreen{was: v, page: newPage()}
	if !s.tells() {
		return s, nil
	}
	look, in, of := v.look, v.v.Input(), v.v.Belief()
	return s, func() tea.Msg {
		found, _ := look(in, outlook.Change{}) // its own page says why not
		return aheadMsg{of, found}
	}
}

// tells reports whether there is enough known to say how much power there is. In a practice
// that would give the answer away.
func (s summaryScreen) tells() bool {
	return s.was.look != nil && !s.was.benched() && visiting.Told(s.was.v.Belief(), s.was.v.Input().Readings) != nil
}

// actions are what can be done with the summary.
func (s summaryScreen) actions(e env) []action {
	var list []action
	if s.was.benched() {
		list = append(list, action{benchKey, doDebrief})
	}
	if s.tells() {
		list = append(list, action{keys.Power, doPower})
	}
	if e.opt.Write != nil {
		list = append(list, action{keys.Write, doWrite})
	}
	if e.opt.Print != nil {
		list = append(list, action{keys.Print, doPrint})
	}
	return append(list, action{keys.Answers, doAnswers}, action{keys.Leave, doLeave})
}

func (s summaryScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case writtenMsg:
		s.said, s.problem = fmt.Sprintf(wordsOf().Summary.Written, msg.path), ""
		s.action = len(s.actions(e)) - 1 // an Enter too many does not write it again
		if msg.err != nil {
			s.said, s.problem = "", fmt.Sprintf(wordsOf().Summary.Unwritten, msg.err)
		}
	case aheadMsg:
		if msg.of == s.was.v.Belief() {
			s.ahead = msg.found
		}
	case tea.KeyMsg:
		return s.key(e, msg)
	}
	return s, nil
}

func (s summaryScreen) key(e env, msg tea.KeyMsg) (screen, tea.Cmd) {
	actions := s.actions(e)
	do := pressed(msg, actions)
	if key.Matches(msg, keys.Enter) {
		do = s.action
	}
	switch {
	case key.Matches(msg, keys.Back):
		return s.was.back(e)
	case do < 0:
		s.action = moveAlong(msg, s.action, len(actions))
		s.page = s.page.update(msg, s.lines(e), e.w, s.room(e))
		return s, nil
	}
	h := s.was.v.Head()
	switch actions[do].do {
	case doAnswers:
		return newHistory(s), nil
	case doPower:
		return newOutlook(e, s, s.ahead)
	case doLeave:
		return s, tea.Quit
	case doDebrief:
		return newDebrief(s.was.v.(benched).Debrief), nil
	case doPrint:
		s.said, s.problem = wordsOf().Summary.Printing, ""
		print := e.opt.Print
		return s, func() tea.Msg {
			paths, err := print(h.ID)
			return writtenMsg{strings.Join(paths, wordsOf().Summary.And), err}
		}
	}
	write, text := e.opt.Write, s.was.summary(document.Width, s.ahead)
	return s, func() tea.Msg {
		path, err := write(h.ID, text)
		return writtenMsg{path, err}
	}
}

func (s summaryScreen) lines(e env) []string {
	return wrapAll(s.was.summary(min(e.w, document.Width), s.ahead), e.w)
}

// room is the rows for the text: without the head, the actions and a message.
func (s summaryScreen) room(e env) int {
	return max(1, e.h-2-len(actionRow(e.st, s.actions(e), s.action, true, e.w))-len(s.message(e)))
}

func (s summaryScreen) message(e env) []string {
	switch {
	case s.problem != "":
		return problem(e.st, s.problem, e.w)
	case s.said != "":
		return wrap(s.said, e.w)
	}
	return nil
}

func (s summaryScreen) view(e env) []string {
	lines := ruled(e, wordsOf().Summary.Title, s.was.v.Head().SiteName)
	lines = append(lines, fit(s.page.view(e.st, s.lines(e), e.w, s.room(e)), e.w, s.room(e))...)
	lines = append(lines, s.message(e)...)
	return append(lines, actionRow(e.st, s.actions(e), s.action, true, e.w)...)
}

func (summaryScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "do"), keys.Back, as(keys.Arrows, "move-scroll"), keys.Help, as(keys.Quit, "leave")}
}

func (s summaryScreen) visit() visitScreen { return s.was }

func (summaryScreen) typing() typing { return nothing }
