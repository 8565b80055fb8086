package tui

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/field/siteform"
)

func (s describeScreen) view(e env) []string {
	head := s.head(e)
	row := actionRow(e.st, s.actions(), s.action, s.onRow, e.w)
	room := e.h - len(head) - len(row)
	var middle []string
	if e.w >= besideW {
		right := e.w * 45 / 100
		left := e.w - right - len(columnBar)
		middle = beside(room, e.st.quiet.Render(" |")+" ",
			column{s.asking(e, left, room), left},
			column{answersAround(e, s.talk, s.talk.Questions(), s.talk.At(), right, room), right})
	} else {
		middle = s.asking(e, e.w, room)
		if rest := room - len(middle) - 1; rest >= 3 {
			middle = append(append(middle, ""), s.partSoFar(e, rest)...)
		}
		middle = fit(middle, e.w, room)
	}
	return append(append(head, middle...), row...)
}

func (s describeScreen) head(e env) []string {
	lines := []string{e.st.title.Render(ends(fmt.Sprintf(siteWords().Describe.Title, s.talk.Draft().Name()), s.path, e.w))}
	return append(lines, e.st.quiet.Render(ends(standing(s.talk), fmt.Sprintf(siteWords().Describe.Question, s.talk.At()+1, len(s.talk.Questions())), e.w)))
}

// standing is how far a draft is.
func standing(t *siteform.Talk) string {
	w, parts, d := siteWords().State, []string(nil), t.Draft()
	left := len(t.Left())
	if left > 0 {
		parts = append(parts, fmt.Sprintf(w.Left, left))
	}
	if n := len(d.AllWrong()) + len(d.Elsewhere()); n > 0 {
		parts = append(parts, fmt.Sprintf(w.Wrong, n))
	}
	if len(parts) == 0 {
		parts = append(parts, w.Complete)
	}
	if n := len(d.AssumedAnswers()); n > 0 {
		parts = append(parts, fmt.Sprintf(w.Assumed, n))
	}
	return strings.Join(parts, ", ")
}

// asking is the question with its answer, in at most h rows of w columns.
func (s describeScreen) asking(e env, w, h int) []string {
	q, says := s.question(), siteWords().Label
	var tell []block
	if s.notice != "" {
		tell = append(tell, block{giveNotice, wrap(s.notice, w)})
	}
	tell = append(tell, block{keep, styled(e.st.title, wrap(q.Part+" - "+q.Title, w))})
	add := func(rank int, label, text string) {
		if lines := labelled(e.st.label, label, labelW, text, w); len(lines) > 0 {
			tell = append(tell, block{rank, lines})
		}
	}
	if at := s.talk.At(); at == 0 || s.talk.Questions()[at-1].Part != q.Part {
		add(givePurpose, says.Note, q.Note)
	}
	add(keep, says.Where, q.Where)
	add(giveSurprise, says.Against, q.Agrees)
	if q.Optional {
		add(giveSurprise, says.Empty, q.Without)
	}
	add(keep, says.Usual, s.talk.UsualText())
	add(keep, says.SoFar, s.talk.Given(q))
	below := append([]block{{giveGap, []string{""}}}, block{keep, s.answering(e, q, w, h)})
	lines := fold(slices.Concat(tell, below), h)
	if len(lines) <= h {
		return lines
	}
	least := fold(below, 0)
	return append(fold(tell, 0)[:max(1, h-len(least))], least...)
}

// answering is the field or the list to choose from, and what is to say of it.
func (s describeScreen) answering(e env, q siteform.Question, w, h int) []string {
	var foot []string
	switch {
	case s.problem != "":
		foot = problem(e.st, s.problem, w)
	case len(s.against) > 0:
		for _, text := range s.against {
			foot = append(foot, headed(e.st.problem, wordsOf().Check, text, w)...)
		}
		if s.talk.Doubt() != nil {
			foot = append(foot, wrap(siteWords().Describe.Anyway, w)...)
		}
	case s.typed != "":
		foot = wrap(s.typed, w)
	default:
		for _, text := range s.talk.Draft().Wrong(q) {
			foot = append(foot, headed(e.st.problem, wordsOf().Check, text, w)...)
		}
	}
	if !s.isTyped() {
		const above = 6 // the least that stands above
		return append(s.menu.view(e.st, !s.onRow, w, max(3, h-above-len(foot))), foot...)
	}
	hint := "   " + q.Expected()
	if s.field.old {
		hint = "   " + visitWords().TypedOver
	}
	line := s.field.view(e.st, !s.onRow, min(w, max(fieldW, ansi.StringWidth(s.field.text())+len("> _ "))))
	if ansi.StringWidth(line)+len(hint) <= w {
		line += e.st.quiet.Render(hint)
	}
	return append([]string{line}, foot...)
}

// partSoFar is the answers of the part of the question, in at most h rows.
func (s describeScreen) partSoFar(e env, h int) []string {
	q := s.question()
	var list []siteform.Question
	at := 0
	for i, other := range s.talk.Questions() {
		if other.Part == q.Part || s.talk.Brief() {
			if i == s.talk.At() {
				at = len(list)
			}
			list = append(list, other)
		}
	}
	return answersAround(e, s.talk, list, at, e.w, h)
}

// widestTitle is what a list gives to the titles of questions [columns]; the few that
// are longer only ask whether there is another lamp.
const widestTitle = 42

// answersAround is the answers to the questions, headed by their parts, in at most
// h rows about the one at at.
func answersAround(e env, t *siteform.Talk, list []siteform.Question, at, w, h int) []string {
	titleW := 0
	for _, q := range list {
		titleW = max(titleW, ansi.StringWidth(q.Title))
	}
	titleW = min(titleW, widestTitle, w*6/10)
	var lines []string
	row, part := 0, ""
	for i, q := range list {
		if q.Part != part && !t.Brief() {
			part = q.Part
			lines = append(lines, e.st.label.Render(cut(part, w)))
		}
		mark := "  "
		if i == at {
			mark, row = "> ", len(lines)
		}
		line := cut(mark+pad(cut(q.Title, titleW), titleW)+"  "+stateOf(t.Draft(), q), w)
		if i == at {
			line = e.st.title.Render(line)
		}
		lines = append(lines, line)
	}
	return around(lines, row, h)
}

// stateOf is the answer to a question and what is to say of it, short.
func stateOf(d siteform.Draft, q siteform.Question) string {
	w := siteWords().State
	n, some := d.Count(q)
	switch {
	case q.Form == siteform.More && some:
		return fmt.Sprintf(w.Described, n)
	case q.Form == siteform.More:
		return w.None
	case len(d.Wrong(q)) > 0:
		return fmt.Sprintf(w.IsWrong, d.Answer(q))
	case d.Assumed(q):
		return fmt.Sprintf(w.IsAssumed, q.Named(d.Answer(q)))
	case d.Given(q):
		return q.Named(d.Answer(q))
	case q.Optional:
		return "-"
	default:
		return w.IsLeft
	}
}
