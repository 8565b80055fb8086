package halfsplit

import "ampwalk/diagnose/physics/site"

// A Chain is one circuit of one site, its parts and nodes in order from the source
// to the sink.
type Chain struct {
	Circuit Circuit
	Parts   []Part
	Nodes   []Node
	Source  string // the node of the reading at the source, as module_v; "" where there are no parts
	Sink    string // the node of the reading at the sink, as array_v

	expected expected
}

// ChainOf is the circuit c of the site, with only the parts that the site has. A site
// without loads has no load circuit: its chain has no parts.
func ChainOf(s *site.Site, c Circuit) *Chain {
	b := builder{facts: factsOf(s), chain: &Chain{Circuit: c, expected: expect(s, c)}}
	a, battery, wiring := s.Array, s.Battery, s.LoadWiring
	switch {
	case c == Array:
		b.part("array-box", contactOhm)
		b.node("module")
		b.part("array-cable", cableOhm(a.CableM, a.CableMM2))
		b.node("array-side")
		b.part("array-switch", contactOhm)
		b.node("array-switch-out")
		if a.FuseA > 0 {
			b.part("array-fuse", contactOhm)
			b.node("array-fuse-out")
		}
		b.part("array-terminal", contactOhm)
		b.node("array")
	case c == Battery:
		b.node("post")
		b.part("battery-post", contactOhm)
		b.node("battery-lug")
		if battery.FuseA > 0 {
			b.part("battery-lug", contactOhm)
			b.node("battery-fuse-in")
			b.part("battery-fuse", contactOhm)
			b.node("battery-fuse-out")
		}
		b.part("battery-cable", cableOhm(battery.CableM, battery.CableMM2))
		b.node("battery-end")
		b.part("battery-terminal", contactOhm)
		b.node("controller-battery")
	case c == Load && len(s.Loads) > 0:
		b.node(b.facts.loadFrom)
		b.part("load-terminal", contactOhm)
		if wiring.FuseA > 0 {
			b.node("load-fuse-in")
			b.part("load-fuse", contactOhm)
			b.node("load-fuse-out")
		} else {
			b.node("load-switch-in")
		}
		b.part("load-switch", contactOhm)
		b.node("load-switch-out")
		b.part("load-cable", cableOhm(wiring.CableM, wiring.CableMM2))
		b.node("load-joint-in")
		b.part("load-joint", contactOhm)
		b.node("load-end")
	}
	return b.done()
}

// contactOhm is a sound contact, of a plug, a fuse or a screw, both wires together
// [ohm]. Judgement.
const contactOhm = 0.004

// cableOhm is a copper cable there and back [ohm], from its length one way [m] and
// its cross-section [mm²]; 0 where the site does not tell them.
//
// Source: 0.0178 ohm·mm²/m at 25 °C (from memory). What a strand, the heat and the
// true length change is in the spread of the current, see [currentSpread].
func cableOhm(m, mm2 float64) float64 {
	if !(mm2 > 0) {
		return 0
	}
	return 2 * m * 0.0178 / mm2
}

// A builder puts a chain together.
type builder struct {
	facts facts
	chain *Chain
}

func (b *builder) part(id string, ohm float64) {
	p := partOf(id, b.facts)
	p.ohm = ohm
	b.chain.Parts = append(b.chain.Parts, p)
}

func (b *builder) node(id string) {
	n := nodeOf(id, b.facts)
	n.behind = len(b.chain.Parts)
	b.chain.Nodes = append(b.chain.Nodes, n)
}

// done makes the priors add up to 1.
func (b *builder) done() *Chain {
	c := b.chain
	if len(c.Parts) == 0 {
		return c
	}
	c.Source, c.Sink = c.Nodes[0].ID, c.Nodes[len(c.Nodes)-1].ID
	var open, joint float64
	for _, p := range c.Parts {
		open += p.Prior
		joint += p.PriorJoint
	}
	for i := range c.Parts {
		c.Parts[i].Prior /= open
		c.Parts[i].PriorJoint /= joint
	}
	return c
}

// Node is the node of that name.
func (c *Chain) Node(id string) (Node, bool) {
	for _, n := range c.Nodes {
		if n.ID == id {
			return n, true
		}
	}
	return Node{}, false
}

// ohmTo is what the sound circuit has between the source and the node [ohm].
func (c *Chain) ohmTo(n Node) float64 {
	var sum float64
	for _, p := range c.Parts[:n.behind] {
		sum += p.ohm
	}
	return sum
}
