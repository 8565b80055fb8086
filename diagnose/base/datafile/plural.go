package datafile

import (
	"fmt"
	"strconv"
	"strings"
)

// A Plural is a text that says how many: one form for each that the language has. In
// English there are two. "{n}" stands for the number, and verbs for what else is said.
type Plural struct{ One, Other string }

// Of is the text for n.
func (p Plural) Of(n int, args ...any) string {
	text := p.Other
	if n == 1 {
		text = p.One
	}
	text = strings.ReplaceAll(text, "{n}", strconv.Itoa(n))
	if len(args) == 0 {
		return text
	}
	return fmt.Sprintf(text, args...)
}
