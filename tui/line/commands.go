package line

import "ampwalk/diagnose"

// A command is what may be typed in place of an answer.
type command struct {
	name, does string
	takesText  bool
	do         func(t *talk, p diagnose.Prompt, text string)
}

// The list is filled in init since help names itself.
var (
	list     []command
	commands = map[string]command{}
)

func init() {
	list = []command{
		{"back", "show the step before again, to change its answer; back 3 shows number 3 of the history", true, (*talk).back},
		{"why", "why this step, what is believed and why", false, func(t *talk, p diagnose.Prompt, _ string) { t.why(p); t.quiet = true }},
		{"note", "keep words about this step: note the cover is cracked", true, (*talk).note},
		{"cannot", "the step cannot be done, with the reason: cannot no ladder", true, (*talk).cannot},
		{"history", "the answers so far, numbered", false, func(t *talk, _ diagnose.Prompt, _ string) { t.history(); t.quiet = true }},
		{"next", "go on from an earlier step without changing it", false, func(t *talk, _ diagnose.Prompt, _ string) { t.again = "" }},
		{"repeat", "read this step again", false, func(*talk, diagnose.Prompt, string) {}},
		{"leave", "leave now; the visit is kept and can be gone on with", false, func(t *talk, _ diagnose.Prompt, _ string) { t.left = true }},
		{"stop", "end the probing, with the reason: stop it smells burnt", true, (*talk).stop},
		{"help", "this list", false, func(t *talk, _ diagnose.Prompt, _ string) { t.help(); t.quiet = true }},
	}
	for _, c := range list {
		commands[c.name] = c
	}
	commands["?"] = commands["help"]
}

func (t *talk) help() {
	t.say("Type the answer, or one of these words:")
	for _, c := range list {
		t.indented("  ", c.name+": "+c.does)
	}
}
