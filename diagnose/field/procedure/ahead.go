package procedure

import "slices"

// Ahead is what is still asked at most, as things stand: readings, and minutes with all that
// they need first, putting back and leaving. Each answer can make it less; a surprising one
// can make it more.
func (p *Procedure) Ahead(st State, by Search) (readings int, minutes float64) {
	all := plan{flags: st.flags, at: st.at}
	if p.Ended(st) == "" {
		for i := range p.Steps {
			if p.Steps[i].Always && st.mark(i) == Open {
				p.add(st, &all, i)
			}
		}
		plans := p.plans(st, by)
		if by.Hurried {
			plans = p.affordable(st, plans, by.Minutes)
		}
		for _, pl := range plans {
			p.add(st, &all, pl.take())
		}
	}
	for _, i := range all.steps {
		if s := &p.Steps[i]; s.Kind == Take && s.Meter != "" {
			readings++
		}
	}
	undone := all.flags
	for b := range flags {
		if f := flagSet(1) << b; undone&f&openFlags != 0 && p.undo[b] >= 0 {
			minutes += p.Steps[p.undo[b]].Minutes
		}
	}
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.Rung == Leave && st.mark(i) == Open && p.timely(st, i) && !slices.Contains(all.steps, i) {
			minutes += s.Minutes
		}
	}
	return readings, minutes + all.minutes
}
