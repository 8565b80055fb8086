package tui

import (
	"fmt"
	"maps"
	"strings"

	"github.com/charmbracelet/bubbles/help"
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/outlook"
)

// The smallest window that shows a whole step.
const (
	leastW = 60
	leastH = 20
)

// The window until the terminal tells its own size.
const (
	firstW = 80
	firstH = 24
)

// model is the root: the size of the window, the screen shown, and the
// visit that was opened.
type model struct {
	w, h     int
	renderer *lipgloss.Renderer
	theme    Theme
	st       styles
	opt      *Options
	screen   screen
	visit    *visiting.Visit // the one that was opened, nil if none
	said     string          // in place of the help line until the next key
	byLine   bool

	stoppable func() bool // whether the shell can stop the program and let it go on; nil: never
}

func newModel(opt Options, r *lipgloss.Renderer) model {
	opt.left = map[string]visiting.Left{}
	m := model{w: firstW, h: firstH, renderer: r, theme: opt.Theme, opt: &opt, screen: newStart(&opt)}
	m = m.styled()
	switch d := opt.Describe; {
	case d == nil:
	case d.Path == "":
		m.screen = newNaming(newStart(&opt), SiteFile{})
	default:
		m.screen = newDescribe(newStart(&opt), &opt, d.Draft, d.Path)
	}
	if opt.Visit != nil {
		m.visit = opt.Visit
		m.screen = opened(&opt, opt.Visit, opt.Lost)
	}
	return m
}

// opened is the screen of a visit that was begun or taken up again, with what its
// journal lost, below what was said of it, if anything was.
func opened(opt *Options, v *visiting.Visit, lost string) screen {
	s := newVisit(opt, v, func(w int, o *outlook.Outlook) string { return opt.Summary(v, w, o) })
	s.lost = lost
	if opt.Home == nil {
		return s
	}
	home := opt.Home(v)
	s.said = home.Steps
	if home.Silent() {
		return s
	}
	return newHome(s, home)
}

// visitMsg brings a visit that was begun or taken up again.
type visitMsg struct {
	visit  *visiting.Visit
	notice string
	err    error
}

// toStartMsg asks for the start screen in place of the visit.
type toStartMsg struct{}

func toStart() tea.Msg { return toStartMsg{} }

// closedMsg brings the visits that can be continued after one was left.
type closedMsg struct {
	unfinished []record.Item
	err        error
}

// beginMsg asks the visit screen just shown for its first question.
type beginMsg struct{}

func begin() tea.Msg { return beginMsg{} }

func (m model) Init() tea.Cmd {
	if m.visit != nil {
		return begin
	}
	switch s := m.screen.(type) {
	case startScreen:
		return s.lookAtLeft(m.opt)
	case deskScreen:
		return s.start()
	}
	return nil
}

func (m model) env() env { return env{w: m.w, h: m.h - 1, st: m.st, signs: m.opt.Signs, opt: m.opt} }

func (m model) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch msg := msg.(type) {
	case tea.WindowSizeMsg:
		m.w, m.h = msg.Width, msg.Height
		return m, nil
	case visitMsg:
		if msg.err == nil && msg.visit != nil {
			m.visit = msg.visit
			m.screen = opened(m.opt, msg.visit, msg.notice)
			return m, begin
		}
	case leftMsg:
		left := maps.Clone(m.opt.left)
		left[msg.visit] = msg.left
		m.opt.left = left
		return m, lookAtLeft(m.opt, msg.rest)
	case sunMsg:
		return m.changeTheme(), nil
	case toStartMsg:
		v, opt := m.visit, m.opt
		return m, func() tea.Msg {
			list, err := opt.Close(v)
			return closedMsg{list, err}
		}
	case closedMsg:
		return m.started(msg)
	case tea.KeyMsg:
		if len(msg.Runes) > 1 && !msg.Paste {
			return m.oneByOne(msg)
		}
		m.said = ""
		if next, cmd, done := m.rootKey(msg); done {
			return next, cmd
		}
	}
	var cmd tea.Cmd
	m.screen, cmd = m.screen.update(m.env(), msg)
	return m, cmd
}

// started is the start screen after a visit was left.
func (m model) started(msg closedMsg) (tea.Model, tea.Cmd) {
	m.opt.Unfinished, m.visit = msg.unfinished, nil
	s := newStart(m.opt)
	if msg.err != nil {
		s.problem = msg.err.Error()
	}
	m.screen = s
	return m, s.lookAtLeft(m.opt)
}

// oneByOne takes letters that came in one message as the keys they are: the
// library would take the word "left" for the key of that name.
func (m model) oneByOne(msg tea.KeyMsg) (tea.Model, tea.Cmd) {
	var next tea.Model = m
	var cmds []tea.Cmd
	for _, r := range msg.Runes {
		one := msg
		one.Runes = []rune{r}
		var cmd tea.Cmd
		next, cmd = next.Update(one)
		cmds = append(cmds, cmd)
	}
	return next, tea.Batch(cmds...)
}

// rootKey does what a key does on every screen.
func (m model) rootKey(msg tea.KeyMsg) (_ tea.Model, _ tea.Cmd, done bool) {
	typing := m.screen.typing()
	_, helping := m.screen.(helpScreen)
	switch {
	case key.Matches(msg, keys.Leave), key.Matches(msg, keys.Quit) && !msg.Paste && typing == nothing:
		var cmd tea.Cmd
		m.screen, cmd = leave(m.env(), m.screen)
		return m, cmd, true
	case key.Matches(msg, keys.Suspend) && m.canStop():
		return m, tea.Suspend, true
	case key.Matches(msg, keys.Suspend):
		m.said = wordsOf().NoShell
		return m, nil, true
	case key.Matches(msg, keys.Sun):
		return m.changeTheme(), nil, true
	case m.tooSmall() && m.goesByLine() && key.Matches(msg, keys.Enter):
		m.byLine = true
		return m, tea.Quit, true
	case m.tooSmall():
		return m, nil, true
	case helping || msg.Paste || !key.Matches(msg, keys.Help) || msg.String() == "?" && typing == words:
		return m, nil, false
	}
	m.screen = newHelp(m.screen)
	return m, nil, true
}

func (m model) canStop() bool { return m.stoppable != nil && m.stoppable() }

// styled is m in the looks of its theme, dark where there is none.
func (m model) styled() model {
	if !m.theme.Known() {
		m.theme = Dark
	}
	m.st = newStyles(m.renderer, m.theme)
	if m.opt.NoColor {
		m.st = noColors(m.renderer)
	}
	return m
}

// sunMsg asks for the next theme.
type sunMsg struct{}

// changeTheme goes to the next theme and has it remembered, at once: whoever
// leaves with the next key finds it again.
func (m model) changeTheme() model {
	m.theme = m.theme.next()
	m = m.styled()
	w := wordsOf().Theme
	m.said = w.Named[string(m.theme)]
	if remember := m.opt.Remember; remember != nil {
		if err := remember(m.theme); err != nil {
			m.said = fmt.Sprintf(w.Unsaved, err)
		}
	}
	return m
}

func (m model) tooSmall() bool { return m.w < leastW || m.h < leastH }

func (m model) View() string {
	if m.tooSmall() {
		return m.page(fit(m.tooSmallText(), m.w, m.h))
	}
	e := m.env()
	lines := fit(m.screen.view(e), e.w, e.h)
	last := helpLine(m.st, m.screen.help(), m.w)
	if m.said != "" {
		last = m.st.title.Render(cut(m.said, m.w))
	}
	return m.page(append(lines, last))
}

func (m model) page(lines []string) string {
	for i, l := range lines {
		lines[i] = m.st.page(l, m.w)
	}
	return joined(lines)
}

// goesByLine reports whether what is under way can go on line by line.
func (m model) goesByLine() bool { return m.visit != nil || practiceRests(m.screen) }

func (m model) tooSmallText() []string {
	w := wordsOf().Small
	text := []string{fmt.Sprintf(w.Size, m.w, m.h, leastW, leastH)}
	switch {
	case !m.goesByLine():
		text = append(text, w.BeginLines)
	case m.practising():
		text = append(text, w.ByLine)
	default:
		text = append(text, w.ByLine, w.NothingLost)
	}
	return wrap(strings.Join(text, " "), m.w)
}

// helpLine lists the keys; the most needed stand first, since the end is cut.
func helpLine(st styles, bindings []key.Binding, w int) string {
	h := help.New()
	h.Width = w
	h.ShortSeparator, h.Ellipsis = " | ", ellipsis
	said := make([]key.Binding, len(bindings))
	for i, b := range bindings {
		said[i] = as(b, keyWords().Key[b.Help().Desc])
	}
	h.Styles = help.Styles{ShortKey: st.label, ShortDesc: st.quiet, ShortSeparator: st.quiet, Ellipsis: st.quiet}
	return ansi.Truncate(h.ShortHelpView(said), w, "") // the bubble overflows by one entry where "..." does not fit
}
