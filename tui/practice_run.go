package tui

import (
	"github.com/charmbracelet/lipgloss"

	"ampwalk/scenarios"
)

// RunPractice shows a free practice until it is left; s tells whether the case
// was closed. Of opt only looks and streams count.
func RunPractice(opt Options, s *scenarios.Session) error {
	_, err := run(opt.forPractice(), func(opt Options, r *lipgloss.Renderer) model {
		m := newModel(opt, r)
		m.screen = newPractice(s)
		return m
	})
	return err
}

// RunGuided leads a guided practice until it is left; the visit within g tells
// whether it was finished.
func RunGuided(opt Options, g *scenarios.Guided) error {
	opt.Now = g.Now
	_, err := run(opt.forPractice(), func(opt Options, r *lipgloss.Renderer) model {
		m := newModel(opt, r)
		m.visit = g.Visit
		m.screen = newVisit(g, func(w int) string { return opt.Summary(g.Visit, w) }, g.Scenario().Story)
		return m
	})
	return err
}

// forPractice are the options without the sites and visits that a start screen
// would offer.
func (opt Options) forPractice() Options {
	opt.Unfinished, opt.Sites = nil, func() []SiteFile { return nil }
	return opt
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
