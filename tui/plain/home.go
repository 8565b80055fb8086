package plain

import (
	"strings"

	"ampwalk/diagnose/field/visiting"
)

// welcomeHome says what was said of a visit by those who reviewed it.
func (t *talk) welcomeHome() {
	if t.Home.Silent() {
		return
	}
	w := words()
	t.print("")
	t.say(w.CameHome)
	for _, said := range append(t.Home.Whole[:len(t.Home.Whole):len(t.Home.Whole)], t.Home.Notes...) {
		t.indentedf("  ", w.Reason, said)
	}
}

// answerHome asks for the answer to the question that an ended visit came home with,
// and reports false where the input ends. The answer is a note on the visit.
func (t *talk) answerHome() bool {
	t.print("")
	t.say(words().AnswerHome)
	typed, ok := t.read()
	if !ok {
		t.err = t.lines.Err()
		return false
	}
	word, rest, _ := strings.Cut(typed, " ")
	switch strings.ToLower(word) {
	case "":
	case "leave":
		t.left = true
	case "history":
		t.history()
	case "back":
		t.back(visiting.Prompt{}, strings.TrimSpace(rest))
		t.quiet = false
	default:
		t.give(visiting.Answer{Kind: visiting.Note, Step: t.lastStep(), Reason: typed})
	}
	return true
}

// lastStep is the step answered last.
func (t *talk) lastStep() string {
	answers := t.Visit.Answers()
	if len(answers) == 0 {
		return ""
	}
	return answers[len(answers)-1].Step
}
