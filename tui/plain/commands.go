package plain

import "ampwalk/diagnose/field/visiting"

// A command is what may be typed in place of an answer; words.toml says what
// each does.
type command struct {
	takesText bool
	do        func(t *talk, p visiting.Prompt, text string)
}

// commands by what is typed.
var commands = map[string]command{
	"back":    {true, (*talk).back},
	"why":     {false, func(t *talk, p visiting.Prompt, _ string) { t.why(p); t.quiet = true }},
	"note":    {true, (*talk).note},
	"cannot":  {true, (*talk).cannot},
	"history": {false, func(t *talk, _ visiting.Prompt, _ string) { t.history(); t.quiet = true }},
	"next":    {false, func(t *talk, _ visiting.Prompt, _ string) { t.again = "" }},
	"show":    {false, func(*talk, visiting.Prompt, string) {}},
	"repeat":  {false, func(t *talk, p visiting.Prompt, _ string) { t.repeat(p) }},
	"if":      {true, (*talk).whatIf},
	"wiring":  {false, func(t *talk, p visiting.Prompt, _ string) { t.wiring(p); t.quiet = true }},
	"leave":   {true, (*talk).leave},
	"stop":    {true, (*talk).stop},
	"help":    {false, func(t *talk, _ visiting.Prompt, _ string) { t.help(); t.quiet = true }},
	"?":       {false, func(t *talk, _ visiting.Prompt, _ string) { t.help(); t.quiet = true }},
}

func (t *talk) help() {
	w := words()
	t.say(w.Commands)
	for _, h := range w.Help {
		t.indentedf("  ", w.Command, h.Name, h.Does)
	}
}
