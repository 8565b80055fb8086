package tui

import (
	"fmt"
	"slices"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/scenarios"
	"ampwalk/tui/wiring"
)

// practiceScreen is a free practice: the wiring as it is now, the meters, what
// was said, and what can be done.
type practiceScreen struct {
	session *scenarios.Session
	menu    practiceMenu
	now     practiceNow
	working bool
	debrief *debriefScreen // nil before the end
}

// practiceNow is what the session was when it last stood still: it works in
// another goroutine while the screen is drawn.
type practiceNow struct {
	wiring   wiring.View
	state    []string
	readings int
	clock    string
}

func newPractice(s *scenarios.Session) practiceScreen {
	p := practiceScreen{session: s, menu: newPracticeMenu(s.Menu(), s.Scenario().Story)}
	return p.stand()
}

// stand looks at the session while it stands still.
func (s practiceScreen) stand() practiceScreen {
	b := s.session.Bench()
	o := b.State()
	s.now = practiceNow{
		wiring: wiring.View{Site: b.Site(), Open: wiring.Open{
			Array: o.Array || o.ArrayFuse, Shorted: o.Shorted, Battery: o.BatteryFuse, Loads: o.LoadFuse || len(b.LoadsOn()) == 0,
		}},
		state: s.session.State()[1:], readings: s.session.Readings(), clock: b.Now().Format("15:04"),
	}
	if d := s.session.Debrief(); d != nil {
		debrief := newDebrief(d.Lines)
		s.debrief = &debrief
	}
	return s
}

// didMsg brings what came of a command.
type didMsg struct {
	do    string
	lines []string
	err   error
}

func (s practiceScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case didMsg:
		s.working = false
		s.menu = s.menu.hear(msg.do, msg.lines, msg.err)
		switch {
		case s.session.Questioned():
			s.menu = s.menu.ask(s.session.Asking(), s.session.Menu())
		case s.session.Naming():
			s.menu = s.menu.ask(wordsOf().Practice.First, s.session.Menu())
		default:
			s.menu = s.menu.offer(s.session.Menu())
		}
		return s.stand(), nil
	case tea.KeyMsg:
		return s.key(e, msg)
	}
	return s, nil
}

func (s practiceScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case s.working:
		return s, nil
	case s.debrief != nil:
		next, cmd := s.debrief.update(e, k)
		debrief := next.(debriefScreen)
		s.debrief = &debrief
		return s, cmd
	case key.Matches(k, keys.Back):
		s.menu, _ = s.menu.back()
		return s, nil
	}
	var do string
	if s.menu, do = s.menu.key(k, e); do == "" {
		return s, nil
	}
	switch do {
	case "leave":
		return s, tea.Quit
	case "wiring":
		s.menu = s.menu.hear(do, wiring.Words(s.now.wiring), nil)
		return s, nil
	case "pictures":
		return newStandard(newHelp(s)), nil
	}
	s.working = true
	session := s.session
	return s, func() tea.Msg {
		lines, err := session.Do(do)
		return didMsg{do, lines, err}
	}
}

// Rows that the menu takes at most, and least rows of what was said.
const (
	menuRows = 11
	markRows = 7 // where the drawing shows what a choice would touch
	saidRows = 4
	wideFrom = 130 // columns from which the drawing stands beside
)

func (s practiceScreen) view(e env) []string {
	sc := s.session.Scenario()
	head := ruled(e, sc.Title, fmt.Sprintf(wordsOf().Practice.Head, sc.Site.Name, sc.Level, s.now.clock, s.now.readings))
	if s.debrief != nil {
		return s.debrief.view(e)
	}
	if e.w < wideFrom {
		meter := s.now.state[0]
		if s.marked().Clamp != "" {
			meter = s.now.state[1]
		}
		head = append(head, cut(meter, e.w))
	}
	foot := []string{e.st.quiet.Render(rule(e.w))}
	if s.working {
		foot = append(foot, wordsOf().Working)
	} else {
		foot = append(foot, s.menu.view(e, true, min(s.rows(), max(4, e.h/2)))...)
	}
	room := e.h - len(head) - len(foot)
	if e.w >= wideFrom {
		w := e.w - wiringW - len(columnGap)
		beside := beside(room, columnGap, column{s.menu.log(e, w, room), w}, column{s.beside(e, wiringW, room), wiringW})
		return slices.Concat(head, beside, foot)
	}
	drawing := e.st.drawn(wiring.Draw(s.marked(), e.w, room-saidRows, e.signs != ASCII))
	room -= len(drawing)
	said := s.menu.log(e, e.w, max(1, room))
	return slices.Concat(head, drawing, said, blanks(room-len(said)), foot)
}

// marked is the wiring with what the present choice would touch.
func (s practiceScreen) marked() wiring.View { return s.menu.mark(s.now.wiring) }

func (s practiceScreen) rows() int {
	if s.marked().Marked() {
		return markRows
	}
	return menuRows
}

const (
	wiringW   = 78
	columnGap = " | "
)

// beside is the drawing with the meters and switches below it.
func (s practiceScreen) beside(e env, w, h int) []string {
	lines := e.st.drawn(wiring.Draw(s.marked(), w, h, e.signs != ASCII))
	lines = append(lines, "")
	for _, l := range s.now.state {
		lines = append(lines, wrap(l, w)...)
	}
	return lines
}

func blanks(n int) []string { return make([]string, max(0, n)) }

func (s practiceScreen) help() []key.Binding {
	switch {
	case s.debrief != nil:
		return s.debrief.help()
	case s.working:
		return []key.Binding{as(keys.Leave, "leave")}
	}
	return s.menu.help()
}

func (s practiceScreen) typing() typing { return s.menu.typing() }
