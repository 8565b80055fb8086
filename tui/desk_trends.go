package tui

import (
	"fmt"
	"strings"
	"time"

	"github.com/NimbleMarkets/ntcharts/canvas"
	"github.com/NimbleMarkets/ntcharts/linechart"
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/ledger"
)

// trendsScreen draws how a site's readings went from visit to visit.
type trendsScreen struct {
	over
	list    []desk.Trend
	loading bool
	problem string
	page    page
}

// trendsMsg brings them.
type trendsMsg struct {
	list []desk.Trend
	err  error
}

func newTrends(below deskVisitScreen) (screen, tea.Cmd) {
	w, row := below.work, below.v.Row
	return trendsScreen{over: over{below}, loading: true, page: newPage()}, func() tea.Msg {
		list, err := w.Desk.Trends(w.Context, row)
		return trendsMsg{list, err}
	}
}

func (s trendsScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	if m, ok := msg.(trendsMsg); ok {
		s.loading, s.list = false, m.list
		if m.err != nil {
			s.problem = m.err.Error()
		}
		return s, nil
	}
	return updateOver(s, e, msg)
}

func (s trendsScreen) onto(below screen) screen { s.below = below; return s }

func (s trendsScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	s.page = s.page.update(k, s.lines(e), e.w, e.h-3)
	return s, nil
}

func (s trendsScreen) view(e env) []string {
	return append(ruled(e, deskWords().Trends.Title, ""), s.page.view(e.st, s.lines(e), e.w, e.h-3)...)
}

func (s trendsScreen) lines(e env) (lines []string) {
	switch {
	case s.loading || s.problem != "":
		return progress(e, s.loading, s.problem)
	case len(s.list) == 0:
		return []string{deskWords().Trends.None}
	}
	for _, t := range s.list {
		lines = append(lines, e.st.label.Render(cut(t.Quantity.Title()+" ["+t.Quantity.Unit()+"]", e.w)))
		lines = append(lines, trendChart(e, t, e.w)...)
		lines = append(lines, wrap(t.Text(), e.w)...)
		lines = append(lines, "")
	}
	return lines
}

// trendH is the height of a drawn trend [rows].
const trendH = 8

// trendChart draws a trend over the days since its first visit; one point is told
// in words only.
func trendChart(e env, t desk.Trend, w int) []string {
	n := len(t.Points)
	if n < 2 {
		return nil
	}
	first := t.Points[0].At
	day := func(p desk.Point) float64 { return p.At.Sub(first).Hours() / 24 }
	low, high := t.Points[0].Value, t.Points[0].Value
	for _, p := range t.Points {
		low, high = min(low, p.Value), max(high, p.Value)
	}
	margin := max(0.1*(high-low), 1e-3*max(high, -low), 1e-9)
	low, high = low-margin, high+margin
	last := max(day(t.Points[n-1]), 1)
	chart := linechart.New(min(w, mostCurveW), trendH, 0, last, low, high,
		linechart.WithXYSteps(24, 3),
		linechart.WithXLabelFormatter(func(_ int, x float64) string {
			return first.Add(time.Duration(x * 24 * float64(time.Hour))).Format("2006-01")
		}),
		linechart.WithYLabelFormatter(func(_ int, y float64) string { return fmt.Sprintf("%.4g", y) }))
	chart.DrawXYAxisAndLabel()
	at := func(p desk.Point) canvas.Float64Point { return canvas.Float64Point{X: day(p), Y: p.Value} }
	for i := range n - 1 {
		if e.signs == Braille {
			chart.DrawBrailleLine(at(t.Points[i]), at(t.Points[i+1]))
		} else {
			chart.DrawRuneLine(at(t.Points[i]), at(t.Points[i+1]), '*')
		}
	}
	var lines []string
	for line := range strings.SplitSeq(chart.View(), "\n") {
		line = strings.TrimRight(line, " ")
		if e.signs == ASCII {
			line = strings.NewReplacer("│", "|", "─", "-", "└", "+").Replace(line)
		}
		lines = append(lines, line)
	}
	return lines
}

func (trendsScreen) help() []key.Binding {
	return []key.Binding{as(keys.Back, "to-visit"), as(keys.Arrows, "scroll"), keys.Help}
}

// resultsScreen lists the results of practice, of one person where the list of visits
// is of one.
type resultsScreen struct {
	over
	who     string // "" for all
	list    []ledger.Practised
	loading bool
	more    bool
	problem string
	page    page
}

// resultsMsg brings a page of them.
type resultsMsg struct {
	list []ledger.Practised
	err  error
}

func newResults(below deskScreen) (screen, tea.Cmd) {
	s := resultsScreen{over: over{below}, who: below.list.Query.Staff, loading: true, page: newPage()}
	return s, s.load(below.work, ledger.PracticeCursor{})
}

func (s resultsScreen) load(w *DeskWork, after ledger.PracticeCursor) tea.Cmd {
	return func() tea.Msg {
		list, err := w.Desk.Practice(w.Context, s.who, after)
		return resultsMsg{list, err}
	}
}

func (s resultsScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	if m, ok := msg.(resultsMsg); ok {
		s.loading, s.more = false, len(m.list) == desk.PageRows
		s.list = append(s.list[:len(s.list):len(s.list)], m.list...)
		if m.err != nil {
			s.problem = m.err.Error()
		}
		return s, nil
	}
	return updateOver(s, e, msg)
}

func (s resultsScreen) onto(below screen) screen { s.below = below; return s }

func (s resultsScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	lines := s.lines(e)
	s.page = s.page.update(k, lines, e.w, e.h-3)
	if below, ok := s.below.(deskScreen); ok && s.more && !s.loading && s.page.port.YOffset+2*e.h > len(lines) {
		s.loading = true
		return s, s.load(below.work, s.list[len(s.list)-1].Cursor)
	}
	return s, nil
}

func (s resultsScreen) view(e env) []string {
	w := deskWords().Results
	of := w.OfAll
	if s.who != "" {
		of = fmt.Sprintf(w.Of, s.who)
	}
	return append(ruled(e, w.Title, of), s.page.view(e.st, s.lines(e), e.w, e.h-3)...)
}

func (s resultsScreen) lines(e env) (lines []string) {
	switch {
	case s.problem != "" || s.loading && len(s.list) == 0:
		return progress(e, s.loading, s.problem)
	case len(s.list) == 0:
		return []string{wordsOf().None}
	}
	for _, p := range s.list {
		lines = append(lines, wrap(desk.PractisedText(p), e.w)...)
	}
	return lines
}

func (resultsScreen) help() []key.Binding {
	return []key.Binding{as(keys.Back, "to-list"), as(keys.Arrows, "scroll"), keys.Help}
}
