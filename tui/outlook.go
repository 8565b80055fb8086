package tui

import (
	_ "embed"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/inference/outlook"
)

//go:embed outlook.toml
var outlookFile []byte

type outlookWords struct {
	Title, Working, Failed, Day, Legend, Try, Without string
}

var wordsOfOutlook = sync.OnceValue(func() outlookWords {
	return datafile.Read[outlookWords]("tui/outlook.toml", outlookFile)
})

// outlookScreen says how much power there is and until when, with the day as a band by
// hours. Loads can be taken out to see what changes.
type outlookScreen struct {
	over
	page    page
	found   *outlook.Outlook
	problem error
	asked   int    // outlooks asked for so far
	loads   []bool // taken out, by their place at the site
}

// outlookMsg brings the nth outlook that was asked for.
type outlookMsg struct {
	n      int
	found  *outlook.Outlook
	failed error
}

// newOutlook shows an outlook that was found already; nil has it worked out.
func newOutlook(e env, below screen, found *outlook.Outlook) (screen, tea.Cmd) {
	s := outlookScreen{over: over{below}, page: newPage(), found: found}
	s.loads = make([]bool, len(s.visit().v.Site().Loads))
	if found != nil {
		return s, nil
	}
	return s.ask(e)
}

// ask has the outlook worked out without the loads that are taken out.
func (s outlookScreen) ask(e env) (screen, tea.Cmd) {
	s.asked++
	n, in, look, change := s.asked, s.visit().v.Input(), e.opt.Outlook, outlook.Change{Without: s.without()}
	return s, func() tea.Msg {
		found, err := look(in, change)
		return outlookMsg{n, found, err}
	}
}

func (s outlookScreen) without() (labels []string) {
	for i, l := range s.visit().v.Site().Loads {
		if s.loads[i] {
			labels = append(labels, l.Label)
		}
	}
	return labels
}

func (s outlookScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	if m, ok := msg.(outlookMsg); ok {
		if m.n == s.asked {
			s.found, s.problem = m.found, m.failed
		}
		return s, nil
	}
	return updateOver(s, e, msg)
}

func (s outlookScreen) onto(below screen) screen { s.below = below; return s }

func (s outlookScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	if key.Matches(k, keys.Enter) {
		return s.below, nil
	}
	if i := slices.Index([]string{"1", "2", "3", "4", "5", "6", "7", "8", "9"}, k.String()); i >= 0 && i < len(s.loads) {
		s.loads = slices.Clone(s.loads)
		s.loads[i] = !s.loads[i]
		return s.ask(e)
	}
	s.page = s.page.update(k, s.lines(e), e.w, s.room(e))
	return s, nil
}

func (s outlookScreen) view(e env) []string {
	head := s.head(e)
	return append(head, s.page.view(e.st, s.lines(e), e.w, s.room(e))...)
}

func (s outlookScreen) room(e env) int { return max(1, e.h-len(s.head(e))) }

// head is the title and the band of the day, which stay while the text scrolls.
func (s outlookScreen) head(e env) []string {
	w := wordsOfOutlook()
	lines := ruled(e, w.Title, s.visit().v.Head().SiteName)
	switch {
	case s.problem != nil:
		return append(lines, problem(e.st, fmt.Sprintf(w.Failed, s.problem), e.w)...)
	case s.found == nil:
		return append(lines, "", e.st.title.Render(w.Working))
	}
	if out := s.without(); out != nil {
		lines = append(lines, wrap(fmt.Sprintf(w.Without, strings.Join(out, ", ")), e.w)...)
	}
	return append(lines, s.band(e)...)
}

// minBandRows is the height from which the band has room beside the text.
const minBandRows = 12

// band draws each load through 24 hours.
func (s outlookScreen) band(e env) []string {
	day := s.found.Day
	if len(day.Loads) == 0 || e.h < minBandRows {
		return nil
	}
	w, signs := wordsOfOutlook(), bandSigns[e.signs != ASCII]
	const nameW, hourW = 18, 2
	wide := 1
	if e.w >= nameW+24*hourW+2 {
		wide = hourW
	}
	scale := []byte(strings.Repeat(" ", nameW+24*wide+1))
	for h := range 24 {
		if at := (day.From.Hour() + h) % 24; at%3 == 0 && (wide > 1 || at%6 == 0) {
			copy(scale[nameW+h*wide:], strconv.Itoa(at))
		}
	}
	lines := []string{e.st.label.Render(cut(w.Day, e.w)), e.st.quiet.Render(cut(string(scale), e.w))}
	for i, l := range day.Loads {
		if i >= max(3, e.h/3) {
			break
		}
		row := pad(cut(plaintext.Clean(s.number(l.Label)+l.Label), nameW-1), nameW)
		for _, source := range l.Hours {
			row += strings.Repeat(signs[source], wide)
		}
		lines = append(lines, row)
	}
	legend := fmt.Sprintf(w.Legend, signs[outlook.FromArray], signs[outlook.FromBattery], signs[outlook.NotToday])
	return append(lines, e.st.quiet.Render(cut(legend, e.w)), e.st.quiet.Render(cut(w.Try, e.w)), "")
}

// number is what is typed to take a load out.
func (s outlookScreen) number(label string) string {
	for i, l := range s.visit().v.Site().Loads {
		if l.Label == label && i < 9 {
			return fmt.Sprintf("%d ", i+1)
		}
	}
	return ""
}

// bandSigns are those of a terminal with blocks, and of one with letters only.
var bandSigns = map[bool]map[outlook.Source]string{
	true:  {outlook.FromArray: "█", outlook.FromBattery: "▒", outlook.NotToday: "·"},
	false: {outlook.FromArray: "#", outlook.FromBattery: "=", outlook.NotToday: "."},
}

// lines are the texts below the band, those of `ampwalk outlook`.
func (s outlookScreen) lines(e env) []string {
	if s.found == nil {
		return nil
	}
	return wrapAll(summary.OfOutlook(s.visit().v.Site(), s.found).TextIn(min(e.w, document.Width)), e.w)
}

// loadKey names the digits that take a load out.
var loadKey = bind("1", "take-load-out", "1")

func (outlookScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "back"), as(keys.Arrows, "scroll"), loadKey, keys.Help, as(keys.Leave, "leave")}
}
