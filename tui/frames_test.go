package tui

import (
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/site"
)

func rendererIn(p termenv.Profile) *lipgloss.Renderer {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(p)
	return r
}

func stylesIn(p termenv.Profile) styles { return newStyles(rendererIn(p), Dark) }

// sizes are the sizes the screens are designed for.
var sizes = []size{{60, 20}, {80, 24}, {140, 45}}

type size struct{ w, h int }

// isolated is the state of a demo site visit with the array switched off.
func isolated() procedure.State {
	p := procedure.For(site.Demo())
	for _, s := range p.Steps {
		for _, f := range s.Sets {
			if f == procedure.ArrayIsolated && s.Kind == procedure.Act {
				return p.Apply(procedure.State{}, procedure.Outcome{Step: s.ID, Kind: procedure.Done})
			}
		}
	}
	panic("no step isolates the array of the demo site")
}

// screens are all screens in a state worth a picture.
var screens = map[string]func() *driver{
	"start": func() *driver {
		d := drive(nil, options())
		d.run(d.m.Init())
		return d
	},
	"start-problem": func() *driver { return drive(nil, options()).press("enter") },
	"problems":      func() *driver { return drive(nil, options()).press("3", "enter") },
	"path":          func() *driver { return drive(nil, options()).press("6", "enter", "sites/clinic.site.toml") },
	"who":           func() *driver { return drive(nil, options()).press("2", "enter", "enter", "Ada") },
	"who-problem":   func() *driver { return drive(nil, options()).press("2", "enter", "enter", "Ada", "enter") },
	"confirm":       func() *driver { return visitUnderWay(newScript(), options()) },
	"words":         func() *driver { return visitUnderWay(answered(1), options()).press("down", "down") },
	"choose":        func() *driver { return visitUnderWay(answered(2), options()).press("1", "3") },
	"number":        func() *driver { return visitUnderWay(answered(3), options()).press("13,1") },
	"clamp":         func() *driver { return visitUnderWay(answered(4), options()) },
	"act":           func() *driver { return visitUnderWay(answered(5), options()) },
	"invalid":       func() *driver { return visitUnderWay(answered(3), options()).press("1k2", "enter") },
	"doubtful":      func() *driver { return visitUnderWay(answered(3), options()).press("131", "enter") },
	"actions":       func() *driver { return visitUnderWay(answered(3), options()).press("down", "right", "right") },
	"again":         func() *driver { return visitUnderWay(answered(4), options()).press("esc") },
	"working": func() *driver {
		d := visitUnderWay(answered(3), options())
		d.hold = true
		return d.press("0.02", "enter")
	},
	"not-inferred": func() *driver {
		v := answered(3)
		opt := options()
		opt.Infer = func(belief.Input) (*belief.Result, error) { return nil, errors.New("no state fits the site") }
		return visitUnderWay(v, opt)
	},
	"cannot":  func() *driver { return visitUnderWay(answered(3), options()).press("f2", "down") },
	"stop":    func() *driver { return visitUnderWay(answered(3), options()).press("f8") },
	"note":    func() *driver { return visitUnderWay(answered(3), options()).press("f3", "cover is cracked") },
	"why":     func() *driver { return visitUnderWay(answered(4), options()).press("f4") },
	"answers": func() *driver { return visitUnderWay(answered(5), options()).press("f5", "up", "up") },
	"more":    func() *driver { return visitUnderWay(answered(3), options()).press("f6") },
	"what-if": func() *driver { return visitUnderWay(answered(3), options()).press("f4", "18,9", "enter") },
	"repeat":  func() *driver { return visitUnderWay(answered(4), options()).press("f7") },
	"wiring":  func() *driver { return visitUnderWay(answered(3), options()).press("f9") },
	"noted": func() *driver {
		v := answered(3)
		v.notes = []visiting.Answer{{Step: "array_v", Kind: visiting.Note, Reason: "cover is cracked", At: noon}}
		return visitUnderWay(v, options()).press("f5")
	},
	"help":     func() *driver { return visitUnderWay(answered(3), options()).press("?") },
	"standard": func() *driver { return visitUnderWay(answered(3), options()).press("?", "right") },
	"leave": func() *driver {
		v := answered(3)
		v.state = isolated()
		return visitUnderWay(v, options()).press("f10")
	},
	"resumed": func() *driver {
		v := answered(3)
		v.state = isolated()
		return visitUnderWay(v, options())
	},
	"summary": func() *driver { return visitUnderWay(answered(6), options()) },
}

func TestFrames(t *testing.T) {
	for name, screen := range screens {
		t.Run(name, func(t *testing.T) {
			var out strings.Builder
			for _, s := range sizes {
				d := screen()
				d.size(s.w, s.h)
				fmt.Fprintf(&out, "%d x %d\n%s\n\n", s.w, s.h, d.m.View())
			}
			golden.RequireEqual(t, []byte(out.String()))
		})
	}
}

// moments are the twelve that are looked at in colour, with what the file of each is for.
var moments = []string{
	"number", "clamp", "doubtful", "choose", "confirm", "leave", "why", "summary", "start", "describe-new", "desk", "practice",
}

// looks are the four settings of colour.
var looks = []struct {
	name string
	st   func() styles
}{
	{"16 colours, dark", func() styles { return newStyles(rendererIn(termenv.ANSI), Dark) }},
	{"no colour", func() styles { return noColors(rendererIn(termenv.ANSI)) }},
	{"256 colours, light", func() styles { return newStyles(rendererIn(termenv.ANSI256), Light) }},
	{"true colour, bright sun", func() styles { return newStyles(rendererIn(termenv.TrueColor), Sunlight) }},
}

// The twelve moments in four sizes and four settings of colour. Escape codes are written as
// numbers with a key, so that a difference can be read and the files stay small: whole at
// the design size, elsewhere the first setting whole and a sum of each other.
func TestMomentsInColour(t *testing.T) {
	for _, name := range moments {
		t.Run(name, func(t *testing.T) {
			var out strings.Builder
			for _, s := range []size{{80, 24}, {60, 20}, {140, 45}, {200, 60}} {
				for i, look := range looks {
					d := screens[name]().size(s.w, s.h)
					d.m.st = look.st()
					frame := d.m.View()
					if fmt.Fprintf(&out, "%s, %d x %d", look.name, s.w, s.h); i > 0 && s.w != firstW {
						fmt.Fprintf(&out, ": %08x\n", crc32.ChecksumIEEE([]byte(frame)))
						continue
					}
					out.WriteString("\n" + keyed(frame) + "\n\n")
				}
			}
			golden.RequireEqual(t, []byte(out.String()))
		})
	}
}

var escape = regexp.MustCompile(`\x1b\[([0-9;]*)m`)

// keyed is a frame with <1> for the first code in it and so on, and what they stand for.
func keyed(frame string) string {
	var codes []string
	text := escape.ReplaceAllStringFunc(frame, func(code string) string {
		i := slices.Index(codes, code)
		if i < 0 {
			i = len(codes)
			codes = append(codes, code)
		}
		return fmt.Sprintf("<%d>", i+1)
	})
	for i, code := range codes {
		codes[i] = fmt.Sprintf("<%d> = %s", i+1, escape.FindStringSubmatch(code)[1])
	}
	return trimmed(text) + "\n" + strings.Join(codes, ", ")
}

// Without colour nothing may be lost but colour: the words are the same, in
// either theme and in as many colours as there are.
func TestColourCarriesNothing(t *testing.T) {
	for name, screen := range screens {
		t.Run(name, func(t *testing.T) {
			d := screen()
			plain := d.m.View()
			assert.Equal(t, plain, ansi.Strip(plain), "no escape sequence without colour")
			d.m.st = newStyles(rendererIn(termenv.Ascii), Sunlight)
			assert.Equal(t, plain, d.m.View(), "nor in the theme for bright sun")
			for _, p := range []termenv.Profile{termenv.ANSI, termenv.ANSI256, termenv.TrueColor} {
				for _, look := range themes {
					d.m.st = newStyles(rendererIn(p), look)
					assert.Equal(t, trimmed(plain), trimmed(ansi.Strip(d.m.View())))
				}
			}
		})
	}
}

// trimmed is a frame without the blanks at the ends of its lines.
func trimmed(frame string) string {
	lines := strings.Split(frame, "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n")
}

// In every theme each cell of the window has its ground.
func TestThemesCoverTheWindow(t *testing.T) {
	for _, look := range themes {
		for name, screen := range screens {
			d := screen()
			d.m.st = newStyles(rendererIn(termenv.ANSI256), look)
			for line := range strings.SplitSeq(d.m.View(), "\n") {
				require.Equal(t, firstW, ansi.StringWidth(line), name)
				for i, piece := range strings.Split(line, resetAll) {
					require.True(t, piece == "" || strings.HasPrefix(piece, d.m.st.base), "%s, piece %d of %q", name, i, line)
				}
			}
		}
	}
}

func TestFramesFitEveryWindow(t *testing.T) {
	for name, screen := range screens {
		t.Run(name, func(t *testing.T) {
			d := screen()
			rapid.Check(t, func(t *rapid.T) {
				w, h := rapid.IntRange(1, 200).Draw(t, "columns"), rapid.IntRange(1, 70).Draw(t, "rows")
				d.size(w, h)
				lines := strings.Split(d.m.View(), "\n")
				if len(lines) > h {
					t.Fatalf("%d rows in a window of %d", len(lines), h)
				}
				for _, l := range lines {
					if got := ansi.StringWidth(l); got > w {
						t.Fatalf("%d columns in a window of %d: %q", got, w, l)
					}
				}
			})
		})
	}
}

// The question, its caution and its answer are visible in every window that is
// not refused.
func TestQuestionIsNeverFolded(t *testing.T) {
	d := visitUnderWay(answered(3), options()).press("13,1")
	rapid.Check(t, func(t *rapid.T) {
		d.size(rapid.IntRange(leastW, 200).Draw(t, "columns"), rapid.IntRange(leastH, 70).Draw(t, "rows"))
		frame := d.m.View()
		for _, part := range []string{"[probe]", "Voltage at the array terminals", "Caution", "DC volts, 200 V range", "Red on array plus", "12.60 to 20.90 V", "> 13,1_", "Leave"} {
			if !strings.Contains(frame, part) {
				t.Fatalf("%q is missing in\n%s", part, frame)
			}
		}
	})
}

// Before anything is measured the screen tells no belief: it would be what is common.
func TestNoBeliefBeforeAnythingIsMeasured(t *testing.T) {
	for _, width := range []int{60, 80, 140} {
		v := answered(3)
		require.NotNil(t, v.latest)
		assert.Contains(t, visitUnderWay(v, options()).size(width, 24).m.View(), "61 %")
		v.measured = false
		seen := visitUnderWay(v, options()).size(width, 24).m.View()
		assert.NotContains(t, seen, "61 %")
		assert.Contains(t, seen, "Nothing has been measured yet.")
	}
}

// A text longer than the window is cut and says where the rest is; the answer
// and the leading condition are not.
func TestLongTextGivesWayToTheAnswer(t *testing.T) {
	v := answered(3)
	v.steps[3].Step.Do = strings.Repeat("Look at it again and again. ", 60) + "The last word."
	d := visitUnderWay(v, options()).size(60, 20)
	for _, part := range []string{"> _", "... f6 shows the rest", "61 %", "Leave"} {
		assert.Contains(t, d.m.View(), part)
	}
	d.press("f6")
	for range 100 {
		if showing(d, "The last word.") {
			return
		}
		d.press("down")
	}
	t.Fatal("the rest cannot be reached")
}

func TestTooSmall(t *testing.T) {
	d := visitUnderWay(answered(3), options()).press("13,1")
	d.size(59, 24)
	assert.Contains(t, strings.ReplaceAll(d.m.View(), "\n", " "), "The screens need 60 and 20")
	d.press("7") // goes nowhere while nothing can be read
	d.size(80, 24)
	assert.Contains(t, d.m.View(), "> 13,1_")

	d = drive(nil, options()).size(50, 10)
	assert.Contains(t, d.m.View(), "--plain", "no visit is open that could go on")
	d.press("enter")
	assert.False(t, d.quit)
}

// A small window leads on to the visit line by line.
func TestTooSmallLeadsToTheLines(t *testing.T) {
	opt := realVisits(&inMemory{})
	d := drive(nil, opt).press("4", "enter", "enter", "enter")
	require.NotNil(t, d.m.visit)
	d.size(50, 10)
	assert.Contains(t, strings.ReplaceAll(d.m.View(), "\n", " "), "press enter to continue line by line")
	d.press("enter")
	assert.True(t, d.quit)
	assert.True(t, d.m.byLine)
}

// Text from files and people is drawn without what commands a terminal.
func TestNothingCommandsTheTerminal(t *testing.T) {
	v := newScript()
	v.steps[0].Step.Title = "Peo\x1b[2Jple\a"
	v.steps[0].Step.Do = "Look\x1b]0;title\x07 around\r\n\x9b31m."
	opt := options()
	opt.Sites = func() []SiteFile {
		return []SiteFile{{Name: "evil\x1b[31m", Path: "a\nb.site.toml"}, {Path: "x", Problem: errors.New("bad \x1b[5m value\x07")}}
	}
	for _, d := range []*driver{visitUnderWay(v, opt), drive(nil, opt), drive(nil, opt).press("3", "enter")} {
		assert.NotRegexp(t, `[\x00-\x09\x0b-\x1f\x7f\x{80}-\x{9f}]`, d.m.View())
	}
}

// Wide and combining characters keep the columns straight.
func TestWideCharacters(t *testing.T) {
	v := answered(3)
	v.steps[1].Step.Title = "空の様子 e\u0301tat"
	d := visitUnderWay(v, options()).press("f5")
	for _, s := range sizes {
		d.size(s.w, s.h)
		for line := range strings.SplitSeq(d.m.View(), "\n") {
			assert.LessOrEqual(t, ansi.StringWidth(line), s.w)
			if strings.Contains(line, "clear") {
				assert.Equal(t, column0(t, d.m.View(), "yes"), ansi.StringWidth(line[:strings.Index(line, "clear")]))
			}
		}
	}
}

// column0 is the column in which text stands.
func column0(t *testing.T, frame, text string) int {
	for line := range strings.SplitSeq(frame, "\n") {
		if i := strings.Index(line, text); i >= 0 {
			return ansi.StringWidth(line[:i])
		}
	}
	t.Fatalf("%q not found", text)
	return 0
}
