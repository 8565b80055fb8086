package halfsplit

import (
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/site"
)

var voltmeter = quantity.Instrument{Percent: 0.8, Digits: 2, Resolution: 0.01}

func ends(source, sink float64, far Far) Ends {
	return Ends{Source: source, Sink: sink, Voltmeter: voltmeter, Far: far, CurrentA: NoReading}
}

func drawSite(t *rapid.T) *site.Site {
	return Invent(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "site"), 0)))
}

func drawNode(t *rapid.T, c *Chain) string {
	return rapid.SampledFrom(c.Nodes).Draw(t, "node").ID
}

// drawSearch is a search after any readings at all.
func drawSearch(t *rapid.T) (*Chain, Search) {
	c := ChainOf(drawSite(t), rapid.SampledFrom(Circuits).Draw(t, "circuit"))
	volts := rapid.OneOf(rapid.Just(math.NaN()), rapid.Float64Range(-60, 120))
	e := Ends{
		Source: volts.Draw(t, "source"), Sink: volts.Draw(t, "sink"), Voltmeter: voltmeter,
		Far: rapid.SampledFrom([]Far{FarUnknown, FarDead, FarFed}).Draw(t, "far"), CurrentA: rapid.OneOf(rapid.Just(math.NaN()), rapid.Float64Range(-20, 20)).Draw(t, "current"),
	}
	s := c.Search(rapid.SampledFrom(Faults).Draw(t, "fault"), e)
	for range rapid.IntRange(0, 3).Draw(t, "readings") {
		s = s.With(drawNode(t, c), rapid.Float64Range(-60, 120).Draw(t, "volts"))
	}
	return c, s
}

func of(s Search, part string) float64 {
	list := s.Parts()
	return list[slices.IndexFunc(list, func(b Belief) bool { return b.Part.ID == part })].P
}

func TestBeliefIsAProbability(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := drawSearch(t)
		var sum float64
		for i, b := range s.Parts() {
			sum += b.P
			assert.GreaterOrEqual(t, b.P, 0.)
			assert.True(t, i == 0 || s.Parts()[i-1].P >= b.P)
		}
		assert.Len(t, s.Parts(), len(c.Parts))
		assert.InDelta(t, 1, sum, 1e-9)
	})
}

// A search is a value, and the order of its readings does not matter, to the last bit.
func TestOrderAndCopies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, s := drawSearch(t)
		a, b := drawNode(t, c), drawNode(t, c)
		va, vb := rapid.Float64Range(-1, 60).Draw(t, "va"), rapid.Float64Range(-1, 60).Draw(t, "vb")
		before := s.Parts()
		one, other := s.With(a, va).With(b, vb), s.With(b, vb).With(a, va)
		assert.Equal(t, one.Parts(), other.Parts())
		n1, bits1, ok1 := one.Next()
		n2, bits2, ok2 := other.Next()
		assert.Equal(t, n1, n2)
		assert.Equal(t, bits1, bits2)
		assert.Equal(t, ok1, ok2)
		s.Without(a)
		assert.Equal(t, before, s.Parts())
		assert.Equal(t, s.Parts(), s.With(a, math.NaN()).With("no such node", 12).Parts())
	})
}

// A node that shows the source's voltage, while the far end is dead, never makes a part
// before it likelier; one that is dead never one behind it. Not above one in a
// hundred, that is: readings that agree make it less far-fetched that something feeds
// the far side with just this voltage, and that the far end was misread.
func TestLiveAndDead(t *testing.T) {
	const rare = 0.01
	rapid.Check(t, func(t *rapid.T) {
		plant := drawSite(t)
		c := ChainOf(plant, rapid.SampledFrom(Circuits).Draw(t, "circuit"))
		source := c.expected.open.mean * rapid.Float64Range(0.9, 1.1).Draw(t, "source")
		s := c.Search(Open, ends(source, 0, rapid.SampledFrom([]Far{FarUnknown, FarDead}).Draw(t, "far")))
		broken := rapid.IntRange(c.Nodes[0].behind, len(c.Parts)-1).Draw(t, "broken")
		for range rapid.IntRange(1, 4).Draw(t, "readings") {
			n := rapid.SampledFrom(c.Nodes[1:len(c.Nodes)-1]).Draw(t, "node")
			live := n.behind <= broken
			volts := 0.
			if live {
				volts = source
			}
			next := s.With(n.ID, volts)
			for i, p := range c.Parts {
				if (i < n.behind) == live {
					assert.LessOrEqual(t, of(next, p.ID), max(of(s, p.ID)+1e-9, rare), "%s at %s", p.ID, n.ID)
				}
			}
			s = next
		}
	})
}

// What charges and what discharges are alike: all differences and the current turned
// round, nothing else changes.
func TestJointEitherWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := ChainOf(drawSite(t), Battery)
		mid := c.expected.closed.mean
		amps := rapid.Float64Range(0.5, 10).Draw(t, "amps")
		drop := rapid.Float64Range(-0.02, 0.1).Draw(t, "drop") * mid
		at := rapid.SampledFrom(c.Nodes[1:len(c.Nodes)-1]).Draw(t, "node").ID
		try := func(sign float64) []Belief {
			e := ends(mid, mid-sign*drop, FarUnknown)
			e.CurrentA = sign * amps
			return c.Search(Joint, e).With(at, mid-sign*drop/2).Parts()
		}
		out, in := try(1), try(-1)
		for i := range out {
			assert.InDelta(t, out[i].P, in[i].P, 1e-6)
		}
	})
}

// With a step between two nodes and nothing else, the part between them has it.
func TestTheStepHasTheFault(t *testing.T) {
	for _, circuit := range Circuits {
		c := ChainOf(site.Demo(), circuit)
		for _, fault := range Faults {
			for k := c.Nodes[0].behind; k < len(c.Parts); k++ {
				high, low := c.expected.open.mean, 0.
				if fault == Joint {
					high = c.expected.closed.mean
					low = 0.9 * high
				}
				s := c.Search(fault, ends(high, low, FarDead))
				for _, n := range c.Nodes {
					if n.behind > k {
						s = s.With(n.ID, low)
					} else {
						s = s.With(n.ID, high)
					}
				}
				assert.Equal(t, c.Parts[k].ID, s.Parts()[0].Part.ID, fault)
				assert.Greater(t, s.Parts()[0].P, 0.9, "%s %s: but for a probe without contact", c.Parts[k].ID, fault)
			}
		}
	}
}

// A first part without a node before it is what is left where its node is dead.
func TestDeadAtTheModules(t *testing.T) {
	s := ChainOf(site.Demo(), Array).Search(Open, ends(0.02, 0, FarDead))
	assert.Equal(t, "array-box", s.Parts()[0].Part.ID)
	n, _, ok := s.Next()
	require.True(t, ok, "the probe may have had no contact")
	_, _, ok = s.With(n.ID, 0).Next()
	assert.False(t, ok)
}

// The first reading halves what is left: of a live and a dead end it lies so that
// neither side holds more than two in three.
func TestHalfSplitting(t *testing.T) {
	for _, circuit := range Circuits {
		c := ChainOf(site.Demo(), circuit)
		for i := range c.Nodes {
			c.Nodes[i].Minutes = 1
		}
		s := c.Search(Open, ends(c.expected.open.mean, 0, FarDead))
		n, bits, ok := s.Next()
		require.True(t, ok)
		assert.Greater(t, bits, 0.7)
		assert.LessOrEqual(t, bits, 1.)
		var before float64
		for _, p := range c.Parts[:n.behind] {
			before += of(s, p.ID)
		}
		assert.InDelta(t, 0.5, before, 1./6)
		other, _, _ := s.Without(n.ID).Next()
		assert.NotEqual(t, n.ID, other.ID)
	}
}

func TestRange(t *testing.T) {
	c := ChainOf(site.Demo(), Battery)
	whole, behind := c.Search(Open, ends(12.6, 0.01, FarDead)).Range("battery-fuse-out")
	assert.InDelta(t, 12.6, (whole.Lo+whole.Hi)/2, 0.05)
	assert.Less(t, whole.Hi-whole.Lo, 0.6)
	assert.Less(t, behind.Lo, 0.01)
	assert.Greater(t, behind.Hi, 0.01)
	assert.Less(t, behind.Hi, 0.5, "the far end was dead, so is the fuse behind the break")

	_, fed := c.Search(Open, ends(12.6, 18.4, FarFed)).Range("battery-fuse-out")
	assert.InDelta(t, 18.4, (fed.Lo+fed.Hi)/2, 0.2)

	_, none := c.Search(Open, ends(12.6, 0, FarDead)).Range("post")
	assert.True(t, math.IsNaN(none.Lo) && math.IsNaN(none.Hi), "nothing lies before the posts")
	nowhere, _ := c.Search(Open, ends(12.6, 0, FarDead)).Range("no such node")
	assert.True(t, math.IsNaN(nowhere.Lo))
}

func TestOnlyWhatTheSiteHas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSite(t)
		fuses := map[Circuit]float64{Array: s.Array.FuseA, Battery: s.Battery.FuseA, Load: s.LoadWiring.FuseA}
		for _, circuit := range Circuits {
			c := ChainOf(s, circuit)
			var all string
			for i, n := range c.Nodes {
				all += n.ID + " "
				assert.True(t, i == 0 || n.behind == c.Nodes[i-1].behind+1, "one part from node to node")
			}
			var open, joint float64
			for _, p := range c.Parts {
				all += p.ID + " "
				open, joint = open+p.Prior, joint+p.PriorJoint
			}
			assert.Equal(t, fuses[circuit] > 0, strings.Contains(all, "fuse"))
			assert.InDelta(t, 1, open, 1e-12)
			assert.InDelta(t, 1, joint, 1e-12)
		}
		assert.Equal(t, s.Controller.LoadOutput, ChainOf(s, Load).Source == "load")
		s.Loads = nil
		none := ChainOf(s, Load)
		assert.Empty(t, none.Parts)
		_, _, ok := none.Search(Open, ends(12, 0, FarDead)).Next()
		assert.False(t, ok)
	})
}

// drawn are the points that nodes name, the drawing's own and new ones.
var drawn = []string{
	"module", "array-side", "array", "controller-battery", "post", "load", "load-end",
	"array-switch-out", "array-fuse-out", "battery-lug", "battery-fuse-in", "battery-fuse-out", "battery-end",
	"load-fuse-in", "load-fuse-out", "load-switch-in", "load-switch-out", "load-joint-in",
}

func TestTexts(t *testing.T) {
	end := regexp.MustCompile(`[.?!;:]( |$)`)
	for seed := range uint64(30) {
		s := Invent(rand.New(rand.NewPCG(seed, 0)))
		for _, circuit := range Circuits {
			c := ChainOf(s, circuit)
			for _, p := range c.Parts {
				checkTexts(t, end, p.Title, p.Repair, p.RepairJoint, p.Caution)
				if circuit == Battery && p.ID != "battery-terminal" {
					assert.Regexp(t, "No rings", p.Caution, p.ID)
				}
			}
			for _, n := range c.Nodes {
				checkTexts(t, end, n.Title, n.Do, n.Probes, n.Caution)
				assert.Len(t, end.FindAllString(n.Do, -1), 2, n.Do)
				assert.True(t, strings.HasSuffix(n.Do, "Read, with the sign."), n.Do)
				assert.Contains(t, drawn, strings.TrimSuffix(n.Red, "+"))
				assert.Contains(t, drawn, strings.TrimSuffix(n.Black, "-"))
				assert.Contains(t, []string{"array", "controller", "battery", "load"}, n.Place)
				assert.Positive(t, n.Minutes)
				if strings.Contains(n.ID, "fuse") {
					assert.Regexp(t, "Leave the fuse in|Never pull a fuse", n.Caution, n.ID)
				}
				if n.Place == "battery" && n.ID != "load-switch-in" && n.ID != "load-switch-out" {
					assert.Contains(t, n.Caution, "Rings and watch off", n.ID)
				}
				if n.Place == "array" || n.Place == "load" {
					assert.Contains(t, n.Caution, "Only what you can reach from the ground", n.ID)
				}
			}
		}
	}
}

func checkTexts(t *testing.T, end *regexp.Regexp, texts ...string) {
	t.Helper()
	for _, text := range texts {
		assert.NotEmpty(t, text)
		assert.NotContains(t, text, "{{")
		assert.NotContains(t, text, "  ")
		assert.NotContains(t, text, "of ,", "a fuse that is not there")
		for _, sentence := range end.Split(text, -1) {
			assert.LessOrEqual(t, len(strings.Fields(sentence)), 25, sentence)
		}
	}
}
