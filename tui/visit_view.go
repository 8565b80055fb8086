package tui

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/conversation"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/tui/wiring"
)

// Where drawing, belief, why and history stand beside the question.
const (
	besideW = 130
	besideH = 34
)

const columnBar = " | "

// labelW is the width of the labels before the lines of a question.
const labelW = 9

func (s visitScreen) view(e env) []string {
	head := s.head(e)
	row := actionRow(e.st, s.actions(), s.action, s.onRow, e.w)
	room := e.h - len(head) - len(row)
	var middle []string
	if e.w >= besideW && e.h >= besideH {
		mid, right := e.w*30/100, e.w*25/100
		left := e.w - mid - right - 2*len(columnBar)
		middle = beside(room, e.st.quiet.Render(" |")+" ",
			column{s.question(e, left, room, nil), left},
			column{s.sideBelief(e, mid, room), mid},
			column{s.sideHistory(e, right, room), right})
	} else {
		middle = fit(s.question(e, e.w, room, s.belowBelief(e)), e.w, room)
	}
	return append(append(head, middle...), row...)
}

func (s visitScreen) head(e env) []string {
	h := s.v.Head()
	right := ""
	switch {
	case s.noticeInHead(e):
		right = s.notice
	case h.Who != "":
		right = fmt.Sprintf(visitWords().By, h.Who)
	}
	if s.benched() && !s.noticeInHead(e) {
		right = strings.TrimSpace(fmt.Sprintf(visitWords().Practice, h.Who))
	}
	if ahead := s.ahead(); ahead != "" && !s.noticeInHead(e) {
		if both := ahead + "; " + right; right == "" || ansi.StringWidth(h.SiteName)+ansi.StringWidth(both)+2 > e.w {
			right = ahead
		} else {
			right = both
		}
	}
	lines := []string{e.st.title.Render(ends(h.SiteName, right, e.w)), ladder(e.st, s.prompt.Step.Rung, e.w)}
	if e.h >= besideH {
		lines = append(lines, e.st.quiet.Render(rule(e.w)))
	}
	return lines
}

// ahead is how many minutes are still asked, "" where that is not known.
func (s visitScreen) ahead() string {
	rest, known := s.v.Ahead()
	if !known || s.working() {
		return ""
	}
	return fmt.Sprintf(visitWords().Ahead, rest.MinMinutes, rest.MaxMinutes)
}

// listed reports whether the answer given last is on the list that is shown, so that it
// need not be told twice.
func (s visitScreen) listed() bool {
	sheet, ok := s.talk.Sheet()
	last := s.talk.Last()
	return ok && len(last.Findings) == 0 && slices.ContainsFunc(sheet.Rows, func(r conversation.Row) bool { return r.Step == last.Step })
}

// noticeInHead reports whether the notice has room beside the site's name.
func (s visitScreen) noticeInHead(e env) bool {
	return s.notice != "" && ansi.StringWidth(s.v.Head().SiteName)+ansi.StringWidth(s.notice)+2 <= e.w
}

// How soon a part of the visit screen gives way where room is short: the
// highest first, keep never.
const (
	keep = iota
	giveMarks
	giveState
	giveTogether
	giveSecond
	giveMoreState
	giveNotes
	giveNotice
	giveThird
	giveFourth
	giveHeading
	giveGap
	givePicture
	giveSurprise
	givePurpose
	giveWhyNow
)

// mostNotice is how many rows what was answered last may take.
const mostNotice = 2

// barRanks are the ranks of the bars, the leading one first.
var barRanks = []int{keep, giveSecond, giveThird, giveFourth}

// question is the step with its answer and, in a narrow window, the belief
// below: at most h rows of w columns.
func (s visitScreen) question(e env, w, h int, belief []block) []string {
	if s.working() {
		return s.workingView(e, w, h, belief)
	}
	gap := []block{{giveGap, []string{""}}}
	above, rest := s.sheet(e, w)
	tell := slices.Concat(above, s.titled(e, w), s.tell(e, w))
	below := append(s.picture(e, w, h), gap...)
	below = append(below, block{keep, s.answerView(e, w, max(h/2-2, h-len(fold(tell, 0))-answerExtra))})
	below = append(below, rest...)
	if len(belief) > 0 {
		below = slices.Concat(below, gap, belief)
	}
	lines := fold(slices.Concat(tell, gap, below), h)
	if len(lines) <= h {
		return lines
	}
	// Longer than the window allows: the text is cut, never the answer.
	text, least := fold(tell, 0), fold(below, 0)
	n := max(1, h-len(least)-1)
	return slices.Concat(text[:min(n, len(text))], []string{e.st.quiet.Render(visitWords().RestF6)}, least)
}

// sheet is the list that the question stands in: what is answered above it, what comes
// below. Signs tell what lets go on (+) from what does not (!).
func (s visitScreen) sheet(e env, w int) (above, below []block) {
	sheet, ok := s.talk.Sheet()
	if !ok {
		return nil, nil
	}
	count := fmt.Sprintf(visitWords().Count, sheet.Here()+1, len(sheet.Rows))
	above = []block{{giveHeading, []string{e.st.label.Render(ends(sheet.Title, count, w))}}}
	for i, r := range sheet.Rows {
		switch {
		case r.Here:
		case r.Text == "" && i > sheet.Here():
			below = append(below, block{giveState, []string{e.st.quiet.Render(cut("  - "+r.Title, w))}})
		case r.Good:
			above = append(above, block{giveSecond, []string{cut("  + "+r.Title+": "+r.Text, w)}})
		default:
			above = append(above, block{giveSecond, []string{e.st.caution.Render(cut("  ! "+r.Title+": "+r.Text, w))}})
		}
	}
	return above, below
}

func (s visitScreen) workingView(e env, w, h int, belief []block) []string {
	lines := []string{""}
	if s.notice != "" && !s.noticeInHead(e) {
		lines = append(lines, wrap(s.notice, w)...)
	}
	lines = append(lines, "", e.st.title.Render(wordsOf().Working), "")
	return fold(append([]block{{keep, lines}}, belief...), h)
}

// titled is the title, below what was answered last.
func (s visitScreen) titled(e env, w int) []block {
	says, title := visitWords(), s.prompt.Step.Title
	switch {
	case s.talk.Repeating():
		title = fmt.Sprintf(says.OnceMore, title)
	case !s.open():
		title = fmt.Sprintf(says.Again, title)
	}
	blocks := []block{{keep, styled(e.st.title, wrap(title, w))}}
	for _, said := range s.said[s.prompt.Step.ID] {
		blocks = append(blocks, block{keep, labelled(e.st.caution, says.Label.Comment, labelW, said, w)})
	}
	if s.foundOpen != "" {
		open := labelled(e.st.caution, says.Label.Open, labelW, fmt.Sprintf(says.NotPutBack, s.foundOpen), w)
		blocks = append([]block{{keep, open}}, blocks...)
	}
	if s.lost != "" {
		blocks = append([]block{{keep, labelled(e.st.caution, says.Label.Damaged, labelW, s.lost, w)}}, blocks...)
	}
	if s.notice != "" && !s.noticeInHead(e) && !s.listed() {
		blocks = append([]block{{giveNotice, atMost(mostNotice, wrap(s.notice, w), w)}}, blocks...)
	}
	return blocks
}

// tell is what to do, in blocks: danger, what, with what, where, what to expect, then why.
func (s visitScreen) tell(e env, w int) []block {
	st, step, says := e.st, s.prompt.Step, visitWords().Label
	var blocks []block
	add := func(rank int, label, text string) {
		if lines := labelled(st.label, label, labelW, text, w); len(lines) > 0 {
			blocks = append(blocks, block{rank, lines})
		}
	}
	if s.prompt.Once { // why it is asked again is part of what to do
		add(keep, says.WhyNow, s.prompt.Why)
	}
	if lines := labelled(st.caution, says.Caution, labelW, step.Caution, w); len(lines) > 0 {
		blocks = append(blocks, block{keep, lines})
	}
	blocks = append(blocks, block{keep, behind(st.label, says.Do, labelW, styled(st.do, wrap(step.Do, w-labelW)))})
	blocks = append(blocks, block{keep, s.meterAndRange(e, w)})
	add(keep, placeLabel(s.prompt), step.Probes)
	add(keep, says.AsFound, s.prompt.AsFound)
	add(giveSurprise, says.Normal, s.prompt.Normal)
	add(giveSurprise, says.Surprise, step.Surprise)
	if !s.prompt.Once {
		add(giveWhyNow, says.WhyNow, s.prompt.Why)
	}
	add(givePurpose, says.Purpose, step.Purpose)
	return blocks
}

// meterAndRange is how the meter is set and what it will show, on one line where
// both fit.
func (s visitScreen) meterAndRange(e env, w int) []string {
	const gap = "   "
	meter := labelled(e.st.label, visitWords().Label.Meter, labelW, s.prompt.Step.Meter, w)
	if s.prompt.Expected == nil {
		return meter
	}
	expect := labelled(e.st.label, visitWords().Label.Expected, labelW, visiting.FormatRange(*s.prompt.Expected, s.prompt.Spec), w)
	if len(meter) == 1 && len(expect) == 1 && ansi.StringWidth(meter[0])+len(gap)+ansi.StringWidth(expect[0]) <= w {
		return []string{meter[0] + gap + expect[0]}
	}
	return append(meter, expect...)
}

// picture is the drawing of the site: it gives way late where it shows where
// something goes.
func (s visitScreen) picture(e env, w, h int) []block {
	v, rank, most := s.wiring(), givePicture, lowest
	if v.Marked() {
		rank = giveMarks
	}
	if h >= besideH-10 {
		most = tallest
	}
	lines := e.st.drawn(wiring.Draw(v, w, most, e.signs != ASCII))
	if lines == nil {
		return nil
	}
	rows := len(lines)
	switch { // the notes below the drawing give way before it
	case rows > narrowRows:
		rows = narrowRows
	case rows > wideRows && rows < narrowRows:
		rows = wideRows
	}
	return []block{{rank, lines[:rows]}, {giveNotes, lines[rows:]}}
}

// The rows of the wide and of the narrow drawing themselves.
const (
	wideRows   = 7
	narrowRows = 12
)

func placeLabel(p visiting.Prompt) string {
	switch {
	case p.Step.Clamp != "":
		return visitWords().Label.Clamp
	case p.Step.Red != "":
		return visitWords().Label.Probes
	default:
		return visitWords().Label.Place
	}
}

// answerExtra are the rows beside a list of choices: the answer so far, and what is wrong.
const answerExtra = 3

// answerView is the field or the list in so many rows, the hint, and what is wrong.
func (s visitScreen) answerView(e env, w, rows int) []string {
	says, lines := visitWords(), []string(nil)
	if g := s.prompt.Given; g != nil {
		form := says.AnswerNow
		if s.talk.Repeating() {
			form = says.TakenBefore
		}
		lines = append(lines, wrap(fmt.Sprintf(form, visiting.TakesText(s.v.Takes(s.prompt.Step.ID))), w)...)
	}
	if s.typed() {
		unit := unitSign(s.prompt.Spec.Unit)
		room := fieldW
		if s.prompt.Spec.Form == reading.List || s.prompt.Step.Kind == procedure.Say {
			room = listW
		}
		room = min(room, w-ansi.StringWidth(unit)-2)
		line := s.field.view(e.st, !s.onRow, room) + "  " + unit
		lines = append(lines, line)
		beside, look := s.check.text, s.check.style(e.st)
		switch {
		case s.field.text() == "" && s.prompt.Hint != "":
			beside, look = fmt.Sprintf(says.Type, s.prompt.Hint), e.st.quiet
			if s.benched() && s.prompt.Step.Reading != reading.Minutes {
				beside = fmt.Sprintf(says.ReadAtBench, s.prompt.Hint)
			}
		case s.field.old:
			beside, look = says.TypedOver, e.st.quiet
		}
		switch {
		case beside == "" || s.talk.Doubt() != nil || s.problem != "":
		case ansi.StringWidth(line+"   "+beside) <= w:
			lines[len(lines)-1] += look.Render("   " + plaintext.Clean(beside))
		default:
			lines = append(lines, look.Render(cut("  "+beside, w)))
		}
	} else {
		lines = append(lines, s.menu.view(e.st, !s.onRow, w, max(3, rows))...)
	}
	switch {
	case s.talk.Doubt() != nil:
		text := fmt.Sprintf(says.Doubt, strings.TrimSuffix(s.talk.Doubt().Reason, "."))
		lines = append(lines, headed(e.st.problem, says.Label.Doubtful, text, w)...)
	case s.problem != "":
		lines = append(lines, problem(e.st, s.problem, w)...)
	}
	return lines
}

// The widths of the field for one number and for several; longer answers
// scroll in it.
const (
	fieldW = 18
	listW  = 50
)

// belowBelief is the belief under the question, the least needed giving way
// first: the leading condition stays.
func (s visitScreen) belowBelief(e env) []block {
	b := visiting.Told(s.v.Belief(), s.v.Input().Readings)
	if s.v.Procedure().Ended(s.v.State()) != "" {
		return nil // nobody who has to go out reads that all may be well
	}
	if b == nil {
		return []block{{giveState, []string{e.st.quiet.Render(visitWords().NoBelief)}}}
	}
	heading := visitWords().CanBeChanged
	if visiting.Found(b) {
		heading = visitWords().FoundChanged
	}
	blocks := []block{{giveHeading, []string{e.st.label.Render(heading)}}}
	for i, line := range bars(e, b, s.v.Before(), len(barRanks), e.w) {
		blocks = append(blocks, block{barRanks[i], []string{line}})
	}
	if told := s.v.Together(); told.Text != "" {
		blocks = append(blocks, block{giveTogether, wrap(fmt.Sprintf(visitWords().Together, told.Text), e.w)})
	}
	state := stateLines(s.v.Site(), b, e.w)
	blocks = append(blocks, block{giveState, state[:1]})
	if len(state) > 1 {
		blocks = append(blocks, block{giveMoreState, state[1:]})
	}
	return blocks
}

// sideBelief is the belief in a column of its own, with the why below it.
func (s visitScreen) sideBelief(e env, w, h int) []string {
	lines := []string{e.st.label.Render(visitWords().CanBe)}
	b := visiting.Told(s.v.Belief(), s.v.Input().Readings)
	if s.v.Procedure().Ended(s.v.State()) != "" {
		return nil
	}
	if b == nil {
		return append(lines, visitWords().NoBelief)
	}
	const shown = 5
	lines = append(lines, tallBars(e, b, s.v.Before(), shown, w)...)
	if told := s.v.Together(); told.Text != "" {
		lines = append(append(lines, ""), wrap(fmt.Sprintf(visitWords().Together, told.Text), w)...)
	}
	lines = append(lines, "", e.st.label.Render(visitWords().SystemNow))
	for _, t := range visiting.StateSentences(s.v.Site(), b) {
		lines = append(lines, wrap(t, w)...)
	}
	lines = append(lines, "", e.st.label.Render(visitWords().Why))
	lines = append(lines, whyLines(e, s.v, s.answers, w)...)
	if len(lines) > h {
		lines = append(lines[:max(0, h-1)], e.st.quiet.Render(visitWords().RestF4))
	}
	return lines
}

// sideHistory is the answers in a column of their own, the last ones where
// not all fit.
func (s visitScreen) sideHistory(e env, w, h int) []string {
	lines := []string{e.st.label.Render(visitWords().Answers)}
	if len(s.answers) == 0 {
		return append(lines, wordsOf().NoneYet)
	}
	list := answerLines(s.answers, w)
	if room := h - 1; len(list) > room {
		list = append([]string{fmt.Sprintf(visitWords().MoreAnswers, len(list)-room+1)}, list[len(list)-room+1:]...)
	}
	return append(lines, list...)
}
