package main

import (
	"fmt"
	"io"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
)

// The economy of a diagnosis is how few readings it needs. The readings of a case
// are told one at a time, in the order that a visit asks for them and until it
// asks for no more; and in two other orders to compare: by chance, and by the
// steps as they stand. Time and loads are known from the start, and how a
// reading was taken is told with it.

// counts are the numbers of readings at which the orders are compared.
var counts = []int{3, 5, 7, 9, 11, 13, 15}

// economySeed makes the order by chance the same on every run.
const economySeed = 4

// A path is what became of one case in one order.
type path struct {
	taken   int    // readings at the end
	onOffer int    // readings that the case has
	right   []bool // the leader is a true condition, after 0, 1, 2 … readings
	all     bool   // and after all of them
}

// rightAt is rightness after n readings, or after fewer where they ended.
func (p *path) rightAt(n int) bool { return p.right[min(n, len(p.right)-1)] }

// A telling is a case whose readings are told one at a time.
type telling struct {
	knownCase
	told *reading.Set
}

// tell begins with what is known before any reading.
func tell(c knownCase) *telling {
	from, set := c.input.Readings, reading.NewSet()
	set.TakenAt, set.LoadsOn, set.Instruments = from.TakenAt, from.LoadsOn, from.Instruments
	set.NotTaken = slices.Clone(from.NotTaken)
	return &telling{c, set}
}

// keys are the readings that the case has, without those that only say how
// another was taken.
func (t *telling) keys() []reading.Key {
	var ks []reading.Key
	for _, s := range procedure.For(t.input.Site).Steps {
		k := s.Reading
		if k != "" && k != reading.Minutes && k != reading.StepA && t.input.Readings.Has(k) {
			ks = append(ks, k)
		}
	}
	return ks
}

func (t *telling) reveal(k reading.Key) {
	from := t.input.Readings
	for _, k := range []reading.Key{k, how[k]} {
		if x, ok := from.Numbers[k]; ok {
			t.told.Numbers[k] = x
		}
		if x, ok := from.Lists[k]; ok {
			t.told.Lists[k] = x
		}
		if x, ok := from.Words[k]; ok {
			t.told.Words[k] = x
		}
		if from.Doubted[k] {
			t.told.Doubted[k] = true
		}
	}
}

// how names the reading that says how another was taken.
var how = map[reading.Key]reading.Key{
	reading.RestV: reading.Minutes, reading.BlockV: reading.Minutes, reading.Gravity: reading.Minutes,
	reading.StepPostV: reading.StepA,
}

func (t *telling) infer() (*belief.Result, error) {
	return belief.Infer(belief.Input{Site: t.input.Site, Readings: t.told})
}

func (t *telling) right(r *belief.Result) bool {
	return slices.Contains(t.truth.Conditions, r.Leader().ID)
}

// follow takes what the visit asks for until it asks for no more. A reading that
// the case lacks could not be taken.
func follow(c knownCase) (path, error) {
	t := tell(c)
	p := path{onOffer: len(t.keys())}
	for {
		r, err := t.infer()
		if err != nil {
			return p, err
		}
		p.right = append(p.right, t.right(r))
		next, err := t.next(r)
		if err != nil || next == "" {
			return p, err
		}
		t.reveal(next)
		p.taken++
	}
}

// next is the reading to take by the belief r, "" for none.
func (t *telling) next(r *belief.Result) (reading.Key, error) {
	known := func(belief.Input) (*belief.Result, error) { return r, nil }
	for {
		told, err := visiting.Interpret(belief.Input{Site: t.input.Site, Readings: t.told}, known)
		switch {
		case err != nil || told.Next == nil:
			return "", err
		case t.input.Readings.Has(told.Next.Reading):
			return told.Next.Reading, nil
		}
		t.told.NotTaken = append(t.told.NotTaken, told.Next.Reading)
	}
}

// inOrder takes all readings in the order of ks; it infers only where the orders
// are compared.
func inOrder(c knownCase, ks []reading.Key) (path, error) {
	t := tell(c)
	p := path{taken: len(ks), onOffer: len(ks)}
	for n := range len(ks) + 1 {
		if n > 0 {
			t.reveal(ks[n-1])
		}
		if n < len(ks) && !slices.Contains(counts, n) {
			p.right = append(p.right, false)
			continue
		}
		r, err := t.infer()
		if err != nil {
			return p, err
		}
		p.right = append(p.right, t.right(r))
	}
	p.all = p.right[len(ks)]
	return p, nil
}

// An economyOf is one case in the three orders.
type economyOf struct {
	next, chance, list path
	err                error
}

func economyCase(c knownCase, index int) (e economyOf) {
	ks := tell(c).keys()
	if e.next, e.err = follow(c); e.err != nil {
		return e
	}
	if e.list, e.err = inOrder(c, ks); e.err != nil {
		return e
	}
	rng := rand.New(rand.NewPCG(economySeed, uint64(index)))
	rng.Shuffle(len(ks), func(i, j int) { ks[i], ks[j] = ks[j], ks[i] })
	e.chance, e.err = inOrder(c, ks)
	e.next.all = e.list.all
	return e
}

// economy runs all cases on all processors and sums them up.
func economy(cases []knownCase, progress io.Writer) (string, error) {
	out := make([]economyOf, len(cases))
	var next, done atomic.Int64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(cases) {
					return
				}
				out[i] = economyCase(cases[i], i)
				fmt.Fprintf(progress, "%d of %d: case %s, %d readings\n", done.Add(1), len(cases), cases[i].id, out[i].next.taken)
			}
		})
	}
	wg.Wait()
	for i, e := range out {
		if e.err != nil {
			return "", fmt.Errorf("case %s: %w", cases[i].id, e.err)
		}
	}
	return economyTable(out), nil
}

func economyTable(es []economyOf) string {
	var w strings.Builder
	var taken, offered mean
	var atStop, all share
	for i := range es {
		e := &es[i]
		taken.add(float64(e.next.taken))
		offered.add(float64(e.next.onOffer))
		atStop.add(e.next.rightAt(e.next.taken))
		all.add(e.next.all)
	}
	fmt.Fprintf(&w, "%-58s %v\n", "readings on offer, mean", offered)
	fmt.Fprintf(&w, "%-58s %v\n", "readings taken until nothing more is asked, mean", taken)
	fmt.Fprintf(&w, "%-58s %v\n", "leader right, all readings", all)
	fmt.Fprintf(&w, "%-58s %v\n", "leader right when nothing more is asked", atStop)
	fmt.Fprintf(&w, "\n%-10s %10s %10s %10s\n", "readings", "as asked", "by chance", "in order")
	for _, n := range counts {
		var asked, chance, list share
		for i := range es {
			asked.add(es[i].next.rightAt(n))
			chance.add(es[i].chance.rightAt(n))
			list.add(es[i].list.rightAt(n))
		}
		fmt.Fprintf(&w, "%-10d %8.1f %% %8.1f %% %8.1f %%\n", n, asked.percent(), chance.percent(), list.percent())
	}
	fmt.Fprintf(&w, "%-10s %8.1f %% %8.1f %% %8.1f %%\n", "all", atStop.percent(), all.percent(), all.percent())
	return w.String()
}
