package tui

import "github.com/charmbracelet/bubbles/key"

// keyMap is every key the screens know. Digits, Enter, Escape, the arrows and
// ? reach everything; the function keys are shorter ways.
type keyMap struct {
	Enter, Back, Up, Down, Left, Right, PageUp, PageDown, Home, End, Toggle key.Binding

	Arrows key.Binding // named in the help line only

	Help, Leave, Quit, Suspend, Sun key.Binding

	Cannot, Note, Why, Answers, More, Repeat, Stop, Wiring, Write, Print, Power key.Binding

	Assume, Open, Checked, All, Remove, Undo, Done key.Binding

	Only, Results, Trends, Comment, SendBack, Accept key.Binding
}

var keys = keyMap{
	Enter:    bind("enter", "answer", "enter"),
	Back:     bind("esc", "back", "esc", "shift+tab"),
	Up:       bind("up", "up", "up"),
	Down:     bind("down", "more to do", "down", "tab"),
	Left:     bind("left", "left", "left"),
	Right:    bind("right", "right", "right"),
	Arrows:   bind("arrows", "move", "up", "down", "left", "right"),
	PageUp:   bind("page up", "a page up", "pgup"),
	PageDown: bind("page down", "a page down", "pgdown"),
	Home:     bind("home", "to the top", "home"),
	End:      bind("end", "to the end", "end"),
	Toggle:   bind("space", "mark or unmark", " "),
	Help:     bind("?", "help", "?", "f1"),
	Leave:    bind("f10", "leave, the visit is kept", "f10", "ctrl+c"),
	Quit:     bind("q", "leave, where nothing is typed", "q"),
	Suspend:  bind("ctrl+z", "to the shell, back with fg", "ctrl+z"),
	Cannot:   bind("f2", "cannot take it", "f2"),
	Note:     bind("f3", "write a note", "f3"),
	Why:      bind("f4", "why, reading by reading", "f4"),
	Answers:  bind("f5", "answers so far", "f5"),
	More:     bind("f6", "all about this step", "f6"),
	Stop:     bind("f8", "stop now, put back", "f8"),
	Repeat:   bind("f7", "take a reading once more, both values kept", "f7"),
	Wiring:   bind("f9", "the wiring drawing, large", "f9"),
	Write:    bind("f7", "write it to a file", "f7"),
	Power:    bind("f8", "how much power, until when", "f8"),
	Print:    bind("f6", "print it as PDF, for staff and for the caretaker", "f6"),
	Assume:   bind("f2", "take the typical value, marked as assumed", "f2"),
	Open:     bind("f3", "leave it open: take the answer out", "f3"),
	Checked:  bind("f4", "the value is right, it is assumed no longer", "f4"),
	All:      bind("f5", "all answers, to go to one of them", "f5"),
	Remove:   bind("f6", "take this lamp, look or load out", "f6"),
	Undo:     bind("f7", "as it was before the last change", "f7"),
	Done:     bind("f9", "to the site: begin a visit, or leave it", "f9"),
	Only:     bind("f2", "only some", "f2"),
	Results:  bind("f3", "practice", "f3"),
	Comment:  bind("f3", "comment", "f3"),
	Trends:   bind("f4", "trends", "f4"),
	SendBack: bind("f5", "send back", "f5"),
	Accept:   bind("f9", "accept", "f9"),
	Sun:      bind("f12", "black on white for bright sun, and back; it is remembered", "f12"),
}

func bind(name, does string, on ...string) key.Binding {
	return key.NewBinding(key.WithKeys(on...), key.WithHelp(name, does))
}

// as is b with other words in the help line.
func as(b key.Binding, does string) key.Binding {
	b.SetHelp(b.Help().Key, does)
	return b
}
