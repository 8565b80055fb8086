package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
)

// How moments and days are written in lists.
const (
	dayForm  = "2 Jan 2006 15:04"
	dateForm = "2 Jan 2006"
)

// startScreen is the first screen: go on with a visit, choose a site, describe
// one.
type startScreen struct {
	menu    menu
	entries []entry
	who     string // as typed last
	said    string
	problem string
	working bool
}

// An entry is one line to choose on the start screen.
type entry struct {
	heading string // above it, "" where the entry before has the same
	text    string
	resume  *record.Item
	open    string // what the visit to go on with has open
	site    *SiteFile
	do      doing // what else it does
}

func newStart(opt *Options) startScreen {
	w, s := wordsOf().Start, startScreen{who: opt.Who}
	heading := w.Continue
	for i, u := range opt.Unfinished {
		en := entry{heading: heading, text: unfinished(u), resume: &opt.Unfinished[i]}
		if opt.NotPutBack != nil {
			en.open = opt.NotPutBack(u.ID)
		}
		s.entries = append(s.entries, en)
		heading = ""
	}
	heading = w.Begin
	for _, f := range opt.Sites() {
		s.entries = append(s.entries, entry{heading: heading, text: siteLine(f), site: &f})
		heading = ""
	}
	heading = w.Other
	for _, do := range []doing{doDescribe, doOpen, doPractise, doBright} {
		if do == doPractise && opt.Practise == nil {
			continue
		}
		s.entries = append(s.entries, entry{heading: heading, text: do.name(), do: do})
		heading = ""
	}
	items := make([]item, len(s.entries))
	for i, en := range s.entries {
		items[i] = item{ID: string(en.do), Text: en.text}
	}
	s.menu = newMenu(items)
	return s
}

// again is the start screen with the sites as they are now.
func (s startScreen) again(opt *Options) startScreen {
	next := newStart(opt)
	next.who = s.who
	return next
}

// leftMsg brings what the last finished visit to a site left to be done, and the
// sites still to look at.
type leftMsg struct {
	visit string
	left  visiting.Left
	rest  []SiteFile
}

// lookAtLeft finds what the last finished visits left to be done.
func (s startScreen) lookAtLeft(opt *Options) tea.Cmd {
	var files []SiteFile
	for _, en := range s.entries {
		if en.site != nil {
			files = append(files, *en.site)
		}
	}
	return lookAtLeft(opt, files)
}

// lookAtLeft looks at the first of the files that has a finished visit not looked
// at yet: one site after the other, off the loop of keys and frames.
func lookAtLeft(opt *Options, files []SiteFile) tea.Cmd {
	for i, f := range files {
		if f.Finished == nil {
			continue
		}
		if _, known := opt.left[f.Finished.ID]; known {
			continue
		}
		return func() tea.Msg {
			msg := leftMsg{visit: f.Finished.ID, rest: files[i+1:]}
			if about, err := opt.About(f); err == nil && about.Left != nil {
				msg.left = *about.Left
			}
			return msg
		}
	}
	return nil
}

func unfinished(u record.Item) string {
	w := wordsOf().Start
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
	text += ", " + w.Answers.Of(u.Answers)
	if u.Damage != nil {
		text = fmt.Sprintf(w.Damaged, text)
	}
	return text
}

func siteLine(f SiteFile) string {
	w := wordsOf().Start
	switch {
	case f.Demo:
		return fmt.Sprintf(w.Demo, f.Name)
	case f.Incomplete:
		return fmt.Sprintf(w.Incomplete, f.Name, f.Path)
	case f.Problem != nil:
		return fmt.Sprintf(w.Wrong, f.Path)
	case f.visitsOnly():
		return fmt.Sprintf(w.FromVisits, f.Name)
	default:
		return f.Name + "  " + f.Path
	}
}

// visited is the last visit to a site and what is open there, "" where nobody
// has been.
func visited(f SiteFile, lefts map[string]visiting.Left) string {
	if f.Last == nil {
		return ""
	}
	w := wordsOf().Start
	text := fmt.Sprintf(w.LastVisit, f.Last.LastAt.Format(dateForm))
	if !f.Last.Finished {
		text = fmt.Sprintf(w.NotFinished, text)
	}
	if f.Finished == nil {
		return text
	}
	switch left, known := lefts[f.Finished.ID]; {
	case !known:
	case len(left.NotBack) > 0:
		text = fmt.Sprintf(w.NotBack, text)
	case len(left.Actions) > 0:
		text = w.Actions.Of(len(left.Actions), text)
	case left.Found != "":
		text = fmt.Sprintf(w.NoAction, text)
	}
	return text
}

func (s startScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case visitMsg:
		s.working = false
		s.problem = fmt.Sprint(msg.err)
	case draftMsg:
		s.working = false
		if msg.err != nil {
			s.problem = msg.err.Error()
			return s, nil
		}
		return newDescribe(s, e.opt, msg.draft, msg.path), nil
	case tea.KeyMsg:
		return s.key(e, msg)
	}
	return s, nil
}

func (s startScreen) key(e env, msg tea.KeyMsg) (screen, tea.Cmd) {
	if s.working || msg.Paste {
		return s, nil
	}
	s.problem, s.said = "", ""
	if !key.Matches(msg, keys.Enter) {
		s.menu, _ = s.menu.update(msg)
		return s, nil
	}
	switch en := s.entries[s.menu.at]; {
	case en.resume != nil:
		s.working = true
		return s, func() tea.Msg {
			v, notice, err := e.opt.Resume(*en.resume)
			return visitMsg{v, notice, err}
		}
	case en.site != nil:
		return s.choose(e, *en.site)
	case en.do == doDescribe:
		return newNaming(s, SiteFile{}), nil
	case en.do == doPractise:
		return newPractice(e.opt.Practise()), nil
	case en.do == doBright:
		return s, func() tea.Msg { return sunMsg{} }
	default:
		return newPath(s), nil
	}
}

// choose goes on with a site file: what is wrong with it, or what is known of
// the site.
func (s startScreen) choose(e env, f SiteFile) (screen, tea.Cmd) {
	switch {
	case f.Incomplete:
		s.working = true
		return s, readDraft(e.opt, f)
	case f.Problem != nil:
		return problemScreen{below: s, start: s, file: f, page: newPage()}, nil
	}
	return newSite(s, f, e.opt)
}

func (s startScreen) view(e env) []string {
	head := append(ruled(e, "ampwalk", wordsOf().Start.About), "")
	foot := progress(e, s.working, s.problem)
	if s.said != "" {
		foot = append([]string{""}, wrap(s.said, e.w)...)
	}
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
		if en.open != "" {
			lines = append(lines, e.st.caution.Render(cut(fmt.Sprintf(wordsOf().Start.NotPutBack, en.open), e.w)))
		}
		if en.site != nil {
			if text := visited(*en.site, e.opt.left); text != "" {
				lines = append(lines, e.st.quiet.Render(cut("      "+text, e.w)))
			}
		}
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
	return headed(st.problem, wordsOf().Problem, text, w)
}
