package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/siteform"
)

// namingScreen asks for the name of a site that gets a file of its own: a new
// one, or a copy.
type namingScreen struct {
	start   startScreen
	from    SiteFile // the site that is copied; none for a new one
	field   field
	problem string
	working bool
}

func newNaming(start startScreen, from SiteFile) namingScreen {
	return namingScreen{start: start, from: from, field: newField("")}
}

func (s namingScreen) copies() bool { return s.from.Name != "" }

func (s namingScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case draftMsg:
		s.working = false
		if msg.err != nil {
			s.problem = msg.err.Error()
			return s, nil
		}
		d := newDescribe(s.start, e.opt, msg.draft, msg.path)
		d.notice = fmt.Sprintf(siteWords().Describe.Kept, msg.path)
		if s.copies() {
			d.notice = fmt.Sprintf(siteWords().Describe.Copied, msg.path)
		}
		return d, nil
	case tea.KeyMsg:
		return s.key(e, msg)
	}
	return s, nil
}

func (s namingScreen) key(e env, msg tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case s.working:
		return s, nil
	case key.Matches(msg, keys.Back):
		return s.start, nil
	case !key.Matches(msg, keys.Enter):
		s.problem = ""
		s.field = s.field.update(msg)
		return s, nil
	case s.field.text() == "":
		s.problem = siteWords().Naming.NothingTyped
		return s, nil
	}
	s.working = true
	name, from := s.field.text(), s.from
	return s, func() tea.Msg { return makeSite(e.opt, name, from) }
}

// makeSite makes a draft of a new site, or of a copy of one, and keeps it.
func makeSite(opt *Options, name string, from SiteFile) draftMsg {
	d, err := siteform.New(name)
	if from.Name != "" {
		var text []byte
		if text, err = opt.ReadSite(from); err == nil {
			d, err = siteform.Open(from.Path, text)
		}
		if err == nil {
			d, err = d.Copy(name)
		}
	}
	if err != nil {
		return draftMsg{err: err}
	}
	path := opt.NewPath(name)
	if err := opt.KeepSite(path, d.Bytes()); err != nil {
		return draftMsg{err: fmt.Errorf(siteWords().FileUnwritten, path, err)}
	}
	return draftMsg{d, path, nil}
}

func (s namingScreen) view(e env) []string {
	w := siteWords().Naming
	title := w.New
	if s.copies() {
		title = fmt.Sprintf(w.Copy, s.from.Name)
	}
	lines := append(ruled(e, title, ""), "", w.Ask)
	lines = append(lines, s.field.view(e.st, true, e.w))
	lines = append(lines, styled(e.st.quiet, wrap(w.Hint, e.w))...)
	return append(lines, progress(e, s.working, s.problem)...)
}

func (namingScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "continue"), keys.Back, as(keys.Leave, "leave")}
}

func (namingScreen) typing() typing { return words }
