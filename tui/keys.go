package tui

import "github.com/charmbracelet/bubbles/key"

// keyMap is every key the screens know. Digits, Enter, Escape, the arrows and
// ? reach everything; the function keys are shorter ways.
type keyMap struct {
	Enter, Back, Up, Down, Left, Right, PageUp, PageDown, Home, End, Toggle key.Binding

	Arrows, Digits key.Binding // named in the help line only

	Help, Leave, Quit, Suspend, Sun key.Binding

	Cannot, Note, Why, Answers, More, Repeat, Stop, Wiring, Write, Print, Power key.Binding

	Assume, Open, Checked, All, Remove, Undo, Details, Done key.Binding

	Only, Results, Trends, Comment, SendBack, Accept key.Binding
}

var keys = keyMap{
	Enter:    bind("enter", "answer", "enter"),
	Back:     bind("esc", "back", "esc", "shift+tab"),
	Up:       bind("up", "up", "up"),
	Down:     bind("down", "more-to-do", "down", "tab"),
	Left:     bind("left", "left", "left"),
	Right:    bind("right", "right", "right"),
	Arrows:   bind("arrows", "move", "up", "down", "left", "right"),
	Digits:   bind("digits", "mark-none", "0", "1", "2", "3", "4", "5", "6", "7", "8", "9"),
	PageUp:   bind("page up", "page-up", "pgup"),
	PageDown: bind("page down", "page-down", "pgdown"),
	Home:     bind("home", "to-top", "home"),
	End:      bind("end", "to-end", "end"),
	Toggle:   bind("space", "mark-or-unmark", " "),
	Help:     bind("?", "help", "?", "f1"),
	Leave:    bind("f10", "leave-visit", "f10", "ctrl+c"),
	Quit:     bind("q", "leave-untyped", "q"),
	Suspend:  bind("ctrl+z", "to-shell", "ctrl+z"),
	Cannot:   bind("f2", "cannot", "f2"),
	Note:     bind("f3", "note", "f3"),
	Why:      bind("f4", "why", "f4"),
	Answers:  bind("f5", "answers", "f5"),
	More:     bind("f6", "step-details", "f6"),
	Stop:     bind("f8", "stop", "f8"),
	Repeat:   bind("f7", "repeat", "f7"),
	Wiring:   bind("f9", "wiring", "f9"),
	Write:    bind("f7", "write", "f7"),
	Power:    bind("f8", "power", "f8"),
	Print:    bind("f6", "print", "f6"),
	Assume:   bind("f2", "assume-typical", "f2"),
	Open:     bind("f3", "clear", "f3"),
	Checked:  bind("f4", "checked", "f4"),
	All:      bind("f5", "all", "f5"),
	Remove:   bind("f6", "remove", "f6"),
	Undo:     bind("f7", "undo", "f7"),
	Details:  bind("f8", "details", "f8"),
	Done:     bind("f9", "to-site-or-leave", "f9"),
	Only:     bind("f2", "only", "f2"),
	Results:  bind("f3", "results", "f3"),
	Comment:  bind("f3", "comment", "f3"),
	Trends:   bind("f4", "trends", "f4"),
	SendBack: bind("f5", "send-back", "f5"),
	Accept:   bind("f9", "accept", "f9"),
	Sun:      bind("f12", "sun", "f12"),
}

// bind is a key by its name on screens. What it does is an id of keys.toml.
func bind(name, does string, on ...string) key.Binding {
	return key.NewBinding(key.WithKeys(on...), key.WithHelp(name, does))
}

// as is b with other words in the help line, those of an id.
func as(b key.Binding, does string) key.Binding {
	b.SetHelp(b.Help().Key, does)
	return b
}
