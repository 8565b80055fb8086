package procedure

import (
	"fmt"
	"math"
	"math/bits"
	"slices"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A Danger is something found that decides what is safe: seen, read, or believed.
type Danger struct {
	ID    string
	Title string
	Card  []string // what to do now, at most five lines
	Stops bool     // it ends the measuring at once
	Safe  bool     // it is made safe for now
	Over  bool     // made safe, it is over; the card tells no more
}

// A dangerData is one [[danger]] of dangers.toml.
type dangerData struct {
	ID         string        `toml:"id"`
	Title      string        `toml:"title"`
	Closes     []string      `toml:"closes"`
	UntilSafe  []string      `toml:"until_safe"`
	MakeSafe   []string      `toml:"make_safe"`
	Unless     []string      `toml:"unless"` // what the site must not have, see siteHas
	Safe       []Flag        `toml:"safe"`
	Ends       bool          `toml:"ends"`
	Leave      bool          `toml:"leave"`
	Stops      bool          `toml:"stops"`
	Reading    []reading.Key `toml:"reading"`
	Above      any           `toml:"above"` // a figure, or "overcharge"
	Below      *float64      `toml:"below"`
	Over12V    float64       `toml:"over_12v"`
	Conditions []string      `toml:"conditions"`
	From       float64       `toml:"from"`
	Until      float64       `toml:"until"`
	Card       []string      `toml:"card"`
}

var inf = math.Inf(1)

// A hazard is a danger as the search reads it.
type hazard struct {
	dangerData
	safe     flagSet
	makeSafe []int
	above    float64 // a reading above it raises the danger; +Inf: none [unit of the reading]
	below    float64 // likewise below; -Inf: none
}

// reads reports whether what s takes can raise the danger.
func (h *hazard) reads(s *Step) bool {
	if s.Kind != Take {
		return false
	}
	_, _, finds := s.Reading.Node()
	return slices.Contains(h.Reading, s.Reading) || finds && slices.Contains(h.Reading, findingName)
}

// A dangerSet holds dangers as bits, by their place in dangers.toml.
type dangerSet uint32

// repairingName stands for all steps of mending in dangers.toml.
const repairingName = "mending"

// findingName stands for all steps that find the place of a fault.
const findingName = "finding"

// overchargeName stands for the highest charging voltage and a margin.
const overchargeName = "overcharge"

// linkDangers makes the dangers of the site, and says in the rules what each closes.
func (p *Procedure) linkDangers(s *site.Site, f facts, c catalogue, kept []stepData) error {
	for b, d := range c.Dangers {
		if slices.ContainsFunc(d.Unless, func(name string) bool { return siteHas[name](s) }) {
			d = dangerData{ID: d.ID, Title: d.Title}
		}
		h := hazard{dangerData: d, safe: setOf(d.Safe...), makeSafe: p.indices(d.MakeSafe), above: inf, below: -inf}
		switch x := d.Above.(type) {
		case int64:
			h.above = float64(x)
		case float64:
			h.above = x
		case string:
			if x != overchargeName {
				return fmt.Errorf("danger %s: above %q unknown, want a figure or %q", d.ID, x, overchargeName)
			}
			h.above = ChargeMaxV(s) + d.Over12V*s.NominalV/12
		}
		if d.Below != nil {
			h.below = *d.Below
		}
		p.dangers = append(p.dangers, h)
		for i, step := range kept {
			if closes(d.Closes, step) && !slices.Contains(d.MakeSafe, step.ID) {
				p.rules[i].closed |= 1 << b
			}
			raises := h.reads(&p.Steps[i]) // may be read once more
			if closes(d.UntilSafe, step) && !slices.Contains(d.MakeSafe, step.ID) && !raises {
				p.rules[i].closedOpen |= 1 << b
			}
		}
	}
	for i, step := range kept { // what leads to making safe is never closed by that danger
		for b := range p.dangers {
			if p.leadsTo(b, i) && step.Kind != Take {
				p.rules[i].closedOpen &^= 1 << b
			}
		}
	}
	return nil
}

// closes reports whether a list of dangers.toml names the step: by its id, its rung
// or as mending. Putting back is closed by name only.
func closes(list []string, d stepData) bool {
	if d.Each == "node" && slices.Contains(list, findingName) {
		return true
	}
	if slices.Contains(list, d.ID) || d.Repairs != "" && slices.Contains(list, repairingName) {
		return true
	}
	return slices.Contains(list, d.Rung.String()) && len(d.undone()) == 0 && d.When != danger
}

// leadsTo reports whether step i is on the way to a step that makes danger b safe.
func (p *Procedure) leadsTo(b, i int) bool {
	var on func(int) bool
	on = func(j int) bool {
		if j == i || slices.ContainsFunc(p.rules[j].needs, on) {
			return true
		}
		for f := range flags {
			if p.rules[j].requires&(1<<f) != 0 && p.set[f] >= 0 && on(p.set[f]) {
				return true
			}
		}
		return false
	}
	return slices.ContainsFunc(p.dangers[b].makeSafe, on)
}

// find notes the dangers that an outcome of step i tells of. A reading raises its
// dangers, and a later one ends them again.
func (p *Procedure) find(st *State, i int, o Outcome) {
	s := &p.Steps[i]
	for b := range p.dangers {
		h := &p.dangers[b]
		for _, id := range o.Chosen {
			if opt, ok := s.option(id); ok && opt.Danger == h.ID {
				st.found |= 1 << b
			}
		}
		if !h.reads(s) || o.Kind != Done {
			continue
		}
		if o.Value > h.above || o.Value < h.below {
			st.found |= 1 << b
		} else if !h.Stops {
			st.found &^= 1 << b
		}
	}
}

// Believe is the state with the dangers that the belief raises: p gives the
// probability of a condition by its id, and those of one danger count together. A danger
// that is made safe lasts until the belief gives it up.
func (p *Procedure) Believe(st State, probability func(condition string) float64) State {
	st.believed = 0
	for b := range p.dangers {
		h := &p.dangers[b]
		from := h.From
		if h.safe&st.flags != 0 {
			from = h.Until
		}
		sum := 0.0 // it does not matter which of them it is
		for _, id := range h.Conditions {
			sum += probability(id)
		}
		if len(h.Conditions) > 0 && sum >= from {
			st.believed |= 1 << b
		}
	}
	return st
}

// lasting are the dangers that are there now, and open those not made safe.
func (p *Procedure) lasting(st State) (all, open dangerSet) {
	if st.found|st.believed == 0 {
		return 0, 0
	}
	for b := range p.dangers {
		h := &p.dangers[b]
		if (st.found|st.believed)&(1<<b) == 0 {
			continue
		}
		safe := h.safe&st.flags != 0
		if !safe {
			open |= 1 << b
		}
		if !safe || !h.Ends {
			all |= 1 << b
		}
	}
	return all, open
}

// closedBy is the danger that closes step i now, -1 for none.
func (p *Procedure) closedBy(st State, i int) int {
	r := &p.rules[i]
	if st.found|st.believed == 0 || r.closed|r.closedOpen == 0 {
		return -1
	}
	all, open := p.lasting(st)
	if by := r.closed&all | r.closedOpen&open; by != 0 {
		return bits.TrailingZeros32(uint32(by))
	}
	return -1
}

// Dangers are those found and those believed, made safe or not, the worst first.
// One that was made safe and is over is among them, so that it can be told of.
func (p *Procedure) Dangers(st State) []Danger {
	var list []Danger
	for b := range p.dangers {
		h := &p.dangers[b]
		if (st.found|st.believed)&(1<<b) == 0 {
			continue
		}
		safe := h.safe&st.flags != 0
		list = append(list, Danger{ID: h.ID, Title: h.Title, Card: h.Card, Stops: h.Stops, Safe: safe, Over: safe && h.Ends})
	}
	return list
}

// Unsafe is the worst danger that is not made safe, false for none.
func (p *Procedure) Unsafe(st State) (Danger, bool) {
	list := p.Dangers(st)
	i := slices.IndexFunc(list, func(d Danger) bool { return !d.Safe })
	if i < 0 {
		return Danger{}, false
	}
	return list[i], true
}

// makingSafe is the next step toward making a danger safe, and the danger; false
// where none is open or nothing can be done about it.
func (p *Procedure) makingSafe(st State) (i, b int, ok bool) {
	_, open := p.lasting(st)
	for b := range p.dangers {
		if open&(1<<b) == 0 {
			continue
		}
		for _, to := range p.dangers[b].makeSafe {
			if i, ok := p.toward(st, to); ok {
				return i, b, true
			}
		}
	}
	return 0, 0, false
}

// toward is the next step on the way to step i, itself at last; false where it is
// answered or cannot be reached. What the visit itself asks it may ask again.
func (p *Procedure) toward(st State, i int) (int, bool) {
	if st.mark(i) != Open && p.rules[i].when != byVisit {
		return 0, false
	}
	pl := plan{flags: st.flags, at: st.at}
	if !p.add(st, &pl, i) {
		return 0, false
	}
	return pl.steps[0], true
}

// Reaches reports whether the step can be led to from here, with all that it needs.
func (p *Procedure) Reaches(st State, id string) bool {
	i, ok := p.index[id]
	if !ok {
		return false
	}
	_, ok = p.toward(st, i)
	return ok
}

// unsafe is the danger that ends the measuring because it cannot be made safe, -1
// for none.
func (p *Procedure) unsafe(st State) int {
	_, open := p.lasting(st)
	for b := range p.dangers {
		h := &p.dangers[b]
		if open&(1<<b) == 0 || !h.Leave {
			continue
		}
		if !slices.ContainsFunc(h.makeSafe, func(i int) bool { _, ok := p.toward(st, i); return ok }) {
			return b
		}
	}
	return -1
}

// Ended says why nothing more is measured or repaired: the probing was stopped, or a danger
// cannot be made safe. "" while the visit goes on.
func (p *Procedure) Ended(st State) string {
	if st.Stopped != "" {
		return st.Stopped
	}
	if b := p.unsafe(st); b >= 0 {
		return p.dangers[b].Title
	}
	return ""
}

// emergency is the danger whose card is to be read at once, -1 for none: a danger stop,
// one that cannot be made safe, or one that was not made safe before the person stopped.
func (p *Procedure) emergency(st State) int {
	for b := range p.dangers {
		if p.dangers[b].Stops && st.found&(1<<b) != 0 {
			return b
		}
	}
	if st.Stopped == "" {
		return p.unsafe(st)
	}
	if _, open := p.lasting(st); open != 0 {
		return bits.TrailingZeros32(uint32(open))
	}
	return -1
}
