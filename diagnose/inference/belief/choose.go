package belief

import "math"

// choose takes, one after the other, of the choices about what is switched on those parts
// under which the readings fit best. It leaves the plant solved with them.
func (m *model) choose(z *[dims]float64, h *hypothesis, c *[choices]span, e *evaluator) {
	if len(m.open) == 0 {
		return
	}
	parts := m.choiceParts(h)
	for _, d := range m.open {
		best, taken := math.Inf(1), whole
		for _, part := range parts[d-firstChoice] {
			z[d] = part.mid()
			e.solve(z, h)
			if cost := -e.roughly(startTemper/27) - e.logWords(h) - math.Log(part.width()); cost < best {
				best, taken = cost, part
			}
		}
		c[d-firstChoice], z[d] = taken, taken.mid()
	}
	e.solve(z, h)
}

// rechoose goes once more through the choices about what is switched on, at the mode to which
// a search came: far from it, where they were chosen, the readings say little. It reports
// whether another part is better there.
func (m *model) rechoose(z *[dims]float64, h *hypothesis, c *[choices]span, e *evaluator) (better bool) {
	if len(m.open) == 0 {
		return false
	}
	parts := m.choiceParts(h)
	for _, d := range m.open {
		best, taken := e.cost(z, h, 0)-math.Log(c[d-firstChoice].width())-rechooseGain, c[d-firstChoice]
		for _, part := range parts[d-firstChoice] {
			z[d] = part.mid()
			if cost := e.cost(z, h, 0) - math.Log(part.width()); cost < best {
				best, taken, better = cost, part, true
			}
		}
		if z[d] = taken.mid(); taken != whole {
			c[d-firstChoice] = taken
		}
	}
	return better
}

// rechooseGain is by how much another part must be better [nat].
const rechooseGain = 0.1
