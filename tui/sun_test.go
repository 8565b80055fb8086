package tui

import (
	"math"
	"regexp"
	"testing"

	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSunlightIsChosenWithOneKeyAndRemembered(t *testing.T) {
	var kept []bool
	opt := options()
	opt.Remember = func(on bool) error { kept = append(kept, on); return nil }
	d := visitUnderWay(answered(3), opt).press("13")
	d.m.renderer = rendererIn(termenv.ANSI)
	d.press("f12")
	assert.Equal(t, sunlight, d.m.theme)
	assert.True(t, showing(d, "Theme for bright sun: on"))
	assert.Contains(t, d.m.View(), "\x1b[1;30;107m", "bold black on bright white: ECMA-48 and the usual 100 to 107")
	d.press("f12")
	assert.Equal(t, []bool{true, false}, kept)
	assert.True(t, showing(d, "> 13_"), "what is typed stays")

	opt.Remember = func(bool) error { return errDisk }
	d = visitUnderWay(answered(3), opt).press("f12")
	assert.True(t, showing(d, "could not be saved: no space"), d.m.View())
	assert.Equal(t, sunlight, d.m.theme, "it is chosen all the same")
	d.press("1")
	assert.False(t, showing(d, "could not be saved"))

	opt.Sunlight = true
	assert.Equal(t, sunlight, drive(nil, opt).m.theme, "it begins as it was left")
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

// The colours in use can be read on a dark and on a light ground. The palettes
// are those of common terminals, from memory; 3 is what WCAG 2.2 wants of large
// or bold text (1.4.3).
func TestColoursOnDarkAndLight(t *testing.T) {
	palettes := map[string][8][3]float64{
		"xterm":           {1: {205, 0, 0}, 5: {205, 0, 205}},
		"Windows console": {1: {197, 15, 31}, 5: {136, 23, 152}},
	}
	black, white := [3]float64{}, [3]float64{255, 255, 255}
	assert.InDelta(t, 21, contrast(black, white), 1e-9, "the standard's greatest ratio")
	used := regexp.MustCompile(`\x1b\[(?:[0-9;]*;)?3([0-7])m`)
	seen := map[string]bool{}
	for name, screen := range screens {
		d := screen()
		d.m.st = stylesIn(termenv.ANSI)
		for _, m := range used.FindAllStringSubmatch(d.m.View(), -1) {
			seen[m[1]] = true
			assert.Contains(t, []string{"1", "5"}, m[1], name)
		}
	}
	require.Len(t, seen, 2)
	least := 3.0
	assert.Greater(t, contrast(palettes["xterm"][1], black), least)
	assert.Greater(t, contrast(palettes["xterm"][5], black), least)
	for name, p := range palettes {
		assert.Greater(t, contrast(p[1], white), least, name)
		assert.Greater(t, contrast(p[5], white), least, name)
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
