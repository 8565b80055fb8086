package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// helpScreen lists every key and explains the parts of the visit screen.
type helpScreen struct {
	over
	page page
}

func newHelp(below screen) helpScreen { return helpScreen{over{below}, newPage()} }

func (s helpScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s helpScreen) onto(below screen) screen { s.below = below; return s }

func (s helpScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	if key.Matches(k, keys.Help, keys.Enter) {
		return s.below, nil
	}
	s.page = s.page.update(k, s.lines(e), e.w, e.h)
	return s, nil
}

func (s helpScreen) view(e env) []string { return s.page.view(e.st, s.lines(e), e.w, e.h) }

func (s helpScreen) help() []key.Binding {
	leave := as(keys.Leave, "leave")
	if s.visit().talk != nil {
		leave = keys.Leave
	}
	return []key.Binding{as(keys.Back, "close the help"), as(keys.Arrows, "scroll"), leave}
}

// A helpGroup is keys by what they are for.
type helpGroup struct {
	title string
	keys  []key.Binding
}

// visitKeys are the groups of a visit, and of the screens before it.
var visitKeys = []helpGroup{
	{"Enough for everything", []key.Binding{
		as(keys.Enter, "give the answer, or do what is marked"),
		as(keys.Back, "back to the answer before; it can be changed, later answers are kept"),
		as(keys.Down, "down from the answer to the line of other things to do"),
		as(keys.Left, "left and right along that line"),
		as(keys.Help, "this help; f1 where text is typed"),
	}},
	{"Shorter ways during a visit", []key.Binding{
		keys.Cannot, keys.Note, keys.Repeat, keys.Why, keys.Answers, keys.Wiring, keys.More, keys.Stop, keys.Sun,
		as(keys.Print, "print it as PDF, for staff and for the caretaker, at the end"),
		as(keys.Write, "write the summary to a text file, at the end"),
		as(keys.Leave, "leave; every answer is kept; ctrl+c does the same"),
	}},
	listKeys,
}

// siteKeys are the groups where a site is described.
var siteKeys = []helpGroup{
	{"Enough for everything", []key.Binding{
		as(keys.Enter, "keep the answer and go on, or do what is marked"),
		as(keys.Back, "back to the question before"),
		as(keys.Down, "down from the answer to the line of other things to do"),
		as(keys.Left, "left and right along that line"),
		as(keys.Help, "this help; f1 where text is typed"),
	}},
	{"Shorter ways", []key.Binding{
		keys.Assume, keys.Open, keys.Checked, keys.All, keys.Remove, keys.Undo, keys.Done, keys.Sun,
		as(keys.Leave, "leave; every answer is in the file"),
	}},
	listKeys,
}

// practiceKeys are the groups of a practice.
var practiceKeys = []helpGroup{
	{"Enough for everything", []key.Binding{
		as(keys.Enter, "choose; so does the number"),
		as(keys.Back, "back to the menu before"),
		as(keys.Up, "up and down in the menu"),
		as(keys.Help, "this help; f1 where text is typed"),
	}},
	{"Shorter ways", []key.Binding{
		as(typeKey, "type what you do, such as probe array+ post+; help lists all"),
		as(keys.PageUp, "page up and page down: what was said before"),
		as(benchKey, "to the bench of a guided practice, and back"),
		keys.Sun,
		as(keys.Leave, "leave; a case that is not closed is not counted"),
	}},
	listKeys,
}

// guidedKeys are those that a guided practice has beside a visit's.
var guidedKeys = helpGroup{"In a guided practice", []key.Binding{
	as(benchKey, "to the bench, where you look and measure, and back"),
	as(keys.Leave, "leave; a practice that is not ended is not counted"),
}}

// The keys of a supervisor's desk.
var (
	deskKeys = helpGroup{"In the list of visits", []key.Binding{
		as(keys.Enter, "open the visit"),
		as(keys.Left, "left and right: what needs eyes first, newest, oldest, due"),
		as(keys.Only, "only some visits: of a site, of staff, in a state and more"),
		as(keys.Results, "results of practice, of one person where the list is"),
		keys.Sun,
		as(keys.Leave, "leave; what was signed is in the ledger"),
	}}
	deskVisitKeys = helpGroup{"In a visit", []key.Binding{
		as(keys.Down, "the next step, with what was believed then; up the one before"),
		as(keys.Trends, "how the site's readings went from visit to visit, drawn"),
		as(keys.Comment, "a comment on the step shown, or on the whole visit"),
		as(keys.SendBack, "send it back with a question"),
		as(keys.Accept, "accept it with your signature"),
		as(keys.Back, "back to the list"),
	}}
)

var listKeys = helpGroup{"In lists and long texts", []key.Binding{
	as(keys.Up, "up and down, page up and page down, home and end"),
	as(keys.Toggle, "mark or unmark where several can be chosen; so does the number"),
	keys.Quit,
	keys.Suspend,
}}

func (s helpScreen) lines(e env) []string {
	const keyW = 12
	groups, texts := visitKeys, wordsOf().Help
	switch s.below.(type) {
	case practiceScreen, benchScreen:
		groups, texts = practiceKeys, wordsOf().HelpPractice
	case deskScreen, resultsScreen:
		groups, texts = []helpGroup{deskKeys, deskVisitKeys, listKeys}, wordsOf().HelpDesk
	case deskVisitScreen, trendsScreen, signScreen:
		groups, texts = []helpGroup{deskVisitKeys, deskKeys, listKeys}, wordsOf().HelpDesk
	case describeScreen, reviewScreen:
		groups, texts = siteKeys, wordsOf().HelpSite
	default:
		if s.visit().benched() {
			groups = append([]helpGroup{guidedKeys}, groups...)
		}
	}
	var lines []string
	for _, g := range groups {
		lines = append(lines, e.st.title.Render(g.title))
		for _, b := range g.keys {
			lines = append(lines, labelled(e.st.label, "  "+b.Help().Key, keyW, b.Help().Desc, e.w)...)
		}
		lines = append(lines, "")
	}
	for _, t := range texts {
		lines = append(lines, wrap(t, e.w)...)
		lines = append(lines, "")
	}
	return lines[:len(lines)-1]
}
