package tui

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// A doing is the id of something that can be done beside answering, or of an entry of a
// menu. words.toml says what it is called.
type doing string

// What can be done.
const (
	doBench   doing = "bench"
	doDebrief doing = "debrief"
	doCannot  doing = "cannot"
	doNote    doing = "note"
	doRepeat  doing = "repeat"
	doWhy     doing = "why"
	doAnswers doing = "answers"
	doWiring  doing = "wiring"
	doMore    doing = "more"
	doStop    doing = "stop"
	doLeave   doing = "leave"
	doWrite   doing = "write"
	doPrint   doing = "print"
	doPower   doing = "power"

	// Of what can be tried with an outlook.
	doBack    doing = "back"
	doClean   doing = "try-clean"
	doRepair  doing = "try-repair"
	doString  doing = "try-string"
	doBattery doing = "try-battery"
	doLarger  doing = "try-larger"
	doCable   doing = "try-cable"

	// Of a description.
	doAssume  doing = "assume"
	doClear   doing = "clear"
	doChecked doing = "checked"
	doAll     doing = "list"
	doRemove  doing = "remove"
	doUndo    doing = "undo"
	doFinish  doing = "finish"
	doDetails doing = "details"
	doAdd     doing = "add"
	doNoMore  doing = "no-more"

	// With a site.
	doBegin   doing = "begin"
	doQuick   doing = "quick"
	doCallOut doing = "call-out"
	doChange  doing = "change"
	doCopy    doing = "copy"

	// At the start.
	doDescribe doing = "describe"
	doOpen     doing = "open"
	doPractise doing = "practise"
	doBright   doing = "bright"

	// With something open.
	doGoOn    doing = "go-on"
	doPutBack doing = "put-back"
	doLeaveSo doing = "leave-so"
	doToStart doing = "to-start"
	doEnd     doing = "end"
)

// name is what it is called.
func (d doing) name() string { return wordsOf().Do[d] }

// An action is something to do beside answering: reached with the arrows, or
// with its own key.
type action struct {
	key key.Binding
	do  doing
}

// actionRow draws the actions with the names of their keys, on as few lines as they need.
func actionRow(st styles, actions []action, at int, focused bool, w int) []string {
	pieces := make([]string, len(actions))
	for i, a := range actions {
		name := strings.ToUpper(a.key.Help().Key)
		pieces[i] = name + " " + a.do.name()
		if focused && i == at {
			pieces[i] = st.chosen.Render(name + ">" + a.do.name())
		}
	}
	return flow(pieces, " ", w)
}

// moveAlong moves along n actions with the left and right arrows.
func moveAlong(msg tea.KeyMsg, at, n int) int {
	switch {
	case key.Matches(msg, keys.Left):
		return max(0, at-1)
	case key.Matches(msg, keys.Right):
		return min(n-1, at+1)
	}
	return at
}

// pressed is the index of the action whose own key was pressed, -1 for none.
func pressed(msg tea.KeyMsg, actions []action) int {
	for i, a := range actions {
		if key.Matches(msg, a.key) {
			return i
		}
	}
	return -1
}
