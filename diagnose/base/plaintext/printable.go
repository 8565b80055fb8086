// Package plaintext makes text from files and people safe for a terminal, a
// printer and a spreadsheet.
//
// Start with [Clean] and [Cell].
package plaintext

import (
	"regexp"
	"strings"
	"unicode"
)

// escapes are the control sequences of ECMA-48: CSI, the strings ended by BEL
// or ST, and the short ones.
var escapes = regexp.MustCompile("\x1b(?:" +
	`\[[0-?]*[ -/]*[@-~]` + "|" +
	"[\\]PX^_][^\x07\x1b]*(?:\x07|\x1b\\\\)" + "|" +
	`[ -/]*[0-~])`)

// The two joiners have no width of their own but decide how several scripts
// are written.
const (
	zeroWidthNonJoiner = '\u200c'
	zeroWidthJoiner    = '\u200d'
)

// Clean is text on one line without anything that commands a terminal:
// escape sequences, control characters (C0, C1, DEL), overrides of the writing
// direction and other invisible characters are dropped, white space of every
// kind becomes a space, and bytes that are not UTF-8 become U+FFFD.
func Clean(text string) string {
	text = escapes.ReplaceAllString(strings.ToValidUTF8(text, "\ufffd"), "")
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsPrint(r), r == zeroWidthJoiner, r == zeroWidthNonJoiner:
			return r
		case unicode.IsSpace(r):
			return ' '
		default:
			return -1
		}
	}, text)
}

// CleanLines is text of several lines, each as [Clean] makes it.
func CleanLines(text string) string {
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		lines[i] = Clean(line)
	}
	return strings.Join(lines, "\n")
}
