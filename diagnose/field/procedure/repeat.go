package procedure

import "ampwalk/diagnose/physics/reading"

// Repeatable reports whether the reading of a step, taken already, may be taken
// once more: the precautions and the isolation that it needs must still stand.
func (p *Procedure) Repeatable(st State, id string) bool {
	i, ok := p.index[id]
	if !ok || p.Steps[i].Kind != Take || st.mark(i) != Good || p.Ended(st) != "" || !p.allowed(st, i) {
		return false
	}
	_, b, open := p.makingSafe(st) // it comes first, but what raised the danger may be read once more
	return !open || p.dangers[b].reads(&p.Steps[i])
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

// Renewed are the readings that a repair puts in doubt: they were taken of another plant.
func (p *Procedure) Renewed(repair string) []reading.Key {
	i, ok := p.index[repair]
	if !ok || !p.rules[i].repairs {
		return nil
	}
	var keys []reading.Key
	for _, j := range p.rules[i].renews {
		if p.Steps[j].Kind == Take {
			keys = append(keys, p.Steps[j].Reading)
		}
	}
	return keys
}
