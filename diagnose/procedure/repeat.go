package procedure

// Repeatable reports whether the reading of a step, taken already, may be taken
// once more: the precautions and the isolation that it needs must still stand.
func (p *Procedure) Repeatable(st State, id string) bool {
	i, ok := p.index[id]
	return ok && p.Steps[i].Kind == Take && st.Stopped == "" && st.mark(i) == Good && p.allowed(st, i)
}

// PutBack reports whether something that the reading of a step is not taken
// with was opened and put back in this visit. It then meets another plant, and
// most often another light, than the readings beside it.
func (p *Procedure) PutBack(st State, id string) bool {
	i, ok := p.index[id]
	if !ok {
		return false
	}
	for b, undo := range p.undo {
		if p.rules[i].forbids&(1<<b) != 0 && undo >= 0 && st.mark(undo) == Good {
			return true
		}
	}
	return false
}
