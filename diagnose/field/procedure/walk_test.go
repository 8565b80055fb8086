package procedure

import (
	"fmt"
	"math"
	"runtime/debug"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A node is a state of the walk.
type node struct {
	st    State
	plant plantState
	phase int
	after string // the step answered last
}

// A nodeKey is a node without what changes nothing later: whether a reading or
// a plain action was done or could not be (but not whether any probe was used);
// of a confirmation, all but what it closes; and, once nothing more will be
// measured, all but what is open and its putting back. The walk checks that equal keys
// ask the same.
type nodeKey struct {
	marks   string
	flags   flagSet
	at      string
	stopped bool
	leaving bool
	probed  bool
	plant   plantState
	phase   int
	dangers [2]dangerSet
	beside  int // the step that comes next on a sheet, from 1; 0: none
}

func (n node) key(p *Procedure, keeps []bool, leaving bool) nodeKey {
	k := nodeKey{dangers: [2]dangerSet{n.st.found, n.st.believed}, flags: n.st.flags, at: n.st.at, stopped: n.st.Stopped != "", leaving: leaving, probed: p.probed(n.st), plant: n.plant.merged(), phase: n.phase}
	k.plant.agreed = 0 // see passed
	if k.stopped || leaving {
		k.plant.rung, k.phase, k.at = 0, 0, ""
		k.plant.missed = 0
	}
	if k.stopped { // of what was found it matters only what may not be put back
		k.dangers, k.plant.found, k.plant.believed = [2]dangerSet{}, 0, 0
		for i := range p.Steps {
			if p.rules[i].undoes != 0 && p.closedBy(n.st, i) >= 0 {
				k.dangers[0] |= dangerSet(p.rules[i].undoes)
			}
		}
		k.dangers[1] = dangerSet(p.emergency(n.st) + 1)
	}
	marks := make([]byte, len(p.Steps))
	for i := range p.Steps {
		s, r := &p.Steps[i], &p.rules[i]
		m := n.st.mark(i)
		switch {
		case leaving && s.Rung < Restore && r.undoes == 0 && r.when != emergency:
			m = Open
		case k.stopped && s.Rung < Restore && r.undoes == 0 && !keeps[i]:
			m = Open
		case r.undoes != 0: // its flag tells whether it is still to be done
			if m == Good && !keeps[i] || m == Missed && r.undoes&n.st.flags == 0 {
				m = Open
			}
		case m == Open && slices.ContainsFunc(r.needs, func(c int) bool { return n.st.mark(c) > Good }):
			m = Missed // as good as
		case m != Open && s.Kind == Act && r.sets != 0 && !keeps[i]: // its flag tells whether it is in force
			m = Missed
		case m != Open && !keeps[i]:
			m = Good
		case m == Refused:
			m = Missed
		}
		marks[i] = byte(m)
	}
	k.marks = string(marks)
	if i, _, ok := p.beside(n.st, n.after); ok && !k.stopped {
		k.beside = i + 1
	}
	return k
}

// keeps are the steps of which it matters later whether they were good: what
// putting back, an action or a choice rests on, and what may be renewed.
func keeps(p *Procedure) []bool {
	keep := make([]bool, len(p.Steps))
	for i := range p.Steps {
		s, r := &p.Steps[i], &p.rules[i]
		keep[i] = keep[i] || r.when == emergency
		for _, o := range s.options {
			if j, ok := p.index[o.Needs]; ok {
				keep[j] = true
			}
		}
		for _, c := range r.needs {
			keep[c] = keep[c] || r.undoes != 0
		}
		for _, c := range r.after {
			keep[c] = true
		}
		for _, c := range r.renews { // done may be asked again, not done is not
			keep[c] = keep[c] || p.rules[c].sets != 0
		}
	}
	return keep
}

// A walk explores every reachable state of a procedure under every class of
// answer. The worth of readings goes through its phases at any moment.
type walk struct {
	p       *Procedure
	worths  []Worth
	absent  map[string]bool
	asked   map[string]bool
	seen    map[nodeKey]*passed
	classes map[string][]Outcome // answers by step
	onPath  map[nodeKey]bool
	keeps   []bool
	path    []Outcome
	moves   int
	backs   int               // answers taken back, and visits resumed, on the way
	broken  map[string]string // invariant to the first step that broke it
	stopped bool              // once something broke

	raise   []string // dangers that answers of this walk may tell of
	believe []string // by phase, the danger that the belief raises, "" for none
	aim     []string // by phase, the repair that the visit leads to, "" for none
}

// believed is n with the dangers that the belief raises in its phase.
func (w *walk) believed(st State, phase int) State {
	return w.p.Believe(st, func(id string) float64 {
		if phase < len(w.believe) && slices.Contains(conditionsOf[w.believe[phase]], id) {
			return 0.99
		}
		return 0
	})
}

// aims are the repairs of the phase that were not answered.
func (w *walk) aims(st State, phase int) []string {
	if phase < len(w.aim) && w.aim[phase] != "" && st.Mark(w.aim[phase]) == Open {
		return w.aim[phase : phase+1]
	}
	return nil
}

// passed is what became of the nodes of one key: the step asked, "" at an end,
// and the precautions agreed to in those explored. One with more agreed to than
// another cannot break what that one does not.
type passed struct {
	asks   string
	agreed []uint32
}

func explore(p *Procedure, absent []string, worths ...Worth) *walk {
	return exploreWith(p, absent, hazards{}, worths...)
}

// hazards are what a walk finds beside the answers of any visit.
type hazards struct{ raise, believe, aim []string }

func exploreWith(p *Procedure, absent []string, h hazards, worths ...Worth) *walk {
	w := &walk{p: p, worths: worths, absent: map[string]bool{}, asked: map[string]bool{}, seen: map[nodeKey]*passed{}, classes: map[string][]Outcome{},
		onPath: map[nodeKey]bool{}, keeps: keeps(p), broken: map[string]string{}, raise: h.raise, believe: h.believe, aim: h.aim}
	for _, id := range absent {
		w.absent[id] = true
	}
	w.visit(node{plant: w.begin()})
	return w
}

func (w *walk) fail(what, where string) {
	if _, known := w.broken[what]; !known {
		var way []string
		for _, o := range w.path {
			way = append(way, fmt.Sprint(o.Step, " ", o.Kind, " ", o.Word))
		}
		w.broken[what] = where + ": " + strings.Join(way, ", ")
	}
	w.stopped = true
}

func (w *walk) visit(n node) {
	if w.stopped {
		return
	}
	n.st = w.believed(n.st, n.phase)
	n.plant.believed = w.hazardOf(n.plant, n.phase)
	i, why, ok := w.p.next(n.st, Search{Worth: w.worths[n.phase], After: n.after}, w.aims(n.st, n.phase)...)
	id, last := "", n.phase+1 == len(w.worths)
	if ok {
		id = w.p.Steps[i].ID
	}
	key := n.key(w.p, w.keeps, last && (!ok || w.p.Steps[i].Rung == Leave))
	if w.onPath[key] {
		w.fail("a path that does not end", fmt.Sprint(n.plant))
		return
	}
	was, known := w.seen[key]
	switch {
	case !known:
		was = &passed{asks: id}
		w.seen[key] = was
	case was.asks != id:
		w.fail("equal keys ask differently", was.asks+" and "+id)
		return
	case slices.ContainsFunc(was.agreed, func(a uint32) bool { return a&^n.plant.agreed == 0 }):
		return
	}
	was.agreed = append(was.agreed, n.plant.agreed)
	if what, id := n.repeats(w.p, w.absent); what != "" {
		w.fail(what, id+" once more")
		return
	}
	if len(w.seen)%everyNth == 0 {
		w.goBack(n)
	}
	if !ok {
		if what := n.plant.checkEnd(w.p, n.st); what != "" {
			w.fail(what, fmt.Sprintf("%+v", n.plant))
		}
		if last || n.st.Stopped != "" {
			return
		}
	}
	w.onPath[key] = true
	defer delete(w.onPath, key)
	if !last && n.st.Stopped == "" { // what is worth what has changed
		w.moves++
		next := node{n.st, n.plant, n.phase + 1, n.after}
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
	if what := n.plant.check(s, w.absent, false); what != "" {
		w.fail(what, fmt.Sprintf("%s in %+v", id, n.plant))
		return
	}
	for _, o := range w.answers(s) {
		w.moves++
		o.Again = slices.ContainsFunc(w.path, func(e Outcome) bool { return e.Step == id })
		w.path = append(w.path, o)
		w.visit(node{w.p.Apply(n.st, o), n.plant.answered(s, o), n.phase, id})
		w.path = w.path[:len(w.path)-1]
	}
}

// repeats names the invariant that taking a reading once more would break, and
// the reading; "" if none would. A lower rung again is harmless by itself.
func (n node) repeats(p *Procedure, absent map[string]bool) (what, id string) {
	plant := n.plant
	plant.rung = 0
	for _, s := range p.Steps {
		if s.Kind != Take || !p.Repeatable(n.st, s.ID) {
			continue
		}
		if what := plant.check(s, absent, true); what != "" {
			return what, s.ID
		}
	}
	return "", ""
}

// dangerous reports whether 65 in the unit of k must end the probing: it is
// above 60 V, and above 50 °C at a battery.
func dangerous(k reading.Key) bool {
	spec, _ := reading.SpecOf(k)
	return spec.Meter == reading.Voltmeter && spec.Form == reading.Number || k == reading.BatteryC
}

// answers are the classes of answer to s: the wish to end or a stop rule, that
// it cannot be done, each choice that has effects of its own, and a value that
// is a danger.
func answers(s Step, raise ...string) []Outcome {
	danger := func(id string) string {
		if slices.Contains(raise, id) {
			return id
		}
		return ""
	}
	outcomes := []Outcome{
		{Step: s.ID, Kind: Stop, Reason: "the person wants to end"},
		{Step: s.ID, Kind: Cannot, Reason: "cannot " + s.ID},
	}
	var seen []string
	for _, o := range s.options {
		effect := fmt.Sprint(o.Good, o.Needs, o.Skips, danger(o.Danger), o.ID == restsOn[s.ID].choice)
		if slices.Contains(seen, effect) {
			continue
		}
		seen = append(seen, effect)
		outcomes = append(outcomes, chosen(s, o.ID))
	}
	switch {
	case len(s.Checks) > 0:
		outcomes = append(outcomes, chosen(s, s.Checks.IDs()...))
	case s.Kind == Choose && len(s.options) > 0:
		outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done}) // none of them
	case len(s.options) == 1 && slices.Contains(repairs, s.ID): // "not now", and the deed that the visit offers
		outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done, Word: ActDone})
	case len(s.options) == 0:
		outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done, Yes: true})
	}
	if s.Kind == Confirm && len(s.options) == 0 { // in the journals of earlier versions
		outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done, Yes: s.Good != "yes"})
	}
	for word := range s.Skips {
		outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done, Word: word})
	}
	if dangerous(s.Reading) {
		outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done, Value: 65})
	}
	return outcomes
}

// answers are those of s that this walk may give: a danger that is no stop, and the
// dark, only where they are raised.
func (w *walk) answers(s Step) []Outcome {
	if known, ok := w.classes[s.ID]; ok {
		return known
	}
	may := func(id string) bool { return id == "" || slices.Contains(w.raise, id) }
	outcomes := slices.DeleteFunc(answers(s, w.raise...), func(o Outcome) bool {
		if o.Word == "dark" && !may("dark") {
			return true
		}
		return s.Kind == Choose && slices.ContainsFunc(o.Chosen, func(id string) bool { opt, _ := s.option(id); return !may(opt.Danger) })
	})
	for _, r := range readAs {
		if s.Reading == r.key && may(r.danger) {
			outcomes = append(outcomes, Outcome{Step: s.ID, Kind: Done, Value: r.value(w.p)})
		}
	}
	w.classes[s.ID] = outcomes
	return outcomes
}

// chosen is the outcome of choosing, or marking, these.
func chosen(s Step, ids ...string) Outcome {
	word := s.Word(ids)
	return Outcome{Step: s.ID, Kind: Done, Yes: word == "yes", Word: word, Chosen: ids}
}

// Worths: nothing, everything, every second reading, all but looking, only the
// last ones, only what must be set up for, and steeply rising along the visit.
func nothing(reading.Key) float64    { return 0 }
func everything(reading.Key) float64 { return 1 }
func second(k reading.Key) float64   { return float64(len(k) % 2) }
func handsOn(k reading.Key) float64 {
	if rungOf(k) <= Look {
		return 0
	}
	return 1
}
func late(k reading.Key) float64 {
	if k == reading.StepPostV || k == reading.StandbyA {
		return 1
	}
	return 0
}
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
// The costly last ones are walked at one site each.
var (
	phases = [][]Worth{{nothing}, {second}, {rising, nothing}, {setUp, handsOn}}
	twice  = []Worth{late, handsOn}
)

var battery = []string{"gravity", "water", "block_v"}

// manyStates are the sites at which the most can be asked.
var manyStates = []string{"parts12", "flooded12", "mppt24", "mpptFlooded24"}

func TestEveryState(t *testing.T) {
	arraySide := []string{"array_v", "module_v", "array-isolate", "open_v", "polarity", "lead-on", "short-on", "short_a", "rest", "rest_v",
		"standby_a", "array-connect", "proved", "load-step-on", "covers-off", "covers-back", "battery_v"}
	noShort := []string{"lead-on", "short-on", "short_a", "short-lead", "short-off", "lead-off"}
	noLoads := []string{"load_a", "load_end_v", "loads-on", "load-step-on", "step_a", "load_step.post_v", "appliances", "limits"}
	tests := []struct {
		site   *site.Site
		absent []string // what must never be asked there
		asked  []string // what must be, somewhere
	}{
		{flooded12(), []string{"block_v", "limits"}, []string{"gravity", "short_a", "load_v", "load_step.post_v", "safe-back",
			"battery-connect", "label-open", "keep-away", "meter-after", "lamps.array lamp", "loads-on", "appliances", "polarity", "covers-back"}},
		{mppt24(), append([]string{"load_v", "gravity", "water", "limits"}, noShort...), []string{"block_v", "open_v", "load_end_v"}},
		{lfp12(), slices.Concat(noLoads, battery), []string{"rest_v", "short_a"}},
		{shuntGel12(), append([]string{"limits"}, battery...), []string{"short_a", "load_v", "lamps.array lamp"}},
		{mpptFlooded24(), slices.Concat(noLoads, noShort), []string{"block_v", "gravity", "load_v"}},
		{highArray(), arraySide, []string{"limits", "post_v", "array_a"}},
		{highShunt(), append([]string{"load_v", "load_end_v"}, arraySide...), []string{"limits", "post_v", "array_a"}},
		{parts12(), []string{"block_v", "limits"}, []string{"inverter_a", "inverter_v", "charger_a", "string_a", "plus_earth_v", "minus_earth_v", "charger_on", "lamps.array lamp"}},
		{kit12(), []string{"covers-off", "post_v", "battery_v", "battery_a", "load_a", "rest", "standby_a", "eyes", "mended-battery", "battery-connected"},
			[]string{"usb_v", "output_w", "run_h", "locked", "kit-look", "open_v", "array_a", "load_v", "array-connect"}},
		{lookOnly(), append([]string{"post_v", "load_end_v"}, arraySide...), []string{"limits", "array_a", "battery_a"}},
	}
	// Millions of states are kept, and what collects garbage would go through them every time.
	t.Cleanup(func(percent int) func() { return func() { debug.SetGCPercent(percent) } }(debug.SetGCPercent(400)))
	var states, moves, backs atomic.Int64
	t.Cleanup(func() {
		t.Logf("explored %d states, %d transitions", states.Load(), moves.Load())
		t.Logf("of which, from some states, %d answers taken back and visits resumed", backs.Load())
	})
	for _, tt := range tests {
		t.Run(tt.site.Name, func(t *testing.T) {
			if testing.Short() && slices.Contains(manyStates, tt.site.Name) {
				t.Skip("has the most states; the other sites are walked")
			}
			t.Parallel()
			p := For(tt.site)
			asked := map[string]bool{}
			walks := phases[:3]
			switch {
			case testing.Short():
			case tt.site.Name == "flooded12": // has every step but one
				walks = phases
			case tt.site.Name == "mppt24":
				walks = append(slices.Clone(walks), twice)
			}
			for _, worths := range walks {
				w := explore(p, tt.absent, worths...)
				require.Empty(t, w.broken)
				for id := range w.asked {
					asked[id] = true
				}
				states.Add(int64(len(w.seen)))
				moves.Add(int64(w.moves + w.backs))
				backs.Add(int64(w.backs))
			}
			for name, run := range hazardWalks(tt.absent) {
				if !everyHazard(tt.site.Name, name) {
					continue
				}
				w := run(p)
				require.Empty(t, w.broken, name)
				for id := range w.asked {
					asked[id] = true
				}
				states.Add(int64(len(w.seen)))
				moves.Add(int64(w.moves + w.backs))
			}
			for _, id := range tt.asked {
				assert.True(t, asked[id], "%s is never asked", id)
			}
			for i, s := range p.Steps {
				if r := p.rules[i]; r.when == byVisit { // it may come at any moment, so it must change nothing
					assert.Zero(t, r.sets|r.clears|r.undoes, s.ID)
					if strings.HasPrefix(s.ID, "place.") { // walked by some of them
						continue
					}
					if slices.Contains(activeTests, s.ID) { // walked by TestActiveTestsAreLedTo
						continue
					}
					if !slices.Contains(repairs, s.ID) {
						assert.False(t, asked[s.ID], s.ID)
						continue
					}
				}
				if testing.Short() || !effort.All() && repairsOnly(s.ID) {
					continue
				}
				assert.True(t, asked[s.ID], "%s belongs to the site but is never asked", s.ID)
			}
		})
	}
}
