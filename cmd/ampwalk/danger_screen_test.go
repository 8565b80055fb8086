package main

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/tui"
)

// A window is the full screen without a terminal: keys go in, frames come out, and the
// belief is worked out when the test lets it.
type window struct {
	t       *testing.T
	screens tea.Model
	pending []tea.Cmd
	ended   bool
}

// sizes are the usual window, in which the scenes are played, and the smallest one.
var sizes = []tea.WindowSizeMsg{{Width: 80, Height: 24}, {Width: 60, Height: 20}}

// summaryMark stands for the summary of a scene.
const summaryMark = "the summary of the scene"

// onScreen plays a visit on the full screen.
func onScreen(t *testing.T, p *player, now func() time.Time) (done bool) {
	t.Helper()
	w := &window{t: t, screens: tui.Screens(tui.Options{
		Visit: p.visit, Infer: inferOnce, Now: now, Signs: tui.Boxes,
		Summary: func(*visiting.Visit, int, *outlook.Outlook) string { return summaryMark },
		Sites:   func() []tui.SiteFile { return nil },
	})}
	w.send(sizes[0])
	w.pending = append(w.pending, w.screens.Init())
	w.settle()
	for !p.visit.Done() {
		prompt := p.visit.Prompt()
		typed, ok := p.types(prompt.Step)
		w.shows(prompt)
		if !ok {
			w.leave(p)
			return p.visit.Done()
		}
		w.answer(prompt, typed)
		// A key too many while the belief is worked out answers nothing.
		answered := len(p.visit.History())
		if len(w.pending) > 0 {
			w.press(tea.KeyEnter)
		}
		require.Len(t, p.visit.History(), answered)
		w.settle()
	}
	require.Contains(t, w.frame(), summaryMark)
	w.write("q")
	w.settle()
	require.True(t, w.ended)
	return true
}

func (w *window) send(msg tea.Msg) {
	next, cmd := w.screens.Update(msg)
	w.screens = next
	if cmd != nil {
		w.pending = append(w.pending, cmd)
	}
}

// settle runs the commands until nothing is worked out any more.
func (w *window) settle() {
	for len(w.pending) > 0 {
		cmd := w.pending[0]
		w.pending = w.pending[1:]
		if cmd == nil {
			continue
		}
		switch msg := cmd().(type) {
		case tea.BatchMsg:
			w.pending = append(w.pending, msg...)
		case tea.QuitMsg:
			w.ended = true
		default:
			w.send(msg)
		}
	}
}

func (w *window) press(keys ...tea.KeyType) {
	for _, k := range keys {
		w.send(tea.KeyMsg{Type: k})
	}
}

// write types a text letter by letter.
func (w *window) write(text string) {
	for _, r := range text {
		w.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
	}
}

// frame is what the window shows, its lines put together.
func (w *window) frame() string { return flat(w.screens.View()) }

func flat(text string) string { return strings.Join(strings.Fields(text), " ") }

// shows requires that the screen asks what the visit does; the card of a danger is
// seen whole, in the smallest window too.
func (w *window) shows(p visiting.Prompt) {
	w.t.Helper()
	require.Contains(w.t, w.frame(), flat(p.Step.Title), p.Step.ID)
	if p.Step.ID == "emergency" {
		w.atEverySize(p.Step.Title, p.Step.Do)
	}
}

// atEverySize requires that the texts stand in the window at once, whatever its size.
func (w *window) atEverySize(texts ...string) {
	w.t.Helper()
	for _, size := range sizes {
		w.send(size)
		for _, text := range texts {
			assert.Contains(w.t, w.frame(), flat(text), "%d x %d:\n%s", size.Width, size.Height, w.screens.View())
		}
	}
	w.send(sizes[0])
}

// answer presses the keys for what is typed line by line.
func (w *window) answer(p visiting.Prompt, typed string) {
	w.t.Helper()
	word, rest, _ := strings.Cut(typed, " ")
	list := slices.Concat(p.Step.Checks, p.Step.Choices).Texts()
	if c, ok := p.Step.Choices.With(typed); ok && p.Step.Kind == procedure.Take {
		typed = c.Text // a readings file has the id
	}
	switch {
	case typed == sure:
		// Enter keeps what is doubted.
	case word == "cannot":
		w.press(tea.KeyF2)
		w.write(rest)
	case word == "stop": // for the first of the reasons: none is typed on the screen
		w.press(tea.KeyF8)
	case p.Step.Kind == procedure.Choose, len(p.Step.Checks) > 0:
		w.mark(list, typed)
	case len(list) > 0:
		w.choose(list, typed)
	case p.Step.Kind == procedure.Act:
		// Enter says that it is done.
	case p.Step.Kind == procedure.Confirm:
		w.choose([]string{"yes", "no"}, typed)
	default:
		w.write(typed)
	}
	w.press(tea.KeyEnter)
}

// choose goes to one line of a list, by its number or the beginning of its text.
func (w *window) choose(list []string, typed string) {
	w.t.Helper()
	n, err := strconv.Atoi(typed)
	if err != nil {
		n = 1 + slices.IndexFunc(list, func(s string) bool { return strings.HasPrefix(s, typed) })
	}
	require.True(w.t, n >= 1 && n <= min(9, len(list)), "%q of %q", typed, list)
	w.write(strconv.Itoa(n))
}

// mark marks lines of a list and goes to the one that ends the choosing.
func (w *window) mark(list []string, typed string) {
	switch typed {
	case "all":
		for range list {
			w.press(tea.KeySpace, tea.KeyDown)
		}
	case "none":
		for range list {
			w.press(tea.KeyDown)
		}
	default:
		w.write(strings.ReplaceAll(typed, " ", ""))
	}
}

// leave goes away in the middle of the visit. Where a danger is not made safe, its
// card is seen before.
func (w *window) leave(p *player) {
	w.t.Helper()
	w.press(tea.KeyF10)
	w.settle()
	if d, ok := p.visit.Procedure().Unsafe(p.visit.State()); ok {
		require.False(w.t, w.ended)
		w.atEverySize(append([]string{d.Title}, d.Card...)...)
	}
	if !w.ended {
		w.press(tea.KeyF10)
		w.settle()
	}
	require.True(w.t, w.ended)
}
