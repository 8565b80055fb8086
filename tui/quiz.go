package tui

import (
	"slices"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"

	"ampwalk/scenarios"
	"ampwalk/tui/wiring"
)

// RunQuiz plays a quiz until it is left or has ended; q tells which. Of opt only looks,
// streams and the clock count.
func RunQuiz(opt Options, q *scenarios.Quiz) error {
	_, err := run(opt.forPractice(), func(opt Options, r *lipgloss.Renderer) model {
		m := newModel(opt, r)
		m.screen = newQuiz(q, opt.Now())
		return m
	})
	return err
}

// quizScreen is a case of a quiz: what it shows, the present question and how much time is
// left; between two cases what was right.
type quizScreen struct {
	quiz    *scenarios.Quiz
	now     time.Time
	menu    menu
	said    []string // between two cases
	problem string
	page    page
	debrief *debriefScreen // nil before the end
}

func newQuiz(q *scenarios.Quiz, now time.Time) quizScreen {
	return quizScreen{quiz: q, now: now, page: newPage()}.ask()
}

// ask lays out the answers to the present question, none of them chosen.
func (s quizScreen) ask() quizScreen {
	_, choices := s.quiz.Question()
	s.menu = newMenu(lines(choices))
	s.menu.at = unchosen
	return s
}

// secondMsg comes each second while a case is under way.
type secondMsg struct{}

func second() tea.Cmd { return tea.Tick(time.Second, func(time.Time) tea.Msg { return secondMsg{} }) }

func (s quizScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	s.now = e.opt.Now()
	switch msg := msg.(type) {
	case secondMsg:
		if !s.quiz.UnderWay() {
			return s, nil
		}
		if s.quiz.Overdue(s.now) {
			return s.do("", e), nil
		}
		return s, second()
	case tea.KeyMsg:
		return s.key(e, msg)
	}
	return s, nil
}

func (s quizScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case s.debrief != nil:
		next, cmd := s.debrief.update(e, k)
		debrief := next.(debriefScreen)
		s.debrief = &debrief
		return s, cmd
	case !s.quiz.UnderWay() && key.Matches(k, keys.Enter) && !k.Paste:
		return s.do("", e), second()
	case !s.quiz.UnderWay():
		s.page = s.page.update(k, s.between(e), e.w, e.h-detailsHead)
		return s, nil
	case key.Matches(k, keys.Enter) && !k.Paste:
		if s.menu.at == unchosen {
			return s, nil
		}
		return s.do(s.menu.number(), e), nil
	}
	s.menu, _ = s.menu.update(k)
	return s, nil
}

// do hands what was typed to the quiz, and asks what is next.
func (s quizScreen) do(typed string, e env) screen {
	lines, err := s.quiz.Do(typed, s.now)
	if s.problem = ""; err != nil {
		s.problem = err.Error()
		return s
	}
	if lines != nil {
		s.said = lines
	}
	if s.quiz.Ended() {
		debrief := newDebrief(func(columns int) []string { return append(slices.Clone(s.said), s.quiz.Debrief(columns)...) })
		s.debrief = &debrief
	}
	return s.ask()
}

func (s quizScreen) view(e env) []string {
	if s.debrief != nil {
		return s.debrief.view(e)
	}
	asks, _ := s.quiz.Question()
	head := ruled(e, s.quiz.Head(), s.quiz.Left(s.now))
	if !s.quiz.UnderWay() {
		return append(append(head, ""), s.page.view(e.st, s.between(e), e.w, e.h-detailsHead)...)
	}
	foot := append([]string{e.st.quiet.Render(rule(e.w)), e.st.label.Render(cut(asks, e.w))}, s.menu.view(e.st, true, e.w, max(1, e.h/2))...)
	if s.problem != "" {
		foot = append(foot, problem(e.st, s.problem, e.w)...)
	}
	room := e.h - len(head) - len(foot)
	shown := wrapAll(joined(s.quiz.Case()), e.w)
	shown = shown[:min(len(shown), room)]
	at, looks := s.quiz.Site()
	if drawing := e.st.drawn(wiring.Draw(wiring.View{Site: at, Looks: looks}, e.w, room-len(shown)-1, e.signs != ASCII)); len(drawing) > 0 {
		shown = append(append(shown, ""), drawing...)
	}
	return slices.Concat(head, shown, blanks(room-len(shown)), foot)
}

// between is what stands between two cases.
func (s quizScreen) between(e env) []string {
	asks, _ := s.quiz.Question()
	var lines []string
	if s.said != nil {
		lines = append(wrapAll(joined(s.said), e.w), "")
	}
	return append(lines, wrap(asks, e.w)...)
}

func (s quizScreen) help() []key.Binding {
	switch {
	case s.debrief != nil:
		return s.debrief.help()
	case s.quiz.UnderWay():
		return []key.Binding{as(keys.Enter, "answer"), as(keys.Arrows, "move"), as(keys.Quit, "leave")}
	}
	return []key.Binding{as(keys.Enter, "begin-case"), as(keys.Arrows, "scroll"), as(keys.Quit, "leave")}
}

func (quizScreen) typing() typing { return nothing }
