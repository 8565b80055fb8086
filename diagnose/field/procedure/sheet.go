package procedure

import "slices"

// A Sheet is steps that are asked one after the other, as one list: a glance around, what
// to have ready. Nothing is worked out between them.
type Sheet struct {
	ID    string `toml:"id"`
	Title string `toml:"title"`
}

// Beside is the next open step of the sheet of step that is allowed now, and why it comes;
// false where there is none, or where something else comes first: a danger, or an end.
func (p *Procedure) Beside(st State, step string) (Step, string, bool) {
	of, ok := p.index[step]
	if !ok || p.Steps[of].Sheet.ID == "" || p.Ended(st) != "" {
		return Step{}, "", false
	}
	if _, unsafe := p.Unsafe(st); unsafe {
		return Step{}, "", false
	}
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.Sheet.ID != p.Steps[of].Sheet.ID || st.mark(i) != Open || !p.allowed(st, i) {
			continue
		}
		if s.Kind == Take || s.Kind == Choose {
			return p.Offer(st, *s), p.whys.Always, true
		}
		return p.Offer(st, *s), p.whys.Before, true
	}
	return Step{}, "", false
}

// OnSheet are the steps of a sheet that this visit answers: done, or open and allowed now.
func (p *Procedure) OnSheet(st State, sheet string) []Step {
	var steps []Step
	for i := range p.Steps {
		if p.Steps[i].Sheet.ID == sheet && (st.mark(i) != Open || p.allowed(st, i)) {
			steps = append(steps, p.Steps[i])
		}
	}
	return steps
}

// sheet is the sheet of the catalogue with that id, the zero Sheet for "".
func (c catalogue) sheet(id string) (Sheet, bool) {
	if id == "" {
		return Sheet{}, true
	}
	i := slices.IndexFunc(c.Sheets, func(s Sheet) bool { return s.ID == id })
	if i < 0 {
		return Sheet{}, false
	}
	return c.Sheets[i], true
}
