package procedure

import "slices"

// A Sheet is steps that are asked one after the other, as one list: a glance around, what
// to have ready. Nothing is worked out between them.
type Sheet struct {
	ID    string `toml:"id"`
	Title string `toml:"title"`
}

// beside is the next open step of the sheet of step that is allowed now, and why it comes;
// false where there is none.
func (p *Procedure) beside(st State, step string) (int, string, bool) {
	of, ok := p.index[step]
	if !ok || p.Steps[of].Sheet.ID == "" {
		return 0, "", false
	}
	for i := range p.Steps {
		s := &p.Steps[i]
		switch {
		case s.Sheet.ID != p.Steps[of].Sheet.ID, st.mark(i) != Open, !p.allowed(st, i):
		case s.Kind == Take || s.Kind == Choose:
			return i, p.whys.Always, true
		case s.Rung == Restore:
			return i, p.whys.Check, true
		case s.Rung == Leave:
			return i, p.whys.Leave, true
		default:
			return i, p.whys.Before, true
		}
	}
	return 0, "", false
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
