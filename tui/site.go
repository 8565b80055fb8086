package tui

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
)

// siteScreen says what is known of a site, and what to do there.
type siteScreen struct {
	start   startScreen
	file    SiteFile
	about   About
	failed  string // why about could not be worked out
	looking bool   // about is on its way
	menu    menu
	page    page
	problem string
	working bool
}

// aboutMsg brings what is worth knowing of a site.
type aboutMsg struct {
	file  SiteFile
	about About
	err   error
}

// draftMsg brings a site file to describe on.
type draftMsg struct {
	draft siteform.Draft
	path  string
	err   error
}

func newSite(start startScreen, f SiteFile, opt *Options) (screen, tea.Cmd) {
	items := entries(doBegin, doQuick, doCallOut, doChange, doCopy)
	if f.Demo {
		items = entries(doBegin, doQuick, doCallOut, doCopy)
	}
	s := siteScreen{start: start, file: f, looking: true, menu: newMenu(items), page: newPage()}
	return s, func() tea.Msg {
		about, err := opt.About(f)
		return aboutMsg{f, about, err}
	}
}

func (s siteScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case aboutMsg:
		if msg.file.Path == s.file.Path && msg.file.Name == s.file.Name {
			s.looking, s.about = false, msg.about
			if msg.err != nil {
				s.failed = msg.err.Error()
			}
		}
	case draftMsg:
		s.working = false
		if msg.err != nil {
			s.problem = msg.err.Error()
			return s, nil
		}
		return newDescribe(s.start, e.opt, msg.draft, msg.path), nil
	case tea.KeyMsg:
		return s.key(e, msg)
	}
	return s, nil
}

func (s siteScreen) key(e env, msg tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(msg, keys.Back):
		return s.start, nil
	case s.working || msg.Paste:
		return s, nil
	case !key.Matches(msg, keys.Enter):
		return s.move(e, msg), nil
	}
	s.problem = ""
	switch s.menu.doing() {
	case doBegin:
		return newWho(s, s.start.who, s.file, visiting.Full), nil
	case doQuick:
		return newWho(s, s.start.who, s.file, visiting.Quick), nil
	case doCallOut:
		return newWho(s, s.start.who, s.file, visiting.CallOut), nil
	case doCopy:
		return newNaming(s.start, s.file), nil
	default:
		s.working = true
		return s, readDraft(e.opt, s.file)
	}
}

// move goes along the menu; beyond its end the text above it scrolls.
func (s siteScreen) move(e env, msg tea.KeyMsg) siteScreen {
	lines, room := s.lines(e), s.room(e)
	if key.Matches(msg, keys.Up) && s.page.port.YOffset > 0 {
		s.page = s.page.update(msg, lines, e.w, room)
		return s
	}
	m, used := s.menu.update(msg)
	if !used {
		s.page = s.page.update(msg, lines, e.w, room)
	}
	s.menu = m
	return s
}

// readDraft reads a site's file to change it. A site that only visits know gets
// a file of its own.
func readDraft(opt *Options, f SiteFile) tea.Cmd {
	return func() tea.Msg {
		text, err := opt.ReadSite(f)
		if err != nil {
			return draftMsg{err: err}
		}
		d, err := siteform.Open(f.Path, text)
		path := f.Path
		if path == "" {
			path = opt.NewPath(f.Name)
		}
		return draftMsg{d, path, err}
	}
}

// room is the rows for the text: without the head, the menu and what is said.
func (s siteScreen) room(e env) int {
	return max(1, e.h-3-len(s.menu.items)-1-len(progress(e, s.working, s.problem)))
}

// lines are what is known of the site.
func (s siteScreen) lines(e env) []string {
	const labelW = 12
	w, lines := siteWords().About, []string(nil)
	add := func(label, text string) {
		lines = append(lines, labelled(e.st.label, label, labelW, text, e.w)...)
	}
	if s.file.Site != nil {
		add(w.Equipment, installed(s.file.Site))
	}
	switch last := s.file.Last; {
	case last == nil:
		add(w.LastVisit, w.NoVisit)
	default:
		text := last.LastAt.Format(dayForm)
		if last.Who != "" {
			text = fmt.Sprintf(w.By, text, last.Who)
		}
		if !last.Finished {
			text = fmt.Sprintf(w.NotFinished, text)
		}
		add(w.LastVisit, text)
	}
	switch {
	case s.looking:
		add("", wordsOf().Working)
	case s.failed != "":
		lines = append(lines, problem(e.st, s.failed, e.w)...)
	}
	if left := s.about.Left; left != nil {
		if s.file.Last.ID != s.file.Finished.ID {
			add(w.Finished, s.file.Finished.LastAt.Format(dayForm))
		}
		add(w.Found, left.Found)
		add(w.Repaired, left.Mended)
		for _, text := range left.NotBack {
			lines = append(lines, labelled(e.st.caution, w.NotBack, labelW, text, e.w)...)
		}
		label := w.Open
		for i, text := range left.Actions {
			add(label, fmt.Sprintf(w.Action, i+1, text))
			label = ""
		}
		if len(left.Actions) == 0 {
			add(label, w.NoAction)
		} else {
			add("", w.Advised)
		}
	}
	if n := len(s.about.Assumed); n > 0 {
		add(w.Assumed, fmt.Sprintf(w.Rests, strings.Join(s.about.Assumed, "; ")))
	}
	for _, text := range s.about.Remarks {
		add(w.Remark, text)
	}
	return lines
}

// installed is the equipment in one sentence.
func installed(s *site.Site) string {
	w := siteWords().About
	return fmt.Sprintf(w.Installed, s.NominalV,
		s.Array.Series*s.Array.Strings, s.Array.Module.PmpW, s.Controller.Kind, s.Controller.RatedA,
		s.Battery.Chemistry, s.Battery.CapacityAh, w.Loads.Of(len(s.Loads)))
}

func (s siteScreen) view(e env) []string {
	lines := append(ruled(e, s.file.Name, s.file.Path), s.page.view(e.st, s.lines(e), e.w, s.room(e))...)
	lines = append(lines, "")
	lines = append(lines, s.menu.view(e.st, true, e.w, len(s.menu.items))...)
	return append(lines, progress(e, s.working, s.problem)...)
}

func (siteScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "choose"), as(keys.Back, "to-sites"), as(keys.Arrows, "move-scroll"), keys.Help, as(keys.Quit, "leave")}
}

func (siteScreen) typing() typing { return nothing }
