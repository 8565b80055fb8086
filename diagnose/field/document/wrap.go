package document

import (
	"strings"
	"unicode/utf8"

	"ampwalk/diagnose/base/plaintext"
)

// wrap breaks a text into visible lines that are at most w wide; there is always
// one. A word that is longer than a line is broken.
func (l *layout) wrap(text string, w float64, f face) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(plaintext.Unbroken(text), func(r rune) bool { return r == ' ' }) {
		with := line + " " + word
		if line == "" {
			with = word
		}
		if !l.exceeds(with, w, f) {
			line = with
			continue
		}
		if line != "" {
			lines, line = append(lines, shown(line)), ""
		}
		for l.exceeds(word, w, f) {
			n := l.fits(word, w, f)
			lines, word = append(lines, shown(word[:n])), word[n:]
		}
		line = word
	}
	return append(lines, shown(line))
}

// shown is a piece of an unbroken text as it is drawn.
func shown(text string) string { return visible(plaintext.Broken(text)) }

// fits is how many bytes of a word fit on a line, one letter at least.
func (l *layout) fits(word string, w float64, f face) int {
	_, n := utf8.DecodeRuneInString(word)
	for n < len(word) {
		_, size := utf8.DecodeRuneInString(word[n:])
		if l.width(shown(word[:n+size]), f) > w {
			break
		}
		n += size
	}
	return n
}

// longLine is more letters than any line has; what is longer need not be measured.
const longLine = 600

// exceeds reports whether a piece of an unbroken text is wider than w.
func (l *layout) exceeds(text string, w float64, f face) bool {
	n := 0
	for i := range text {
		if n++; n > longLine {
			text = text[:i]
			break
		}
	}
	return l.width(shown(text), f) > w
}

// cut is a text shortened to w.
func (l *layout) cut(text string, w float64, f face) string {
	text = plaintext.Clean(text)
	if !l.exceeds(text, w, f) {
		return text
	}
	const more = "…"
	runes := []rune(text)
	runes = runes[:min(len(runes), longLine)]
	for len(runes) > 0 && l.width(visible(string(runes)+more), f) > w {
		runes = runes[:len(runes)-1]
	}
	return string(runes) + more
}
