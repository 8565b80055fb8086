package outlook

import (
	"math"
	"slices"
	"time"
)

// Tonight is how long loads last from the evening on: from sunset, or from now where it is
// dark.
type Tonight struct {
	From  time.Time `json:"from,omitzero"`  // when it begins
	Rises time.Time `json:"rises,omitzero"` // sunrise; zero where the sun does not rise within a day
	Takes time.Time `json:"takes,omitzero"` // when the array carries all listed loads, in half of the cases; zero: not that morning
	Until time.Time `json:"until,omitzero"` // the last that was looked at
	Sets  []Lasting `json:"sets"`           // all that are as important as the first, then with the next ones
	Loads []Lasting `json:"loads"`          // each load alone
	Dark  bool      `json:"dark"`           // it is night already
	Off   Off       `json:"switch_off"`
}

// Off is what to switch off on a night so that the rest lasts until the array carries it.
type Off struct {
	Labels []string  `json:"loads"` // none: all last, or nothing does
	By     time.Time `json:"by,omitzero"`
	Keeps  []string  `json:"keeps"`       // none: not even what matters most is sure to last
	Sure   float64   `json:"probability"` // that these last
}

// A Lasting is how long loads run without a break from the evening on, if nothing else
// does.
type Lasting struct {
	Labels    []string `json:"labels"`
	Hours     Band     `json:"hours"`      // to the load cut-off, or to an empty battery where nothing cuts them, where they get power at all; +Inf: beyond the morning
	Half      Band     `json:"half"`       // to half charge [h], likewise
	AboveHalf float64  `json:"above_half"` // probability that the charge stays above half until then
	Morning   float64  `json:"morning"`    // probability that they run until the array carries them
	Served    float64  `json:"served"`     // probability that they get power at the beginning
}

// likely is the probability that loads run until the array carries them, where they get
// power at all.
func (x *Lasting) likely() float64 { return min(1, x.Morning/max(x.Served, 1e-9)) }

const (
	tonightStep = 15 * time.Minute
	// The array is waited for so long after sunrise, and where no sun rises so long at all.
	takesWithin = 6 * time.Hour
	noSun       = 72 * time.Hour
)

// evening is when the night to be told of begins, and the sunrise after it; zero where
// there is none within a day.
func (l *looker) evening() (from, rises time.Time, dark bool) {
	sky := l.climate.skies(l.at, 0, 1)[0]
	dark = sky.ClearGHI <= 0
	from = l.at
	days := daysFrom(l.at, 4, l.site.Place)
	if !dark {
		for _, d := range days {
			if d.set.After(l.at) {
				from = d.set
				break
			}
		}
	}
	if l.climate.polar(from) {
		return from, time.Time{}, dark
	}
	for _, d := range days {
		if d.rise.After(from) {
			return from, d.rise, dark
		}
	}
	return from, time.Time{}, dark
}

// polar reports whether there is no sunrise on the next day.
func (c *climate) polar(from time.Time) bool {
	for _, s := range c.skies(from, 30*time.Minute, 60) {
		if s.ClearGHI > 0 {
			return false
		}
	}
	return true
}

func (l *looker) tonight() Tonight {
	from, rises, dark := l.evening()
	t := Tonight{From: from, Rises: rises, Dark: dark, Until: from.Add(noSun)}
	if !rises.IsZero() {
		t.Until = rises.Add(takesWithin)
	}
	groups := groupsOf(l.uses)
	nights := l.nights(&t, groups)
	takes := make([]float64, len(nights))
	for k := range nights {
		takes[k] = nights[k].takes
	}
	if b := bandOf(takes); !math.IsInf(b.P50, 0) && !rises.IsZero() {
		t.Takes = from.Add(hours(b.P50))
	}
	for g := range groups {
		x := lastingOf(nights, g)
		x.Labels = groups[g].labels
		if groups[g].alone {
			t.Loads = append(t.Loads, x)
		} else {
			t.Sets = append(t.Sets, x)
		}
	}
	if !rises.IsZero() && len(t.Sets) > 0 {
		t.Off = l.off(&t, nights, groups[:len(t.Sets)])
	}
	return t
}

// off is what to switch off of the sets of loads, and when: the most that is likely to last
// is kept, and the rest may run as long as that leaves it so.
func (l *looker) off(t *Tonight, nights []night, sets []group) Off {
	all := len(sets) - 1
	keep := all
	for keep >= 0 && t.Sets[keep].likely() < planned {
		keep--
	}
	if keep < 0 {
		return Off{}
	}
	x := Off{Keeps: sets[keep].labels, Labels: sets[all].labels[len(sets[keep].labels):]}
	share := func(first int) float64 { return l.lastShare(t, nights, sets[all].watts, first, sets[keep].watts) }
	lo, hi := 0, int(t.Rises.Sub(t.From)/tonightStep)
	x.Sure = share(lo)
	for keep < all && hi-lo > 1 {
		mid := (lo + hi) / 2
		if p := share(mid); p >= planned {
			lo, x.Sure = mid, p
		} else {
			hi = mid
		}
	}
	x.By = t.From.Add(time.Duration(lo) * tonightStep)
	return x
}

// lastShare is the part of the draws that get power at all in which the kept loads last
// until the array carries them, where all loads run through the first steps of the night.
func (l *looker) lastShare(t *Tonight, nights []night, all powers, first int, kept powers) float64 {
	served, lasted := make([]bool, len(nights)), make([]bool, len(nights))
	before, rest := nights[0].after.upTo(first), nights[0].after.from(first)
	each(len(nights), func(k int) {
		x := &nights[k]
		if served[k] = x.groups[0].served; !served[k] {
			return
		}
		r := x.evening
		r.lead(before, x.clear, l.mean[k], func(int) powers { return all }, nil)
		cut, _, _, _ := r.lasts(rest, x.clear, l.mean[k], kept, t.Rises)
		lasted[k] = math.IsInf(cut, 1)
	})
	return share(lasted) / max(share(served), 1e-9)
}

// share is the part of a list that is true.
func share(list []bool) (p float64) {
	for _, yes := range list {
		if yes {
			p += 1 / float64(len(list))
		}
	}
	return p
}

// A night is how long each group of loads lasts with one draw.
type night struct {
	groups []nightOf
	takes  float64 // when the array carries all listed loads [h]

	after   *stretch // from the evening on
	evening runner   // as it is then
	clear   []float64
}

// A nightOf is how one group fares, see [runner.lasts].
type nightOf struct {
	cut, half float64
	served    bool
}

// nights leads each draw to the evening, all loads as planned, and through the night with
// each group.
func (l *looker) nights(t *Tonight, groups []group) []night {
	whole := func(a, b time.Time) int { return int(math.Ceil(float64(b.Sub(a)) / float64(tonightStep))) }
	var before *stretch
	if t.From.After(l.at) {
		n := whole(l.at, t.From)
		before = newStretch(l.climate, l.at, t.From.Sub(l.at)/time.Duration(n), n, l.uses)
	}
	after := newStretch(l.climate, t.From, tonightStep, whole(t.From, t.Until), l.uses)
	offset := 0 // a night that begins after midnight is one day on
	if t.From.Day() != l.at.Day() {
		offset = 1
	}
	list := make([]night, len(l.draws))
	each(len(l.draws), func(k int) {
		clear := l.climate.days(k, l.at, offset+after.number, l.found[k])
		r := l.runner(k)
		if before != nil {
			r.lead(before, clear, l.mean[k], func(i int) powers { return before.watts(i, allPriorities) }, nil)
		}
		x := night{groups: make([]nightOf, len(groups)), after: after, evening: *r, clear: clear[offset:]}
		for g := range groups {
			y := &x.groups[g]
			y.cut, y.half, y.served, _ = r.lasts(after, x.clear, l.mean[k], groups[g].watts, t.Rises)
		}
		_, _, _, x.takes = r.lasts(after, x.clear, l.mean[k], l.all(), t.Rises)
		list[k] = x
	})
	return list
}

// lastingOf is what the draws say of a group.
func lastingOf(nights []night, g int) (x Lasting) {
	part := 1 / float64(len(nights))
	var cuts, halves []float64
	for k := range nights {
		y := &nights[k].groups[g]
		if math.IsInf(y.half, 1) {
			x.AboveHalf += part
		}
		if !y.served {
			continue
		}
		x.Served += part
		cuts, halves = append(cuts, y.cut), append(halves, y.half)
		if math.IsInf(y.cut, 1) {
			x.Morning += part
		}
	}
	x.Hours, x.Half = bandOf(cuts), bandOf(halves)
	return x
}

// lasts is after how many hours loads of a listed power lose their supply, after how many the
// battery is at half charge, whether they get power at the beginning, and after how many
// hours the array carries them; +Inf for what does not come. The runner stays as it is.
func (r *runner) lasts(s *stretch, clear []float64, meanC float64, watts powers, rises time.Time) (cut, half float64, served bool, takes float64) {
	run := *r
	cut, half, takes = math.Inf(1), math.Inf(1), math.Inf(1)
	run.u.LatchedOff = run.u.LatchedOff || run.o.LoadsCut
	for i := range s.skies {
		h := float64(i) * s.step.Hours()
		run.solve(s.skies[i].Plane(clear[s.day[i]]), meanC+s.swing[i], meanC, watts)
		fed := run.fed()
		if i == 0 {
			served = fed
		}
		if !fed && math.IsInf(cut, 1) && math.IsInf(takes, 1) {
			cut = h
		}
		if run.u.SoC < 0.5 && math.IsInf(half, 1) {
			half = h
		}
		if sunny := !rises.IsZero() && s.at(i).After(rises); sunny && run.f.In+run.o.SpareW >= watts.dc*run.listed+run.f.Own {
			takes = h
			break
		}
		before := run.u.SoC
		run.pass(s.step.Hours())
		if before > 0 && run.u.SoC == 0 && math.IsInf(cut, 1) { // it ran empty on the way
			cut = h + s.step.Hours()
		}
	}
	return cut, half, served, takes
}

// all are the powers of all loads together.
func (l *looker) all() (w powers) {
	for _, u := range l.uses {
		w = w.plus(u, 1)
	}
	return w
}

// A group are loads that are asked about together.
type group struct {
	labels []string
	watts  powers
	alone  bool
}

// groupsOf are the loads by priority, each with all that are kept longer, then each load
// alone. One set alone is the same as its load alone, and is asked once more.
func groupsOf(uses []Use) []group {
	var list []group
	var so group
	for i, u := range uses {
		so.labels = append(slices.Clone(so.labels), u.Label)
		so.watts = so.watts.plus(u, 1)
		if i+1 == len(uses) || uses[i+1].Priority != u.Priority {
			list = append(list, so)
		}
	}
	for _, u := range uses {
		list = append(list, group{[]string{u.Label}, powers{}.plus(u, 1), true})
	}
	return list
}
