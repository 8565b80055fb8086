package plaintext

import "strings"

// Cell is a text that no spreadsheet takes for a formula: one that could begin a
// formula gets an apostrophe before it. It is for texts; a number that the program
// made is written as it is.
//
// Source: OWASP, "CSV Injection" (=, +, -, @, tab, line break, and the wide forms of
// East Asian writing); from memory. Blanks before them are judgement.
func Cell(text string) string {
	rest := strings.TrimLeft(text, " \u3000\u00a0")
	if strings.IndexAny(rest, "=+-@＝＋－＠\t\r\n") == 0 {
		return "'" + text
	}
	return text
}
