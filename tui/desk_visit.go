package tui

import (
	"fmt"
	"maps"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/review"
)

// overview stands before the first step of a visit.
const overview = -1

// deskVisitScreen walks a visit step by step, with what was believed then.
type deskVisitScreen struct {
	over
	work     *DeskWork
	v        *desk.Visit
	at       int // overview, or a step
	believed map[int]*belief.Result
	thinking bool // one inference at a time, however fast a person steps
	notice   string
	page     page // of the overview
}

func newDeskVisit(below deskScreen, v *desk.Visit) deskVisitScreen {
	return deskVisitScreen{over: over{below}, work: below.work, v: v, at: overview, page: newPage()}
}

// believedMsg brings what was believed after step n of a visit with that head, or,
// for the overview, the visit with what the engine of today makes of it.
type believedMsg struct {
	head   string
	n      int
	result *belief.Result
	today  *desk.Visit
	err    error
}

// seen reports whether the engine of today has looked at the visit.
func (s deskVisitScreen) seen() bool { return s.v.Again.Engine == s.work.Desk.Engine }

// think infers what is to be shown and is not known yet.
func (s deskVisitScreen) think() (screen, tea.Cmd) {
	if s.thinking || s.at == overview && s.seen() || s.at != overview && s.believed[s.at] != nil {
		return s, nil
	}
	s.thinking = true
	w, v, n := s.work, s.v, s.at
	return s, func() tea.Msg {
		if n == overview {
			today, err := w.Desk.Today(w.Context, v)
			return believedMsg{v.Head, n, nil, today, err}
		}
		r, err := w.Desk.Believed(v, n)
		return believedMsg{v.Head, n, r, nil, err}
	}
}

func (s deskVisitScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case believedMsg:
		s.thinking = false
		switch {
		case msg.head != s.v.Head:
		case msg.err != nil:
			s.notice = fmt.Sprintf(deskWords().Visit.NotInferred, msg.err)
			return s, nil
		case msg.n == overview:
			v := *s.v // what was said of it may have come meanwhile
			v.Again = msg.today.Again
			return s.with(&v).think()
		default:
			believed := map[int]*belief.Result{msg.n: msg.result}
			maps.Copy(believed, s.believed)
			s.believed = believed
		}
		return s.think()
	case deskVisitMsg:
		if msg.err != nil {
			s.notice = msg.err.Error()
			return s, nil
		}
		if msg.visit.Head != s.v.Head {
			s.believed, s.at = nil, overview
		}
		return s.with(msg.visit).think()
	}
	return updateOver(s, e, msg)
}

// with is the screen with the visit as it is now, in the list too.
func (s deskVisitScreen) with(v *desk.Visit) deskVisitScreen {
	s.v = v
	if below, ok := s.below.(deskScreen); ok {
		below.list = below.list.With(v.Row)
		s.below = below
	}
	return s
}

func (s deskVisitScreen) onto(below screen) screen { s.below = below; return s }

func (s deskVisitScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	s.notice = ""
	switch {
	case k.Paste:
	case key.Matches(k, keys.Down, keys.Enter, keys.Right):
		s.at = min(s.at+1, len(s.v.Steps)-1)
	case key.Matches(k, keys.Up, keys.Left):
		s.at = max(s.at-1, overview)
	case key.Matches(k, keys.End):
		s.at = len(s.v.Steps) - 1
	case key.Matches(k, keys.Home):
		s.at = overview
	case key.Matches(k, keys.Trends):
		return newTrends(s)
	case key.Matches(k, keys.Comment):
		return newSign(s, review.Comment), nil
	case key.Matches(k, keys.SendBack):
		return newSign(s, review.SendBack), nil
	case key.Matches(k, keys.Accept):
		return newSign(s, review.Accept), nil
	case s.at == overview:
		s.page = s.page.update(k, s.overview(e), e.w, s.room(e))
	}
	return s.think()
}

func (s deskVisitScreen) help() []key.Binding {
	return []key.Binding{as(keys.Arrows, "steps"), keys.Trends, keys.Comment, keys.SendBack, keys.Accept, as(keys.Back, "to-list"), keys.Help}
}

// room is what the part below the title may take.
func (s deskVisitScreen) room(e env) int { return max(1, e.h-3) }

func (s deskVisitScreen) view(e env) []string {
	w := deskWords().Visit
	lines := ruled(e, fmt.Sprintf(w.Title, s.v.Digest.Site, s.v.Digest.StartedAt.Format("2006-01-02")), fmt.Sprintf(w.By, s.v.State, s.v.Digest.Staff))
	if s.notice != "" {
		lines = append(lines, cut(s.notice, e.w))
	}
	if s.at == overview {
		return append(lines, s.page.view(e.st, s.overview(e), e.w, s.room(e))...)
	}
	return append(lines, s.stepView(e, e.h-len(lines))...)
}

// overview is what there is to accept, what today's engine says, and what was said.
func (s deskVisitScreen) overview(e env) (lines []string) {
	w := deskWords().Visit
	for _, text := range s.v.Found() {
		lines = append(lines, bullet(e, text)...)
	}
	if s.v.Again.Engine != "" {
		lines = append(lines, wrap(s.work.Desk.AgainText(s.v.Row), e.w)...)
	}
	if !s.seen() {
		lines = append(lines, w.Analysing)
	}
	lines = append(lines, "", e.st.label.Render(w.Said))
	if len(s.v.Reviews) == 0 {
		lines = append(lines, w.NothingSaid)
	}
	for _, r := range s.v.Reviews {
		step := ""
		if r.Step != "" {
			step = desk.StepTitle(s.v.Record, r.Step)
		}
		lines = append(lines, wrap(desk.SaidText(r.Entry, step), e.w)...)
	}
	lines = append(lines, "", e.st.label.Render(w.Steps.Of(len(s.v.Steps))))
	for i, step := range s.v.Steps {
		lines = append(lines, cut(fmt.Sprintf("%2d %s", i+1, step.Text()), e.w))
	}
	return lines
}

// stepView is a step among those beside it, and what was believed after it.
func (s deskVisitScreen) stepView(e env, h int) []string {
	w, step := deskWords().Visit, s.v.Steps[s.at]
	below := []string{"", e.st.title.Render(cut(fmt.Sprintf(w.Step, s.at+1, len(s.v.Steps), step.Answer.At.Format("15:04:05")), e.w))}
	below = append(below, wrap(step.Text(), e.w)...)
	for _, c := range step.Said {
		below = append(below, styled(e.st.caution, wrap(fmt.Sprintf(w.Comment, desk.SaidText(c, "")), e.w))...)
	}
	below = append(below, "", e.st.label.Render(w.Diagnosis))
	if r := s.believed[s.at]; r != nil {
		const shown = 4
		below = append(below, bars(e, r, s.believed[s.at-1], shown, e.w)...)
		below = append(below, stateLines(s.v.Record.Site(), r, e.w)...)
	} else if s.thinking {
		below = append(below, wordsOf().Working)
	}
	var list []string
	for i, step := range s.v.Steps {
		line := cut(fmt.Sprintf("%2d %s", i+1, step.Text()), e.w-2)
		if i == s.at {
			list = append(list, e.st.title.Render("> "+line))
			continue
		}
		list = append(list, "  "+line)
	}
	return append(around(list, s.at, max(3, h-len(below))), below...)
}
