package tui

import (
	"slices"

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
	if key.Matches(k, keys.Right) && s.pictured() {
		return newStandard(s), nil
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
	list := []key.Binding{as(keys.Back, "close-help"), as(keys.Arrows, "scroll"), leave}
	if s.pictured() {
		list = slices.Insert(list, 2, as(keys.Right, "pictures"))
	}
	return list
}

// pictured reports whether the standard pictures are of use: where something is measured.
func (s helpScreen) pictured() bool { return s.visit().talk != nil || practiceOn(s) != nil }

// A helpGroup is keys by what they are for.
type helpGroup struct {
	title string // by its id in keys.toml
	keys  []key.Binding
}

// visitKeys are the groups of a visit, and of the screens before it.
var visitKeys = []helpGroup{
	{"enough", []key.Binding{
		as(keys.Enter, "help-answer"),
		as(keys.Back, "help-back"),
		as(keys.Down, "help-down"),
		as(keys.Left, "help-left"),
		as(keys.Help, "help-help"),
	}},
	{"visit", []key.Binding{
		keys.Cannot, keys.Note, keys.Repeat, keys.Why, keys.Answers, keys.Wiring, keys.More, keys.Stop, keys.Sun,
		as(keys.Print, "help-print"),
		as(keys.Write, "help-write"),
		as(keys.Leave, "help-leave"),
	}},
	listKeys,
}

// siteKeys are the groups where a site is described.
var siteKeys = []helpGroup{
	{"enough", []key.Binding{
		as(keys.Enter, "help-keep"),
		as(keys.Back, "help-back-question"),
		as(keys.Down, "help-down"),
		as(keys.Left, "help-left"),
		as(keys.Help, "help-help"),
	}},
	{"short", []key.Binding{
		keys.Assume, keys.Open, keys.Checked, keys.All, keys.Remove, keys.Undo, keys.Details, keys.Done, keys.Sun,
		as(keys.Leave, "help-leave-site"),
	}},
	listKeys,
}

// practiceKeys are the groups of a practice.
var practiceKeys = []helpGroup{
	{"enough", []key.Binding{
		as(keys.Enter, "help-choose"),
		as(keys.Back, "help-back-menu"),
		as(keys.Up, "help-up"),
		as(keys.Help, "help-help"),
	}},
	{"short", []key.Binding{
		as(typeKey, "help-type"),
		as(keys.PageUp, "help-page"),
		as(benchKey, "help-bench-guided"),
		keys.Sun,
		as(keys.Leave, "help-leave-case"),
	}},
	listKeys,
}

// guidedKeys are those that a guided practice has beside a visit's.
var guidedKeys = helpGroup{"guided", []key.Binding{
	as(benchKey, "help-bench"),
	as(keys.Leave, "help-leave-practice"),
}}

// The keys of a supervisor's desk.
var (
	deskKeys = helpGroup{"list", []key.Binding{
		as(keys.Enter, "help-open-visit"),
		as(keys.Left, "help-order"),
		as(keys.Only, "help-only"),
		as(keys.Results, "help-results"),
		keys.Sun,
		as(keys.Leave, "help-leave-desk"),
	}}
	deskVisitKeys = helpGroup{"desk-visit", []key.Binding{
		as(keys.Down, "help-step"),
		as(keys.Trends, "help-trends"),
		as(keys.Comment, "help-comment"),
		as(keys.SendBack, "help-send-back"),
		as(keys.Accept, "help-accept"),
		as(keys.Back, "help-back-list"),
	}}
)

var listKeys = helpGroup{"long", []key.Binding{
	as(keys.Up, "help-scroll"),
	as(keys.Toggle, "help-toggle"),
	keys.Quit,
	keys.Suspend,
}}

func (s helpScreen) lines(e env) []string {
	const keyW = 12
	groups, texts := visitKeys, wordsOf().Help
	switch s.below.(type) {
	case practiceScreen, benchScreen:
		groups, texts = practiceKeys, wordsOf().HelpPractice
	case quizScreen:
		groups, texts = []helpGroup{practiceKeys[0], listKeys}, wordsOf().HelpQuiz
	case lessonScreen:
		groups, texts = []helpGroup{practiceKeys[0], listKeys}, nil
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
		lines = append(lines, e.st.title.Render(keyWords().Group[g.title]))
		for _, b := range g.keys {
			lines = append(lines, labelled(e.st.label, "  "+b.Help().Key, keyW, keyWords().Key[b.Help().Desc], e.w)...)
		}
		lines = append(lines, "")
	}
	for _, t := range texts {
		lines = append(lines, wrap(t, e.w)...)
		lines = append(lines, "")
	}
	return lines[:len(lines)-1]
}
