package procedure

// Restore is what is open and can be put back, as the steps that do it, in
// their order: the battery is connected before the array, the loads come last.
func (p *Procedure) Restore(st State) []Step {
	var steps []Step
	for i := range p.Steps {
		s := &p.Steps[i]
		if p.toUndo(st, i) {
			steps = append(steps, *s)
		}
	}
	return steps
}

// A LeftOpen is a flag that stays set, by a recorded decision.
type LeftOpen struct {
	Flag   Flag
	Reason string
}

// Left are the flags that stay open. The step "label-open" labels them.
func (p *Procedure) Left(st State) []LeftOpen {
	var open []LeftOpen
	for b, f := range flags {
		if st.flags&openFlags&(1<<b) == 0 {
			continue
		}
		if why := p.leftWhy(st, b); why != "" {
			open = append(open, LeftOpen{f, why})
		}
	}
	return open
}

// OpenText says what is open and not left so by decision, "" for nothing: what
// whoever goes away now leaves behind.
func (p *Procedure) OpenText(st State) string {
	var open []Flag
	for b, f := range flags {
		if st.flags&openFlags&(1<<b) != 0 && p.leftWhy(st, b) == "" {
			open = append(open, f)
		}
	}
	return flagsText(open)
}

// leftWhy is why the set flag of bit b is not put back, "" if it can be: its
// step could not be done, a confirmation for it was refused, or it must wait
// for another that is not put back.
func (p *Procedure) leftWhy(st State, b int) string {
	i := p.undo[b]
	if i < 0 {
		return p.whys.NoReason
	}
	if st.mark(i) == Missed {
		return st.reason(i)
	}
	for _, c := range p.rules[i].needs {
		if m := st.mark(c); m == Refused || m == Missed {
			return orElse(st.reason(c), p.whys.NoReason)
		}
	}
	if by := p.closedBy(st, i); by >= 0 {
		return p.dangers[by].Title
	}
	for other := range flags {
		if p.rules[i].forbids&st.flags&(1<<other) == 0 {
			continue
		}
		if why := p.leftWhy(st, other); why != "" {
			return why
		}
	}
	return ""
}

// toUndo reports whether i puts back something that is open and not left so.
func (p *Procedure) toUndo(st State, i int) bool {
	for b := range flags {
		if p.rules[i].undoes&st.flags&(1<<b) != 0 && p.leftWhy(st, b) == "" {
			return true
		}
	}
	return false
}

// nextRestore is the next step of putting back, if any.
func (p *Procedure) nextRestore(st State) (int, bool) {
	for i := range p.Steps {
		s := &p.Steps[i]
		r := &p.rules[i]
		if r.undoes != 0 {
			if !p.toUndo(st, i) {
				continue
			}
			for _, c := range r.needs {
				if p.timely(st, c) && st.mark(c) == Open {
					return c, true
				}
			}
			if r.forbids&st.flags == 0 {
				return i, true
			}
			continue // waits for another to be put back
		}
		if s.Rung == Restore && st.mark(i) == Open && p.allowed(st, i) && p.stillOpen(st, r.requires) {
			return i, true
		}
	}
	return 0, false
}

// stillOpen reports whether none of the open flags in fs is left so.
func (p *Procedure) stillOpen(st State, fs flagSet) bool {
	for b := range flags {
		if fs&openFlags&(1<<b) != 0 && p.leftWhy(st, b) != "" {
			return false
		}
	}
	return true
}
