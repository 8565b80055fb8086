package tui

import (
	"slices"
	"strings"
)

// Signs are the characters that a terminal can show.
type Signs int

// The signs, each with those before it.
const (
	ASCII   Signs = iota
	Boxes         // box-drawing characters and blocks, as the Linux console has them
	Braille       // and braille patterns
)

// SignsOf tells by the environment what the terminal can show: the character
// set is that of the locale (POSIX: LC_ALL, LC_CTYPE, LANG); the Linux console's
// own fonts hold at most 512 characters, and no braille (console_codes(4)); the
// older Windows console has none either, the newer terminal sets WT_SESSION.
func SignsOf(getenv func(string) string, os string) Signs {
	switch {
	case os == "windows" && getenv("WT_SESSION") == "":
		return Boxes
	case os == "windows":
		return Braille
	case !utf8Locale(getenv):
		return ASCII
	case getenv("TERM") == "linux":
		return Boxes
	default:
		return Braille
	}
}

// eightColors are terminals that have eight colours though their names do not say so, by
// the beginnings of their names; the colour library knows none of them. Source: terminfo.
var eightColors = []string{"screen", "tmux", "rxvt", "putty", "konsole", "cygwin", "Eterm", "st", "foot", "mlterm", "vte"}

// EightColors reports whether the terminal has at least eight colours by its name, and
// nobody asked for none (NO_COLOR, CLICOLOR).
func EightColors(getenv func(string) string) bool {
	if getenv("NO_COLOR") != "" || getenv("CLICOLOR") == "0" {
		return false
	}
	name, _, _ := strings.Cut(getenv("TERM"), "-")
	return slices.Contains(eightColors, name)
}

func utf8Locale(getenv func(string) string) bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if locale := strings.ToLower(getenv(name)); locale != "" {
			return strings.Contains(locale, "utf-8") || strings.Contains(locale, "utf8")
		}
	}
	return false
}

// filled and empty are the two parts of a bar.
func (s Signs) filled() string {
	if s == ASCII {
		return "#"
	}
	return "█"
}

func (s Signs) empty() string {
	if s == ASCII {
		return "."
	}
	return "·"
}

// line, left and right draw a range.
func (s Signs) line() rune {
	if s == ASCII {
		return '-'
	}
	return '─'
}

func (s Signs) left() rune {
	if s == ASCII {
		return '['
	}
	return '├'
}

func (s Signs) right() rune {
	if s == ASCII {
		return ']'
	}
	return '┤'
}
