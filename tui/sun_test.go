package tui

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestThemeIsChosenWithOneKeyAndRemembered(t *testing.T) {
	var kept []Theme
	opt := options()
	opt.Remember = func(theme Theme) error { kept = append(kept, theme); return nil }
	d := visitUnderWay(answered(3), opt).press("13")
	d.m.renderer = rendererIn(termenv.ANSI)
	d.press("f12", "f12")
	assert.Equal(t, Sunlight, d.m.theme)
	assert.True(t, showing(d, "Theme: bright sun"))
	assert.Contains(t, d.m.View(), "\x1b[1;30;107m", "bold black on bright white: ECMA-48 and the usual 100 to 107")
	d.press("f12")
	assert.Equal(t, []Theme{Light, Sunlight, Dark}, kept)
	assert.True(t, showing(d, "> 13_"), "what is typed stays")

	opt.Remember = func(Theme) error { return errDisk }
	d = visitUnderWay(answered(3), opt).press("f12")
	assert.True(t, showing(d, "could not be saved: no space"), d.m.View())
	assert.Equal(t, Light, d.m.theme, "it is chosen all the same")
	d.press("1")
	assert.False(t, showing(d, "could not be saved"))

	opt.Theme = Sunlight
	assert.Equal(t, Sunlight, drive(nil, opt).m.theme, "it begins as it was left")
	opt.Theme = "plum"
	assert.Equal(t, Dark, drive(nil, opt).m.theme)
}

func TestGuessTheme(t *testing.T) {
	for said, want := range map[string]Theme{"": Dark, "15;0": Dark, "0;15": Light, "0;default;15": Light, "0;7": Light, "7;8": Dark, "x": Dark} {
		assert.Equal(t, want, GuessTheme(func(string) string { return said }), said)
	}
}

// Who wants no colour keeps bold and reverse: https://no-color.org says "color" only.
func TestNoColorKeepsBoldAndReverse(t *testing.T) {
	env := map[string]string{"NO_COLOR": "1", "TERM": "xterm"}
	assert.True(t, NoColor(func(key string) string { return env[key] }))
	env["TERM"] = "dumb"
	assert.False(t, NoColor(func(key string) string { return env[key] }))
	for name, screen := range screens {
		d := screen()
		d.m.st = noColors(rendererIn(termenv.ANSI))
		seen := d.m.View()
		if name == "number" || name == "start" || name == "describe-new" || name == "desk" {
			assert.Regexp(t, `\x1b\[[17]`, seen, name)
		}
		assert.NotRegexp(t, `\x1b\[[0-9;]*[34][0-9]`, seen, name)
	}
}

// luminance of an sRGB colour, and the contrast of two: WCAG 2.2, "relative
// luminance" and "contrast ratio".
func luminance(rgb [3]float64) float64 {
	var l float64
	for i, c := range rgb {
		c /= 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		l += c * []float64{0.2126, 0.7152, 0.0722}[i]
	}
	return l
}

func contrast(a, b [3]float64) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// rgb is what a colour of a profile looks like: of 256 as xterm's cube and greys have it.
func rgb(t *testing.T, c lipgloss.CompleteColor, p termenv.Profile, sixteen [16][3]float64) [3]float64 {
	t.Helper()
	hex := func(text string) (v [3]float64) {
		for i := range v {
			n, err := strconv.ParseUint(text[1+2*i:3+2*i], 16, 8)
			require.NoError(t, err)
			v[i] = float64(n)
		}
		return v
	}
	switch p {
	case termenv.TrueColor:
		return hex(c.TrueColor)
	case termenv.ANSI256:
		n, err := strconv.Atoi(c.ANSI256)
		require.NoError(t, err)
		return hex(termenv.ConvertToRGB(termenv.ANSI256Color(n)).Hex())
	default:
		n, err := strconv.Atoi(c.ANSI)
		require.NoError(t, err)
		return sixteen[n]
	}
}

// Every colour can be read on the ground of its theme: 4.5 to one is what WCAG 2.2 wants of
// text (1.4.3). The palettes of 16 are those of common terminals, from memory.
func TestColoursCanBeRead(t *testing.T) {
	black, white := [3]float64{}, [3]float64{255, 255, 255}
	assert.InDelta(t, 21, contrast(black, white), 1e-9, "the standard's greatest ratio")
	sixteens := map[string][16][3]float64{
		"xterm":           {1: {205, 0, 0}, 4: {0, 0, 238}, 5: {205, 0, 205}, 9: {255, 0, 0}, 10: {0, 255, 0}, 11: {255, 255, 0}, 14: {0, 255, 255}, 15: {255, 255, 255}},
		"Windows console": {0: {12, 12, 12}, 1: {197, 15, 31}, 4: {0, 55, 218}, 5: {136, 23, 152}, 9: {231, 72, 86}, 10: {22, 198, 12}, 11: {249, 241, 165}, 14: {97, 214, 214}, 15: {242, 242, 242}},
	}
	for theme, p := range palettes {
		for profile, name := range map[termenv.Profile]string{termenv.TrueColor: "true colour", termenv.ANSI256: "256", termenv.ANSI: "16"} {
			for of, sixteen := range sixteens {
				look := func(c lipgloss.CompleteColor) [3]float64 { return rgb(t, c, profile, sixteen) }
				inks := []lipgloss.CompleteColor{p.ink}
				if theme != Sunlight {
					inks = append(inks, p.healthy, p.doubt, p.fault, p.accent)
					assert.GreaterOrEqual(t, contrast(look(whiteInk), look(p.danger)), 4.5, "%s, %s, %s: danger", theme, name, of)
				}
				for i, ink := range inks {
					assert.GreaterOrEqual(t, contrast(look(ink), look(p.ground)), 4.5, "%s, %s, %s: ink %d", theme, name, of, i)
				}
			}
		}
	}
}

// No colour but those of the palette of its theme is on any screen.
func TestOnlyThePalette(t *testing.T) {
	codes := regexp.MustCompile(`\x1b\[([0-9;]*)m`)
	for _, theme := range themes {
		p := palettes[theme]
		known := map[string]bool{"": true, "0": true, "1": true, "4": true, "7": true}
		for _, c := range []lipgloss.CompleteColor{p.ink, p.ground, p.healthy, p.doubt, p.fault, p.accent, p.danger, whiteInk} {
			if c.ANSI256 != "" {
				known["38;5;"+c.ANSI256], known["48;5;"+c.ANSI256] = true, true
			}
		}
		for name, screen := range screens {
			d := screen()
			d.m.st = newStyles(rendererIn(termenv.ANSI256), theme)
			for _, m := range codes.FindAllStringSubmatch(d.m.View(), -1) {
				rest := regexp.MustCompile(`[34]8;5;[0-9]+`).ReplaceAllStringFunc(m[1], func(c string) string {
					assert.True(t, known[c], "%s: %s", name, c)
					return ""
				})
				for _, c := range strings.Split(rest, ";") {
					assert.True(t, known[c], "%s: %s", name, m[1])
				}
			}
		}
	}
}

func TestSignsOf(t *testing.T) {
	tests := []struct {
		name string
		env  map[string]string
		os   string
		want Signs
	}{
		{"nothing known", nil, "linux", ASCII},
		{"a POSIX locale", map[string]string{"LANG": "C", "TERM": "xterm"}, "linux", ASCII},
		{"UTF-8", map[string]string{"LANG": "en_GB.UTF-8", "TERM": "tmux-256color"}, "linux", Braille},
		{"written otherwise", map[string]string{"LC_CTYPE": "C.utf8"}, "linux", Braille},
		{"the first of the three that is set counts", map[string]string{"LC_ALL": "C", "LANG": "en_GB.UTF-8"}, "linux", ASCII},
		{"Linux console", map[string]string{"LANG": "en_GB.UTF-8", "TERM": "linux"}, "linux", Boxes},
		{"Windows console", nil, "windows", Boxes},
		{"Windows terminal", map[string]string{"WT_SESSION": "1"}, "windows", Braille},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, SignsOf(func(name string) string { return tt.env[name] }, tt.os))
		})
	}
}

// Terminals whose names say nothing of colours have some all the same.
func TestEightColors(t *testing.T) {
	for name, want := range map[string]bool{"screen": true, "tmux-direct": true, "rxvt": true, "vt100": false, "dumb": false, "": false, "stone": false} {
		env := map[string]string{"TERM": name}
		assert.Equal(t, want, EightColors(func(key string) string { return env[key] }), name)
		env["NO_COLOR"] = "1"
		assert.False(t, EightColors(func(key string) string { return env[key] }), name)
	}
}

// Where the terminal has ASCII only, nothing else is drawn.
func TestASCII(t *testing.T) {
	for name, screen := range screens {
		for _, s := range sizes {
			d := screen()
			d.m.opt.Signs = ASCII
			d.size(s.w, s.h)
			for _, r := range d.m.View() {
				if r > 126 && r != '±' && r != '°' && r != 'Ω' && r != 'µ' {
					t.Fatalf("%s: %q", name, string(r))
				}
			}
		}
	}
}
