package halfsplit

import (
	"math"
	"math/rand/v2"
	"slices"

	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/site"
)

// A Trial is an invented plant with one part at fault, to see whether the search
// finds it. What it is like is judgement, drawn over wide ranges and on purpose not
// from the figures that the search expects.
type Trial struct {
	Circuit Circuit
	Fault   Fault
	Part    string // the one at fault
	Ends    Ends
	Reached bool // both sides of that part can be touched; before an open first part that is not needed

	chain   *Chain
	search  Search
	circuit ladder
	blocked []string                       // nodes that nobody reaches
	gain    float64                        // the meter's own error, of the reading
	moves   struct{ source, sink float64 } // from one reading to the next, of their voltages, standard deviation
	rng     *rand.Rand
}

// How often things go wrong in a trial.
const (
	tooFar  = 0.1  // a node cannot be reached
	roof    = 0.2  // nor the modules' own box
	unread  = 0.15 // an end was not read before
	misread = 0.02 // a reading is simply wrong
	farTold = 0.7  // what holds the far side is known
	clamped = 0.7  // the current was measured
	minGap  = 0.02 // of the nominal voltage: less between both ends, and the class would not be sure
)

// NewTrial draws a plant at the site with a fault in the circuit, each part as likely
// as any other. The site must have parts there.
func NewTrial(s *site.Site, c Circuit, f Fault, rng *rand.Rand) *Trial {
	for {
		t := &Trial{Circuit: c, Fault: f, chain: ChainOf(s, c), rng: rng}
		t.Ends.Voltmeter = quantity.Instrument{Percent: t.between(0.3, 1), Digits: 2, Resolution: 0.01}
		t.gain = t.between(-1, 1) * t.Ends.Voltmeter.Percent / 100
		part := rng.IntN(len(t.chain.Parts))
		t.Part = t.chain.Parts[part].ID
		t.wire(s)
		if f == Open {
			t.open(s, part)
		} else {
			t.joint(s, part)
		}
		first, last := t.circuit.read(t.rung(t.chain.Source)), t.circuit.read(t.rung(t.chain.Sink))
		if t.Part == "array-box" || math.Abs(first-last) >= minGap*s.NominalV { // before the box nothing is read: the currents tell that class
			t.limit(part)
			t.begin()
			return t
		}
	}
}

func (t *Trial) between(lo, hi float64) float64 { return lo + (hi-lo)*t.rng.Float64() }

// decades is even in the logarithm.
func (t *Trial) decades(lo, hi float64) float64 {
	return math.Exp(t.between(math.Log(lo), math.Log(hi)))
}

func (t *Trial) chance(p float64) bool { return t.rng.Float64() < p }

func (t *Trial) rung(node string) int {
	n, _ := t.chain.Node(node)
	return n.behind
}

// wire gives every part the resistance of a sound one: contacts of 0.5 to 5 milliohm,
// cables of 15 to 22 milliohm·mm²/m in each wire.
func (t *Trial) wire(s *site.Site) {
	l := &t.circuit
	l.leak, l.meter = t.decades(1e7, 1e9), 10e6
	for _, p := range t.chain.Parts {
		row := func() float64 { return t.decades(0.0005, 0.005) }
		if m, mm2, ok := runOf(s, p.ID); ok && mm2 > 0 {
			each := 0.018 * t.between(0.85, 1.25) * m / mm2
			row = func() float64 { return each + 0.001 }
		}
		l.plus, l.minus = append(l.plus, row()), append(l.minus, row())
	}
}

func runOf(s *site.Site, part string) (m, mm2 float64, ok bool) {
	switch part {
	case "array-cable":
		return s.Array.CableM, s.Array.CableMM2, true
	case "battery-cable":
		return s.Battery.CableM, s.Battery.CableMM2, true
	case "load-cable":
		return s.LoadWiring.CableM, s.LoadWiring.CableMM2, true
	}
	return 0, 0, false
}

// open breaks a part in one wire, a switch or plug perhaps in both. Over the break
// leaks 1 megohm to 1 gigohm.
func (t *Trial) open(s *site.Site, part int) {
	l := &t.circuit
	gap := t.decades(1e6, 1e9)
	id := t.Part
	fuse := slices.Contains([]string{"array-fuse", "battery-fuse", "battery-lug", "load-fuse"}, id) // in the plus wire only
	both := !fuse && slices.Contains([]string{"array-switch", "load-switch"}, id) && t.chance(0.5)
	if fuse || both || t.chance(0.5) {
		l.plus[part] = gap
	} else {
		l.minus[part] = gap
	}
	if both {
		l.minus[part] = gap
	}
	v, voc := s.NominalV, float64(s.Array.Series)*s.Array.Module.VocV
	t.Ends.CurrentA, t.Ends.Far = math.NaN(), FarDead
	switch t.Circuit {
	case Array:
		l.source = emf{voc * t.between(0.8, 1.02), 0.5 * s.Array.Module.VocV / s.Array.Module.IscA}
		l.sink = emf{0, t.decades(1e3, 1e7)}
		if t.chance(0.3) {
			l.sink, t.Ends.Far = emf{v * t.between(0.95, 1.15), t.decades(1e3, 1e6)}, FarFed
		}
		t.moves.source, t.moves.sink = 0.008, 0.003
	case Battery:
		l.source = emf{v * t.between(0.93, 1.12), 0.05}
		l.sink = emf{0, t.decades(50, 1e6)}
		if t.chance(0.5) {
			l.sink, t.Ends.Far = emf{t.between(v, max(voc, 1.2*v)), t.decades(0.5, 1e3)}, FarFed
		}
		t.moves.source, t.moves.sink = 0.003, 0.003
	case Load:
		l.source = emf{v * t.between(0.93, 1.18), 0.05}
		l.sink = emf{0, v * v / s.AllListedW()}
		if t.chance(0.3) { // the loads are off: the wires float
			l.sink.ohm = 1e10
		}
		t.moves.source = 0.003
	}
	if !t.chance(farTold) {
		t.Ends.Far = FarUnknown
	}
}

// joint gives a part more resistance, as much as the formats call a fault, at a current
// as it happens to be.
func (t *Trial) joint(s *site.Site, part int) {
	l := &t.circuit
	v, a := s.NominalV, s.Array
	vmp, imp := float64(a.Series)*a.Module.VmpV, float64(a.Strings)*a.Module.ImpA
	const stiff = 100 // a source of current: a high voltage behind a high resistance
	var more float64
	switch t.Circuit {
	case Array:
		holds := v * t.between(1, 1.2)
		if s.Controller.Kind == site.MPPT {
			holds = vmp * t.between(0.85, 0.95)
		}
		amps := imp * t.between(0.3, 1)
		l.source, l.sink = emf{stiff * vmp, stiff * vmp / amps}, emf{holds, 0.05}
		more = t.decades(0.04, 0.5) * vmp / imp
		t.moves.source, t.moves.sink = 0.01, 0.003 // the current, as thin clouds move it; the battery
		if s.Controller.Kind == site.MPPT {
			t.moves.sink = 0.008
		}
	case Battery:
		l.source = emf{v * t.between(0.95, 1.1), 0.03}
		amps := t.decades(0.5, 0.1*s.Battery.CapacityAh)
		l.sink = emf{0, v / amps}
		if t.chance(0.5) { // it charges
			l.sink = emf{stiff * v, stiff * v / amps}
		}
		more = t.decades(0.03, 0.5) * v / 12
		t.moves.source, t.moves.sink = 0.002, 0.002
	case Load:
		l.source = emf{v * t.between(0.95, 1.15), 0.05}
		amps := s.AllListedW() / v
		l.sink = emf{0, v / amps}
		more = t.between(0.08, 0.35) * v / amps
		t.moves.source, t.moves.sink = 0.002, 0.002
	}
	if t.chance(0.5) {
		l.plus[part] += more
	} else {
		l.minus[part] += more
	}
	t.Ends.CurrentA = math.NaN()
	if t.chance(clamped) {
		t.Ends.CurrentA = l.amperes()*(1+t.between(-0.025, 0.025)) + t.between(-0.05, 0.05)
	}
}

// limit draws which nodes cannot be reached.
func (t *Trial) limit(part int) {
	t.Reached = t.Fault == Open || t.chain.Nodes[0].behind <= part
	for _, n := range t.chain.Nodes {
		p := tooFar
		if n.ID == "module" {
			p = roof
		} else if n.ID == t.chain.Source || n.ID == t.chain.Sink {
			p = 0
		}
		if t.chance(p) {
			t.blocked = append(t.blocked, n.ID)
			t.Reached = t.Reached && n.behind != part && n.behind != part+1
		}
	}
}

// begin reads the ends and begins the search.
func (t *Trial) begin() {
	end := func(node string) float64 {
		if t.chance(unread) || slices.Contains(t.blocked, node) {
			return math.NaN()
		}
		return t.read(node)
	}
	t.Ends.Source, t.Ends.Sink = end(t.chain.Source), end(t.chain.Sink)
	t.search = t.chain.Search(t.Fault, t.Ends)
}

// read is a reading at the node as a person takes it, with all its errors.
func (t *Trial) read(node string) float64 {
	rung := t.rung(node)
	if t.chance(misread) {
		switch t.rng.IntN(3) {
		case 0: // the probe had no contact
			return t.shown(t.between(-0.02, 0.02))
		case 1: // the next point was touched
			rung = min(max(rung+1-2*t.rng.IntN(2), 0), len(t.chain.Parts))
		default: // a digit was mistaken
			return t.shown(t.circuit.read(rung) + math.Copysign(t.decades(0.1, 10), t.between(-1, 1)))
		}
	}
	now := t.circuit
	now.source.volts *= 1 + t.moves.source*t.rng.NormFloat64()
	now.sink.volts *= 1 + t.moves.sink*t.rng.NormFloat64()
	return t.shown(now.read(rung))
}

// shown is what the meter's display makes of a voltage.
func (t *Trial) shown(volts float64) float64 {
	in := t.Ends.Voltmeter
	volts += t.gain*volts + t.between(-1, 1)*in.Digits*in.Resolution
	return math.Round(volts/in.Resolution) * in.Resolution
}

// An Outcome is what became of a trial.
type Outcome struct {
	Named    string // the part found sure, "" where none was
	Among    bool   // the right one is among those that were left
	Left     int    // how many were left
	Readings int    // taken after the ends
}

// Right reports whether the part named is the one.
func (t *Trial) Right(o Outcome) bool { return o.Named == t.Part }

// Run lets a search ask until it asks no more.
func (t *Trial) Run() (o Outcome) {
	s := t.search
	for {
		n, _, ok := s.Next()
		if !ok {
			break
		}
		if slices.Contains(t.blocked, n.ID) {
			s = s.Without(n.ID)
			continue
		}
		s = s.With(n.ID, t.read(n.ID))
		o.Readings++
	}
	left := s.Left()
	o.Left = len(left)
	o.Among = slices.ContainsFunc(left, func(b Belief) bool { return b.Part.ID == t.Part })
	if len(left) == 1 {
		o.Named = left[0].Part.ID
	}
	return o
}
