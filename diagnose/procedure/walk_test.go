package procedure

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
)

// A node is a state of the walk.
type node struct {
	st    State
	plant plantState
	phase int
}

// A nodeKey is a node without what changes nothing later: whether a reading or
// a plain action was done or could not be (but not whether any probe was used),
// whether a confirmation was refused or could not be given, and, once the
// measuring has ended, all but what is open and its putting back. The walk
// checks that equal keys ask the same.
type nodeKey struct {
	marks   string
	flags   flagSet
	stopped bool
	probed  bool
	plant   plantState
	phase   int
}

func (n node) key(p *Procedure) nodeKey {
	k := nodeKey{flags: n.st.flags, stopped: n.st.Stopped != "", probed: p.probed(n.st), plant: n.plant, phase: n.phase}
	closing := p.closing(n.st)
	if closing {
		k.plant.rung, k.plant.agreed, k.phase = 0, 0, 0
	}
	marks := make([]byte, len(p.Steps))
	for i := range p.Steps {
		s := &p.Steps[i]
		m := n.st.mark(i)
		matters := s.Kind == Confirm || s.Kind == Act && (p.rules[i].sets|p.rules[i].clears != 0)
		switch {
		case closing && s.Rung < Restore && p.rules[i].undoes == 0:
			m = Open
		case m != Open && !matters:
			m = Good
		case m == Refused:
			m = Missed
		}
		marks[i] = byte(m)
	}
	k.marks = string(marks)
	return k
}

// A walk explores every reachable state of a procedure under every class of
// answer. The worth of readings goes through its phases at any moment.
type walk struct {
	p       *Procedure
	worths  []Worth
	absent  map[string]bool
	asked   map[string]bool
	seen    map[nodeKey]string // the step asked, "" at an end
	onPath  map[nodeKey]bool
	moves   int
	broken  map[string]string // invariant to the first step that broke it
	stopped bool              // once something broke
}

func explore(p *Procedure, absent []string, worths ...Worth) *walk {
	w := &walk{p: p, worths: worths, absent: map[string]bool{}, asked: map[string]bool{}, seen: map[nodeKey]string{},
		onPath: map[nodeKey]bool{}, broken: map[string]string{}}
	for _, id := range absent {
		w.absent[id] = true
	}
	w.visit(node{})
	return w
}

func (w *walk) fail(what, where string) {
	if _, known := w.broken[what]; !known {
		w.broken[what] = where
	}
	w.stopped = true
}

func (w *walk) visit(n node) {
	if w.stopped {
		return
	}
	key := n.key(w.p)
	if w.onPath[key] {
		w.fail("a path that does not end", fmt.Sprint(n.plant))
		return
	}
	i, why, ok := w.p.next(n.st, w.worths[n.phase])
	id := ""
	if ok {
		id = w.p.Steps[i].ID
	}
	if was, known := w.seen[key]; known {
		if was != id {
			w.fail("equal keys ask differently", was+" and "+id)
		}
		return
	}
	w.seen[key] = id
	if !ok {
		if what := n.plant.checkEnd(w.p, n.st); what != "" {
			w.fail(what, fmt.Sprintf("%+v", n.plant))
		}
		if n.phase+1 == len(w.worths) {
			return
		}
	}
	w.onPath[key] = true
	defer delete(w.onPath, key)
	if n.phase+1 < len(w.worths) {
		w.moves++
		next := node{n.st, n.plant, n.phase + 1}
		next.plant.rung = 0
		w.visit(next)
	}
	if !ok {
		return
	}
	if why == "" {
		w.fail("no reason why", id)
	}
	s := w.p.Steps[i]
	w.asked[id] = true
	if what := n.plant.check(s, w.absent); what != "" {
		w.fail(what, fmt.Sprintf("%s in %+v", id, n.plant))
		return
	}
	for _, o := range answers(s) {
		w.moves++
		next := node{w.p.Apply(n.st, o), n.plant.after(id, s.Kind, o, o.Kind == Done && o.Yes == (s.Good == "yes")), n.phase}
		if s.Kind == Take && o.Kind != Stop {
			next.plant.rung = max(next.plant.rung, rungOf(s.Reading))
		}
		w.visit(next)
	}
}

// dangerous reports whether 61 in the unit of k must end the probing: it is
// above 60 V, and above 50 °C at a battery.
func dangerous(k reading.Key) bool {
	spec, _ := reading.SpecOf(k)
	return spec.Meter == reading.Voltmeter && spec.Form == reading.Number || k == reading.BatteryC
}

// answers are the classes of answer to s.
func answers(s Step) []Outcome {
	outcomes := []Outcome{
		{Step: s.ID, Kind: Stop, Reason: "the person wants to end"},
		{Step: s.ID, Kind: Cannot, Reason: "cannot " + s.ID},
		{Step: s.ID, Kind: Done, Yes: true},
	}
	if s.Kind == Confirm {
		outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done, Yes: false})
	}
	for word := range s.Skips {
		outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done, Word: word})
	}
	if dangerous(s.Reading) {
		outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done, Value: 61})
	}
	return outcomes
}

// Worths: nothing, everything, every second reading, only what must be set up
// for, and steeply rising along the visit.
func nothing(reading.Key) float64    { return 0 }
func everything(reading.Key) float64 { return 1 }
func second(k reading.Key) float64   { return float64(len(k) % 2) }
func setUp(k reading.Key) float64 {
	spec, _ := reading.SpecOf(k)
	if strings.HasPrefix(spec.Section, "as_found") {
		return 0
	}
	return 1
}
func rising(k reading.Key) float64 {
	i := slices.IndexFunc(reading.Specs, func(s reading.Spec) bool { return s.Key == k })
	return math.Pow(4, float64(i+1))
}

// phases of each walk: the worth may change at any moment, as it does when
// what the readings say turns out otherwise or an answer is corrected.
var phases = [][]Worth{{nothing}, {second}, {rising, nothing}, {setUp, everything}}

var battery = []string{"gravity", "water", "block_v"}

func TestEveryState(t *testing.T) {
	arraySide := []string{"array_v", "module_v", "array-isolate", "open_v", "short-on", "short_a", "rest", "rest_v",
		"standby_a", "loads-off", "array-connect", "proved", "load-step-on"}
	tests := []struct {
		site   *site.Site
		absent []string // what must never be asked there
		asked  []string // what must be, somewhere
	}{
		{flooded12(), []string{"block_v", "limits"}, []string{"gravity", "short_a", "load_v", "load_step.post_v", "safe-back",
			"battery-connect", "label-open", "keep-away", "meter-after", "lamps.array lamp", "loads-on"}},
		{mppt24(), []string{"load_v", "gravity", "water", "short-on", "short_a", "short-lead", "short-off", "limits"},
			[]string{"block_v", "open_v", "load_end_v"}},
		{lfp12(), append([]string{"load_a", "load_end_v", "loads-on", "load-step-on", "step_a", "load_step.post_v", "limits"}, battery...),
			[]string{"rest_v", "short_a"}},
		{highArray(), arraySide, []string{"limits", "battery_v", "post_v", "array_a"}},
		{highShunt(), append([]string{"battery_v", "load_v", "load_end_v"}, arraySide...), []string{"limits", "post_v", "array_a"}},
		{lookOnly(), append([]string{"battery_v", "post_v", "load_end_v", "jewellery"}, arraySide...), []string{"limits", "array_a", "battery_a"}},
	}
	states, moves := 0, 0
	for _, tt := range tests {
		t.Run(tt.site.Name, func(t *testing.T) {
			p := For(tt.site)
			asked := map[string]bool{}
			for _, worths := range phases {
				w := explore(p, tt.absent, worths...)
				require.Empty(t, w.broken)
				for id := range w.asked {
					asked[id] = true
				}
				states += len(w.seen)
				moves += w.moves
			}
			for _, id := range tt.asked {
				assert.True(t, asked[id], "%s is never asked", id)
			}
			for _, s := range p.Steps {
				assert.True(t, asked[s.ID], "%s belongs to the site but is never asked", s.ID)
			}
		})
	}
	t.Logf("explored %d states, %d transitions", states, moves)
}

// Each invariant fails on a copy of the procedure that was broken on purpose:
// the checker itself is tested.
func TestBrokenCopies(t *testing.T) {
	step := func(c *catalogue, id string) *stepData {
		for i := range c.Steps {
			if c.Steps[i].ID == id {
				return &c.Steps[i]
			}
		}
		panic(id)
	}
	remove := func(c *catalogue, id string) {
		for i := range c.Steps {
			if c.Steps[i].ID == id {
				c.Steps = append(c.Steps[:i], c.Steps[i+1:]...)
				return
			}
		}
		panic(id)
	}
	const (
		isolation  = "isolation is missing"
		precaution = "a precaution is missing"
		unrecorded = "something stays open unrecorded"
		battFirst  = "array connected before the battery"
	)
	tests := []struct {
		name   string
		site   *site.Site
		change func(*catalogue)
		want   string
	}{
		{"open_v without isolating", flooded12(), func(c *catalogue) { step(c, "open_v").Requires = nil }, isolation},
		{"standby_a with loads on", flooded12(), func(c *catalogue) { step(c, "standby_a").Requires = []Flag{ArrayIsolated} }, isolation},
		{"short_a without shorting", flooded12(), func(c *catalogue) { step(c, "short_a").Requires = []Flag{ArrayIsolated} }, isolation},
		{"rest with the array on", mppt24(), func(c *catalogue) { step(c, "rest").Requires = []Flag{LoadsOff} }, isolation},
		{"as found after isolating", mppt24(), func(c *catalogue) { step(c, "array_v").Forbids = nil }, isolation},
		{"rested after the load step", mppt24(), func(c *catalogue) { step(c, "load-step-on").Clears = nil }, isolation},
		{"short-on while connected", flooded12(), func(c *catalogue) { step(c, "short-on").Requires = nil }, "a source shorted that must not be"},
		{"rings not asked", flooded12(), func(c *catalogue) { step(c, "jewellery").Opens = nil }, precaution},
		{"goggles not asked", flooded12(), func(c *catalogue) { step(c, "eyes").Opens = nil }, precaution},
		{"no-current not asked", flooded12(), func(c *catalogue) { step(c, "no-current").Opens = nil }, precaution},
		{"clamp not zeroed", lookOnly(), func(c *catalogue) { step(c, "clamp-fit").Opens = nil }, precaution},
		{"battery not asked for", flooded12(), func(c *catalogue) { remove(c, "battery-connected") }, battFirst},
		{"battery's answer not heeded", flooded12(), func(c *catalogue) { step(c, "array-connect").Forbids = []Flag{ArrayShorted} }, battFirst},
		{"restore order swapped", flooded12(), func(c *catalogue) {
			*step(c, "battery-connected"), *step(c, "array-connect") = *step(c, "array-connect"), *step(c, "battery-connected")
		}, battFirst},
		{"shorted array connected", flooded12(), func(c *catalogue) {
			step(c, "array-connect").Forbids = []Flag{BatteryIsolated}
		}, "a shorted array connected"},
		{"array never put back", flooded12(), func(c *catalogue) { remove(c, "array-connect") }, unrecorded},
		{"loads never put back", flooded12(), func(c *catalogue) { remove(c, "loads-back") }, unrecorded},
		{"nothing labelled", flooded12(), func(c *catalogue) { remove(c, "label-open") }, unrecorded},
		{"danger does not stop", flooded12(), func(c *catalogue) { step(c, "battery-look").Stops = false }, "measuring goes on after a stop"},
		{"voltage does not stop", flooded12(), func(c *catalogue) { step(c, "post_v").StopAbove = 0 }, "measuring goes on after a stop"},
		{"clamping after battery work", flooded12(), func(c *catalogue) { step(c, "standby_a").Rung = Battery }, "a lower rung after a higher one"},
		{"stop without a question", flooded12(), func(c *catalogue) { step(c, "safe-back").Opens = nil }, "putting back without asking whether it is safe"},
		{"putting back what stays open", flooded12(), func(c *catalogue) { step(c, "loads-back").Sets = []Flag{LoadsOff} }, "a path that does not end"},
		{"nobody asked", flooded12(), func(c *catalogue) { step(c, "permission").Opens = nil }, precaution},
		{"no log", flooded12(), func(c *catalogue) { remove(c, "log") }, "the end comes before leaving"},
		{"gravity on a sealed battery", mppt24(), func(c *catalogue) { step(c, "gravity").If = nil }, "a step that the site does not have"},
		{"probing a high array", highArray(), func(c *catalogue) { step(c, "array_v").Touches = noCircuit }, "a step that the site does not have"},
		{"isolating a high array", highShunt(), func(c *catalogue) { step(c, "array-isolate").Touches = noCircuit }, "a step that the site does not have"},
	}
	absent := map[string][]string{
		"mppt24": {"gravity"}, "highArray": {"array_v"}, "highShunt": {"array-isolate"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, err := parseCatalogue(stepsTOML)
			require.NoError(t, err)
			tt.change(&c)
			p, err := build(tt.site, c)
			require.NoError(t, err)
			assert.Contains(t, violations(p, absent[tt.site.Name]), tt.want)
		})
	}
}

// violations are the invariants that p breaks, as far as the first of each walk.
func violations(p *Procedure, absent []string) []string {
	var found []string
	for _, worths := range phases {
		for what := range explore(p, absent, worths...).broken {
			found = append(found, what)
		}
	}
	return found
}
