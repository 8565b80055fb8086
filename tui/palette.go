package tui

import (
	"strconv"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"
)

// A Theme is one of the looks of the screens. It is kept by its id.
type Theme string

// The themes. Each paints its own ground, so that its colours can be read whatever ground
// the terminal has.
const (
	Dark     Theme = "dark"
	Light    Theme = "light"
	Sunlight Theme = "sun" // bold black on white throughout, for a screen in bright sun
)

var themes = []Theme{Dark, Light, Sunlight}

// Known reports whether t is one of the themes.
func (t Theme) Known() bool { return t.next() != "" }

// next is the theme that the key for it leads to, "" after one that is not known.
func (t Theme) next() Theme {
	for i, other := range themes {
		if t == other {
			return themes[(i+1)%len(themes)]
		}
	}
	return ""
}

// GuessTheme is the theme for the ground that the terminal says it has, dark where it says
// nothing. It asks the terminal nothing, so it never waits for one.
//
// Source: COLORFGBG holds the numbers of the colours of ink and ground among the 16; 7 and
// 15 are the light ones (from memory).
func GuessTheme(getenv func(string) string) Theme {
	list := strings.Split(getenv("COLORFGBG"), ";")
	if n, err := strconv.Atoi(list[len(list)-1]); err == nil && (n == 7 || n == 15) {
		return Light
	}
	return Dark
}

// NoColor reports whether the person wants no colour on a terminal that knows bold and
// reverse: those stay.
func NoColor(getenv func(string) string) bool {
	term := getenv("TERM")
	return getenv("NO_COLOR") != "" && term != "" && term != "dumb"
}

// A palette is colours by what they mean, each for terminals of many, of 256 and of 16
// colours. palette_test.go holds them to a contrast of 4.5 to one on their ground.
type palette struct {
	ink, ground lipgloss.CompleteColor

	healthy lipgloss.CompleteColor // as it should be
	doubt   lipgloss.CompleteColor // perhaps not
	fault   lipgloss.CompleteColor // wrong, or not as it should be
	accent  lipgloss.CompleteColor // labels, and what is asked
	danger  lipgloss.CompleteColor // the ground of a danger; its letters are white
}

// whiteInk are the letters on the ground of a danger.
var whiteInk = lipgloss.CompleteColor{TrueColor: "#ffffff", ANSI256: "231", ANSI: "15"}

var palettes = map[Theme]palette{
	Dark: {
		ink: colour("#e4e4e4", "254", "15"), ground: colour("#121212", "233", "0"),
		healthy: colour("#87d787", "114", "10"), doubt: colour("#ffd75f", "221", "11"), fault: colour("#ff8787", "210", "9"),
		accent: colour("#87afff", "111", "14"), danger: colour("#af0000", "124", "1"),
	},
	Light: {
		ink: colour("#1c1c1c", "234", "0"), ground: colour("#ffffff", "231", "15"),
		healthy: colour("#005f00", "22", "4"), doubt: colour("#875f00", "94", "5"), fault: colour("#af0000", "124", "1"),
		accent: colour("#005faf", "25", "4"), danger: colour("#af0000", "124", "1"),
	},
	Sunlight: {
		ink: colour("#000000", "16", "0"), ground: colour("#ffffff", "231", "15"),
	},
}

func colour(many, of256, of16 string) lipgloss.CompleteColor {
	return lipgloss.CompleteColor{TrueColor: many, ANSI256: of256, ANSI: of16}
}

// in is the colour as a terminal of that profile is told.
func in(c lipgloss.CompleteColor, p termenv.Profile) termenv.Color {
	switch p {
	case termenv.TrueColor:
		return p.Color(c.TrueColor)
	case termenv.ANSI256:
		return p.Color(c.ANSI256)
	default:
		return p.Color(c.ANSI)
	}
}

// page begins every line in the theme: its ink on its ground, bold in bright sun; "" where
// there are no colours.
func (t Theme) page(p termenv.Profile) string {
	if p == termenv.Ascii {
		return ""
	}
	pal, bold := palettes[t], ""
	if t == Sunlight {
		bold = "1;"
	}
	return termenv.CSI + bold + in(pal.ink, p).Sequence(false) + ";" + in(pal.ground, p).Sequence(true) + "m"
}
