package plaintext

import (
	"regexp"
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// quantities are a number and its unit, which stay on one line.
var quantities = regexp.MustCompile(`([0-9]) (%|°C|(?:V|mV|A|mA|Ah|W/m2|W|Wh|kWh|mm2|cm2|m2|m3|mm|cm|m|min|h|hours?|days?|months?)\b)`)

// together is a blank at which no line is broken; [Clean] leaves none of its own.
const together = "\u00a0"

// Unbroken is a text as [Clean] makes it, without blanks at its ends, whose quantities
// hold together by blanks at which no line is broken.
func Unbroken(text string) string {
	return quantities.ReplaceAllString(strings.TrimSpace(Clean(text)), "$1"+together+"$2")
}

// Broken is a piece of an unbroken text as it is shown.
func Broken(text string) string { return strings.ReplaceAll(text, together, " ") }

// Wrap cleans a text and breaks it into lines of at most w columns of a terminal, 2 or
// more; there is always one line. A number stays with its unit. What is longer than a
// line is broken where the line ends.
func Wrap(text string, w int) []string {
	w = max(w, 2) // a wide letter has two
	var lines []string
	line, used := "", 0
	end := func() {
		lines = append(lines, strings.TrimRight(Broken(line), " "))
		line, used = "", 0
	}
	for i, word := range strings.Split(Unbroken(text), " ") {
		n := ansi.StringWidth(word)
		switch {
		case i == 0:
		case used+1+n <= w, n > w && used+3 <= w:
			line, used = line+" ", used+1
		case word != "":
			end()
		}
		for used+n > w {
			head, columns := fitting(word, w-used)
			if head == "" && used == 0 {
				break // one letter wider than a line
			}
			line, word, n = line+head, word[len(head):], n-columns
			end()
		}
		line, used = line+word, used+n
	}
	end()
	return lines
}

// fitting is the beginning of a word that fits into so many columns, and how many it
// takes. It looks at no more of the word than that.
func fitting(word string, columns int) (head string, used int) {
	size := 0
	for size < len(word) {
		letter, n := ansi.FirstGraphemeCluster(word[size:], ansi.GraphemeWidth)
		if used+n > columns {
			break
		}
		size, used = size+len(letter), used+n
	}
	return word[:size], used
}

// WrapIndented is [Wrap] with the blanks before the text before every line.
func WrapIndented(text string, w int) []string {
	indent := text[:len(text)-len(strings.TrimLeft(text, " "))]
	if len(indent) > w/2 {
		indent = ""
	}
	lines := Wrap(text, w-len(indent))
	for i, l := range lines {
		lines[i] = strings.TrimRight(indent+l, " ")
	}
	return lines
}
