package diagnose

import (
	"slices"

	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
)

// New starts a visit at the site of h.SiteTOML and keeps h in the journal.
// Bad site text gives the site reader's error.
func New(h Head, j Journal) (*Visit, error) {
	v := &Visit{head: h, journal: j}
	return v, j.Append(Entry{Head: &h})
}

// Resume takes up a visit again from what its journal kept. Later answers go to j.
func Resume(entries []Entry, j Journal) (*Visit, error) { return nil, nil }

// Site is what is installed.
func (v *Visit) Site() *site.Site { return v.site }

// Head is what the visit started from.
func (v *Visit) Head() Head { return v.head }

// Seq is the number of answers given so far, corrections included and notes not.
func (v *Visit) Seq() int { return len(v.history) }

// Input is a deep copy of what is known, safe to use in another goroutine.
func (v *Visit) Input() belief.Input {
	return belief.Input{Site: v.site, Readings: reading.NewSet()}
}

// Learn takes the result inferred from the Input at seq; a result that later
// answers have overtaken is ignored and false returned.
func (v *Visit) Learn(seq int, r *belief.Result) bool {
	if seq != v.Seq() {
		return false
	}
	v.latest = r
	return true
}

// Belief is the latest result, nil at first.
func (v *Visit) Belief() *belief.Result { return v.latest }

// Before is the result before the last answer, nil at first.
func (v *Visit) Before() *belief.Result { return v.before }

// Prompt is the next step, by the safe order and the latest belief.
func (v *Visit) Prompt() Prompt { return Prompt{} }

// PromptFor is an earlier step again, with Given set.
func (v *Visit) PromptFor(step string) (Prompt, bool) { return Prompt{}, false }

// Read makes an answer of what was typed for p. Its error is a *Doubt where the
// value could hardly be, else it says what is expected. The caller sets At.
func (v *Visit) Read(p Prompt, typed string) (Answer, error) { return Answer{}, nil }

// ReadAnyway is Read for a value that the person confirmed after a Doubt.
func (v *Visit) ReadAnyway(p Prompt, typed string) (Answer, error) { return Answer{}, nil }

// Give keeps a, in the journal first. An answer to a step that was answered
// before replaces it; everything after it is kept and valued anew.
func (v *Visit) Give(a Answer) error { return nil }

// Answers is the standing answer of each step, in the order of first answering.
func (v *Visit) Answers() []Answer { return nil }

// History is every answer and note in the order given.
func (v *Visit) History() []Answer { return slices.Clone(v.history) }

// Notes are the notes in the order given.
func (v *Visit) Notes() []Answer { return nil }

// Done reports whether nothing is left to do.
func (v *Visit) Done() bool { return v.Prompt().Done }
