package tui

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// problemScreen shows all that is wrong with a site file.
type problemScreen struct {
	below screen
	start startScreen
	file  SiteFile
	page  page
}

func (s problemScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	if draft, ok := msg.(draftMsg); ok {
		if draft.err != nil {
			return s, nil // what keeps it from being read stands there already
		}
		return newDescribe(s.start, e.opt, draft.draft, draft.path), nil
	}
	k, ok := msg.(tea.KeyMsg)
	switch {
	case !ok:
		return s, nil
	case key.Matches(k, keys.Back):
		return s.below, nil
	case key.Matches(k, keys.Enter):
		return s, readDraft(e.opt, s.file)
	}
	s.page = s.page.update(k, s.lines(e), e.w, e.h-problemHead)
	return s, nil
}

// problemHead is the rows above the problems.
const problemHead = 4

// lines are the problems, the later lines of each set in.
func (s problemScreen) lines(e env) []string {
	var lines []string
	for p := range strings.SplitSeq(s.file.Problem.Error(), "\n") {
		for i, l := range wrap(p, e.w-2) {
			if i > 0 {
				l = "  " + l
			}
			lines = append(lines, l)
		}
	}
	return lines
}

func (s problemScreen) view(e env) []string {
	head := append(ruled(e, siteWords().Wrong.Title, ""),
		cut(siteWords().Wrong.Advice, e.w), "")
	return append(head, s.page.view(e.st, s.lines(e), e.w, e.h-problemHead)...)
}

func (problemScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "correct-by-questions"), as(keys.Back, "back"), as(keys.Arrows, "scroll"), keys.Help, as(keys.Quit, "leave")}
}

func (problemScreen) typing() typing { return nothing }
