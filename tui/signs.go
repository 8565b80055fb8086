package tui

import "strings"

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
