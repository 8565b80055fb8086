package plain

import (
	"strings"
)

// welcomeHome says what was said of a visit by those who reviewed it.
func (l *lines) welcomeHome() {
	if l.home.Silent() {
		return
	}
	w := words()
	l.print("")
	l.say(w.CameHome)
	for _, said := range append(l.home.Whole[:len(l.home.Whole):len(l.home.Whole)], l.home.Notes...) {
		l.indentedf("  ", w.Reason, said)
	}
}

// answerHome asks for the answer to the question that an ended visit came home with.
// The answer is a note on the visit.
func (l *lines) answerHome() {
	l.print("")
	l.say(words().AnswerHome)
	typed, ok := l.read()
	word, rest, _ := strings.Cut(typed, " ")
	switch word = strings.ToLower(word); {
	case !ok, word == "leave":
		l.left = true
	case word == "":
	case word == "history":
		l.history()
	case word == "back":
		l.back(strings.TrimSpace(rest))
		l.quiet = false
	default:
		l.taken(l.Note(typed))
	}
}
