package plain

import "ampwalk/diagnose/field/conversation"

// A command is what may be typed in place of an answer; words.toml says what
// each does.
type command struct {
	act       conversation.Act
	takesText bool
	shows     bool // the question is shown again after it
	do        func(l *lines, text string)
}

// commands by what is typed.
var commands = map[string]command{
	"back":     {conversation.DoBack, true, true, (*lines).back},
	"next":     {conversation.DoNext, false, true, func(l *lines, _ string) { l.next() }},
	"repeat":   {conversation.DoAgain, false, true, func(l *lines, _ string) { l.turned(l.Again()) }},
	"show":     {conversation.DoShow, false, true, func(*lines, string) {}},
	"cannot":   {conversation.DoCannot, true, false, (*lines).cannot},
	"stop":     {conversation.DoStop, true, false, (*lines).stop},
	"note":     {conversation.DoNote, true, false, (*lines).note},
	"why":      {conversation.DoWhy, false, false, func(l *lines, _ string) { l.why() }},
	"if":       {conversation.DoIf, true, false, (*lines).whatIf},
	"history":  {conversation.DoList, false, false, func(l *lines, _ string) { l.history() }},
	"wiring":   {conversation.DoWiring, false, false, func(l *lines, _ string) { l.wiring() }},
	"pictures": {conversation.DoLook, false, false, func(l *lines, _ string) { l.pictures() }},
	"leave":    {conversation.DoLeave, true, false, (*lines).leave},
	"help":     {takesText: false, do: func(l *lines, _ string) { l.help() }},
	"?":        {takesText: false, do: func(l *lines, _ string) { l.help() }},
}

// turned tells why another question is not shown.
func (l *lines) turned(err error) {
	if err != nil {
		l.problem(err)
	}
}

func (l *lines) help() {
	w := words()
	l.say(w.Commands)
	for _, h := range w.Help {
		l.indentedf("  ", w.Command, h.Name, h.Does)
	}
}
