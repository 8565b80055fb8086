package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/record"
)

// dayForm is how a moment is written in lists.
const dayForm = "2 Jan 2006 15:04"

// startScreen is the first screen: go on with a visit, or begin one.
type startScreen struct {
	menu    menu
	entries []entry
	who     string // as typed last
	problem string
	working bool
}

// An entry is one line to choose on the start screen.
type entry struct {
	heading string // above it, "" where the entry before has the same
	text    string
	resume  *record.Item
	site    *SiteFile
}

func newStart(opt *Options) startScreen {
	s := startScreen{who: opt.Who}
	heading := "Go on with a visit"
	for i, u := range opt.Unfinished {
		s.add(entry{heading: heading, text: unfinished(u), resume: &opt.Unfinished[i]})
		heading = ""
	}
	heading = "Begin a visit"
	for i := range opt.Sites {
		s.add(entry{heading: heading, text: siteLine(opt.Sites[i]), site: &opt.Sites[i]})
		heading = ""
	}
	s.add(entry{heading: heading, text: "Open a site file by its path"})
	items := make([]string, len(s.entries))
	for i, en := range s.entries {
		items[i] = en.text
	}
	s.menu = newMenu(items)
	return s
}

func (s *startScreen) add(en entry) { s.entries = append(s.entries, en) }

func unfinished(u record.Item) string {
	text := u.SiteName
	if text == "" {
		text = u.ID
	}
	if u.Who != "" {
		text += ", " + u.Who
	}
	if !u.StartedAt.IsZero() {
		text += ", " + u.StartedAt.Format(dayForm)
	}
	text += ", " + count(u.Answers, "answer")
	if u.Damage != nil {
		text += " (its file is damaged)"
	}
	return text
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func siteLine(f SiteFile) string {
	switch {
	case f.Demo:
		return f.Name + " (invented demo site, nothing real)"
	case f.Problem != nil:
		return f.Path + " (has problems; enter shows them)"
	default:
		return f.Name + "  " + f.Path
	}
}

func (s startScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case visitMsg:
		s.working = false
		s.problem = fmt.Sprint(msg.err)
	case tea.KeyMsg:
		return s.key(e, msg)
	}
	return s, nil
}

func (s startScreen) key(e env, msg tea.KeyMsg) (screen, tea.Cmd) {
	if s.working || msg.Paste {
		return s, nil
	}
	if !key.Matches(msg, keys.Enter) {
		s.problem = ""
		s.menu, _ = s.menu.update(msg)
		return s, nil
	}
	s.problem = ""
	switch en := s.entries[s.menu.at]; {
	case en.resume != nil:
		s.working = true
		return s, func() tea.Msg {
			v, notice, err := e.opt.Resume(*en.resume)
			return visitMsg{v, notice, err}
		}
	case en.site != nil:
		return s.choose(*en.site)
	default:
		return newPath(s), nil
	}
}

// choose goes on with a site file: its problems, or who is visiting.
func (s startScreen) choose(f SiteFile) (screen, tea.Cmd) {
	if f.Problem != nil {
		return problemScreen{below: s, file: f, page: newPage()}, nil
	}
	return newWho(s, f), nil
}

func (s startScreen) view(e env) []string {
	head := append(ruled(e, "ampwalk", "diagnosis of small solar power systems"), "")
	foot := progress(e, s.working, s.problem)
	var lines []string
	at := 0
	for i, en := range s.entries {
		if en.heading != "" {
			if i > 0 {
				lines = append(lines, "")
			}
			lines = append(lines, e.st.label.Render(en.heading))
		}
		if i == s.menu.at {
			at = len(lines)
		}
		lines = append(lines, s.menu.line(e.st, i, i == s.menu.at, e.w))
	}
	room := e.h - len(head) - len(foot)
	return append(append(head, around(lines, at, room)...), foot...)
}

func (startScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "choose"), keys.Arrows, keys.Help, as(keys.Quit, "leave")}
}

func (startScreen) typing() typing { return nothing }

// ruled is the head of a screen: a title, something at the right, a rule.
func ruled(e env, left, right string) []string {
	return []string{e.st.title.Render(ends(left, right, e.w)), e.st.quiet.Render(rule(e.w))}
}

// problem is an error in words, its first line marked.
func problem(st styles, text string, w int) []string {
	return labelled(st.problem, "Problem:", len("Problem: "), text, w)
}
