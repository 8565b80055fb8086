package tui

import (
	"github.com/charmbracelet/lipgloss"

	"ampwalk/diagnose/inference/outlook"
	"ampwalk/scenarios"
)

// RunPractice shows a free practice until it is left; s tells whether the case
// was closed, byLine whether the person chose to go on line by line. Of opt only
// looks and streams count.
func RunPractice(opt Options, s *scenarios.Session) (byLine bool, err error) {
	m, err := run(opt.forPractice(), func(opt Options, r *lipgloss.Renderer) model {
		m := newModel(opt, r)
		m.screen = newPractice(s)
		return m
	})
	return m.byLine, err
}

// RunGuided leads a guided practice until it is left; the visit within g tells
// whether it was finished, byLine whether the person chose to go on line by line.
func RunGuided(opt Options, g *scenarios.Guided) (byLine bool, err error) {
	opt.Now = g.Now
	m, err := run(opt.forPractice(), func(opt Options, r *lipgloss.Renderer) model {
		m := newModel(opt, r)
		m.visit = g.Visit
		s := newVisit(m.opt, g, func(w int, o *outlook.Outlook) string { return opt.Summary(g.Visit, w, o) })
		s.notice = g.Scenario().Story
		m.screen = s
		return m
	})
	return m.byLine, err
}

// forPractice are the options without the sites and visits that a start screen
// would offer.
func (opt Options) forPractice() Options {
	opt.Unfinished, opt.Sites = nil, func() []SiteFile { return nil }
	return opt
}

// practising reports whether what is under way is a practice, which is not kept
// before its end.
func (m model) practising() bool {
	if practiceOn(m.screen) != nil {
		return true
	}
	d, ok := m.screen.(duringVisit)
	if !ok {
		return false
	}
	return d.visit().benched()
}

// practiceRests reports whether a free practice on a screen or below it waits for
// what is done next.
func practiceRests(s screen) bool {
	switch s := s.(type) {
	case practiceScreen:
		return !s.working && s.debrief == nil
	case overlay:
		return practiceRests(s.lower())
	}
	return false
}

// practiceOn is the practice on a screen or below it, nil if there is none.
func practiceOn(s screen) *scenarios.Session {
	switch s := s.(type) {
	case practiceScreen:
		return s.session
	case overlay:
		return practiceOn(s.lower())
	}
	return nil
}
