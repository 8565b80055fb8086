package tui

import (
	"strings"

	"ampwalk/diagnose/field/procedure"
)

// ladder is the way through the rungs of the hazard ladder with the present
// one in brackets; where w is short, the rungs nearest to it.
func ladder(st styles, at procedure.Rung, w int) string {
	const step, last = " > ", procedure.Leave
	here := "[" + at.String() + "]"
	from, to := at, at
	width := func(from, to procedure.Rung) int {
		n := len(here)
		for r := from; r <= to; r++ {
			if r != at {
				n += len(step) + len(r.String())
			}
		}
		if from > procedure.Prepare {
			n += len(ellipsis + step)
		}
		if to < last {
			n += len(step + ellipsis)
		}
		return n
	}
	for grew := true; grew; {
		grew = false
		if to < last && width(from, to+1) <= w {
			to, grew = to+1, true
		}
		if from > procedure.Prepare && width(from-1, to) <= w {
			from, grew = from-1, true
		}
	}
	var parts []string
	if from > procedure.Prepare {
		parts = append(parts, ellipsis)
	}
	for r := from; r <= to; r++ {
		if r == at {
			parts = append(parts, st.here.Render(here))
			continue
		}
		parts = append(parts, r.String())
	}
	if to < last {
		parts = append(parts, ellipsis)
	}
	return strings.Join(parts, step)
}
