package scenarios

import (
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

// MostReadings is the budget of a practice by which a solvable scenario is named.
const MostReadings = 14

// From certain on a condition is taken as there, and by 1 less it as absent, so
// that nothing more is asked; from likely on it is named (choices of this
// project).
const (
	certain = 0.95
	likely  = 0.5
)

// A Taken is one reading of a play.
type Taken struct {
	Key  reading.Key
	Text string // the value in words
	At   time.Time
}

// A Play is what a player read and came to believe.
type Play struct {
	Taken  []Taken
	Belief *belief.Result
	Input  belief.Input
	Safe   bool
}

// named are the conditions that the play ends with, most probable first; none
// where nothing is likely.
func (p Play) named() (list []condition.ID) {
	for _, c := range p.Belief.Conditions {
		if c.P >= likely {
			list = append(list, c.ID)
		}
	}
	return list[:min(len(list), 2)]
}

// measured is how many readings of the play an instrument gave.
func (p Play) measured() (n int) {
	for _, x := range p.Taken {
		if spec, _ := reading.SpecOf(x.Key); spec.Meter != reading.NoMeter {
			n++
		}
	}
	return n
}

// right reports whether the play names what is wrong, all of it and no more.
func (p Play) right(s *Scenario) bool {
	return sameConditions(p.named(), s.Truth())
}

// sameConditions reports whether what was named is what is so, all of it and no more.
func sameConditions(named, truth []condition.ID) bool {
	return len(named) == len(truth) && !slices.ContainsFunc(truth, func(id condition.ID) bool { return !slices.Contains(named, id) })
}

// settled reports whether it is clear what is wrong: one condition is certain,
// and no second one is in doubt.
func settled(r *belief.Result) bool {
	sure := false
	for _, c := range r.Conditions {
		sure = sure || c.P >= certain
		if c.P > 1-certain && c.P < certain {
			return false
		}
	}
	return sure
}

// Informed plays s in the informed order: the ordinary visit, with the bench in
// place of the plant, until what is wrong is clear, no reading is worth its
// effort, or most readings are taken. Its looks come first and count as well.
func Informed(s *Scenario, infer visiting.Inferrer, most int) (Play, error) {
	return informed(s, infer, func(p Play) bool { return len(p.Taken) >= most })
}

// informed plays until it is enough at the latest.
func informed(s *Scenario, infer visiting.Inferrer, enough func(Play) bool) (Play, error) {
	b := s.Bench()
	v, err := visiting.New(visiting.Head{ID: s.ID, SiteTOML: string(s.SiteTOML), StartedAt: s.At, Instruments: b.Instruments()}, nowhere{})
	if err != nil {
		return Play{}, err
	}
	var play Play
	known := -1 // readings that the belief knows
	for {
		p := v.Prompt()
		if !p.Done && !p.Step.Always && known != len(play.Taken) {
			r, err := infer(v.Input())
			if err != nil {
				return Play{}, err
			}
			v.Learn(v.Seq(), r)
			known = len(play.Taken)
			if enough(play) {
				break
			}
			if settled(r) {
				step, ok := unjudged(v, r)
				if !ok {
					break
				}
				if err := play.lookedAt(b, v, step); err != nil {
					return Play{}, err
				}
			}
			continue
		}
		if p.Done || p.Step.Rung >= procedure.Restore {
			step, ok := unjudged(v, v.Belief())
			if !ok || enough(play) {
				break
			}
			if err := play.lookedAt(b, v, step); err != nil {
				return Play{}, err
			}
			continue
		}
		latest := v.Belief()
		taken := len(play.Taken)
		if err := play.give(b, v, p); err != nil {
			return Play{}, err
		}
		if taken == len(play.Taken) && latest != nil {
			v.Learn(v.Seq(), latest)
		}
	}
	play.Input, play.Safe = v.Input(), len(b.Breaches()) == 0
	if play.Belief = v.Belief(); play.Belief == nil || known != len(play.Taken) {
		play.Belief, err = infer(play.Input)
	}
	return play, err
}

// give answers p at the bench.
func (p *Play) give(b *virtualsite.Bench, v *visiting.Visit, prompt visiting.Prompt) error {
	a := answered(b, v, prompt)
	a.At, a.Repeats = b.Now(), prompt.Once
	if err := v.Give(a); err != nil {
		return err
	}
	follow(b, prompt.Step, a)
	if a.Kind == visiting.Took && a.Reading != "" && a.Reading != reading.Minutes && a.Reading != reading.Visit {
		p.Taken = append(p.Taken, Taken{a.Reading, a.Text(), a.At})
	}
	return nil
}

// lookedAt takes a reading out of turn, after what it needs.
func (p *Play) lookedAt(b *virtualsite.Bench, v *visiting.Visit, step procedure.Step) error {
	for _, need := range step.Needs {
		if s, ok := v.Procedure().Step(need); ok && v.State().Mark(need) == procedure.Open {
			if err := p.give(b, v, visiting.Prompt{Step: s}); err != nil {
				return err
			}
		}
	}
	return p.give(b, v, visiting.Prompt{Step: step})
}

// unjudged is a reading of a circuit that was not looked at yet: who finds a
// fault in one still looks at the others, since two things can be wrong. They
// are the array's and the loads' current; the battery's voltage at both ends of
// its cable; at the loads, the voltage at their terminals where they draw
// nothing, at the farthest one where they draw something.
func unjudged(v *visiting.Visit, r *belief.Result) (procedure.Step, bool) {
	set, st := v.Input().Readings, v.State()
	if st.Has(procedure.ArrayIsolated) || st.Has(procedure.LoadsOff) || st.Stopped != "" {
		return procedure.Step{}, false
	}
	draws := set.Numbers[reading.LoadA] > minLoad
	for _, c := range []struct {
		k    reading.Key
		live bool
	}{
		{reading.ArrayA, r.State.Daylight > likely},
		{reading.LoadA, len(set.LoadsOn) > 0},
		{reading.BatteryV, set.Has(reading.PostV) || draws && r.State.Daylight < likely}, // in the dark all comes from the battery
		{reading.PostV, set.Has(reading.BatteryV)},
		{reading.LoadV, set.Has(reading.LoadA) && !draws && len(set.LoadsOn) > 0},
		{reading.LoadEndV, draws},
	} {
		if step, ok := v.Procedure().StepFor(c.k); ok && c.live && st.Mark(step.ID) == procedure.Open {
			return step, true
		}
	}
	return procedure.Step{}, false
}

// minLoad is from where on a load's current shows what its wires lose [A].
const minLoad = 0.5

// nowhere keeps nothing.
type nowhere struct{}

func (nowhere) Append(visiting.Entry) error { return nil }

// loadsOnStep asks which loads are on.
const loadsOnStep = "loads-on"

// answered is how a careful person answers a step at the bench.
func answered(b *virtualsite.Bench, v *visiting.Visit, p visiting.Prompt) visiting.Answer {
	s := p.Step
	a := visiting.Answer{Step: s.ID, Kind: visiting.Took, Reading: s.Reading}
	_, _, finds := s.Reading.Node()
	switch {
	case p.Action != "": // the bench repairs nothing
		a.Kind, a.Word, a.Action = visiting.Did, procedure.ActNothing, p.Action
		return a
	case finds: // nor has it the places between two parts
		why, _ := s.Reasons.With("no-access")
		return visiting.CannotFor(p, why)
	case s.Kind == procedure.Confirm:
		a.Kind, a.Word = visiting.Did, s.Good
		return a
	case activeTests[s.ID] != nil:
		a.Kind = visiting.Did
		a.Choose(testAnswer(s, activeTests[s.ID](b)))
		a.Word = s.Word(a.Chosen)
		return a
	case s.Kind == procedure.Say: // nobody else is here
		a.Kind, a.Word = visiting.Did, procedure.ActNothing
		return a
	case s.Kind == procedure.Act:
		a.Kind, a.Word = visiting.Did, "done"
		return a
	case s.Kind == procedure.Choose:
		a.Choose(chosen(b, s))
		return a
	case s.Reading == reading.Minutes:
		x := b.RestMinutes()
		a.Number = &x
		return a
	}
	d := take(b, s.Reading)
	switch {
	case !d.Shown:
		a.Kind, a.Reason = visiting.Cannot, d.Text
	case d.Word != "":
		a.Word = d.Word
	case d.List != nil:
		a.List = d.List
	default:
		a.Number = &d.Reads
		a.Doubted = reading.Plausible(s.Reading, d.Reads, v.Site()) != nil
	}
	return a
}

// take takes a reading as it should be: eyes first, the right range, the clamp
// zeroed.
func take(b *virtualsite.Bench, k reading.Key) virtualsite.Display {
	if w, ok := b.Sees(k); ok && k == reading.Visit {
		return virtualsite.Display{Text: w, Word: w, Shown: true, Reading: k}
	}
	if place, ok := lookAt(k); ok {
		_, looks := b.Look(place)
		i := slices.IndexFunc(looks, func(d virtualsite.Display) bool { return d.Reading == k })
		if i < 0 {
			return virtualsite.Display{Text: words().Problem.CannotBeSeen}
		}
		return looks[i]
	}
	switch k {
	case reading.Irradiance, reading.Irradiance2:
		return b.Light()
	case reading.AirC:
		return b.Temperature(virtualsite.Air)
	case reading.ModuleC, reading.ModuleC2:
		return b.Temperature(virtualsite.Module)
	case reading.BatteryC:
		return b.Temperature(virtualsite.Battery)
	case reading.Gravity:
		return b.Gravity()
	case reading.USBV:
		return b.USB()
	case reading.OutputW:
		return b.OutputPower()
	case reading.RunW, reading.RunH:
		return b.Told(k)
	}
	if wire, ok := wireOf[k]; ok {
		b.Zero()
		return clampOn(b, wire)
	}
	if post, ok := toEarth[k]; ok {
		return probeOn(b, post, "earth")
	}
	pair := pairOf[k]
	return probeOn(b, pair+"+", pair+"-")
}

// lookAt is where a word is seen.
func lookAt(k reading.Key) (virtualsite.Place, bool) {
	if _, ok := k.LampLabel(); ok {
		return virtualsite.AtController, true
	}
	if _, ok := k.InverterLabel(); ok || k == reading.PackPercent || k == reading.PackAlarm || k == reading.ChargerOn {
		return virtualsite.AtBattery, true
	}
	if k == reading.Locked {
		return virtualsite.AtController, true
	}
	if k == reading.NotWorking {
		return virtualsite.AtLoads, true
	}
	return virtualsite.AtArray, k == reading.Sky || k == reading.Shade || k == reading.Glass
}

var wireOf = map[reading.Key]string{
	reading.ArrayA: "array-wire", reading.ShortA: "array-wire", reading.LoadA: "load-wire",
	reading.InverterA: "inverter-wire", reading.ChargerA: "charger-wire", reading.StringA: "string-wires",
	reading.BatteryA: "battery-wire", reading.StandbyA: "battery-wire", reading.StepA: "battery-wire",
}

var pairOf = map[reading.Key]string{
	reading.ArrayV: "array", reading.ModuleV: "module", reading.BatteryV: "controller-battery", reading.PostV: "post",
	reading.LoadV: "load", reading.LoadEndV: "load-end", reading.OpenV: "array-side", reading.RestV: "post",
	reading.StepPostV: "post", reading.BlockV: "block", reading.StepBlockV: "block", reading.InverterV: "inverter",
}

// toEarth are the posts at which red is held, black on the earth rod's wire.
var toEarth = map[reading.Key]string{reading.PlusEarthV: "post+", reading.MinusEarthV: "post-"}

func clampOn(b *virtualsite.Bench, wire string) (d virtualsite.Display) {
	for _, r := range virtualsite.ClampRanges {
		b.SetClamp(r)
		var err error
		if d, err = b.Embrace(wire, false); err != nil {
			return virtualsite.Display{Text: err.Error()}
		}
		if d.Shown {
			break
		}
	}
	return d
}

func probeOn(b *virtualsite.Bench, red, black string) (d virtualsite.Display) {
	for _, r := range virtualsite.Ranges[1:] { // 20 V upwards
		b.SetMeter(virtualsite.Meter{Function: virtualsite.DCVolts, Range: r, Socket: virtualsite.VoltSocket})
		var err error
		if d, err = b.Probe(red, black); err != nil {
			return virtualsite.Display{Text: err.Error()}
		}
		if d.Shown {
			break
		}
	}
	return d
}

// restFor is how long a battery is let rest.
const restFor = 45 * time.Minute

// follow does at the bench what a step had the person do.
func follow(b *virtualsite.Bench, s procedure.Step, a visiting.Answer) {
	if a.Kind != visiting.Did || a.Word == procedure.ActNothing || s.Kind == procedure.Confirm && a.Word != s.Good {
		return
	}
	switch s.ID {
	case "permission":
		b.Ask()
	case "eyes":
		b.Wear()
	case "battery-look":
		b.Look(virtualsite.AtBattery)
	case "cables-look":
		b.Look(virtualsite.AtController)
		b.Look(virtualsite.AtArray)
		b.Look(virtualsite.AtLoads)
	case "loads-off", "load-step-off":
		b.SwitchLoads(nil)
		b.SwitchInverter(false)
		b.SwitchCharger(false)
	case "loads-back":
		b.PartsAsFound()
		b.SwitchLoads(b.LoadsAsFound())
	case "load-step-on":
		loads := procedure.TestLoads(b.Site())
		if needsInverter(b.Site(), loads) {
			b.SwitchInverter(true)
		}
		b.SwitchLoads(loads)
	case "array-isolate":
		b.SwitchArray(true)
	case "array-connect":
		b.SwitchArray(false)
	case "short-on":
		b.Short(true)
	case "short-off":
		b.Short(false)
	case "rest":
		b.Wait(restFor)
	}
}

// Others look around as the informed order does, then measure as often as they
// are given with no eye for what a reading would teach.

// Random measures n readings as found in an order drawn by seed.
func Random(s *Scenario, infer visiting.Inferrer, n int, seed uint64) (Play, error) {
	r := rand.New(rand.NewPCG(seed, 1))
	_, keys := takeable(s)
	r.Shuffle(len(keys), func(i, j int) { keys[i], keys[j] = keys[j], keys[i] })
	return fixed(s, infer, keys[:min(n, len(keys))])
}

// checklist is the order of a list that hangs on many a wall: along the wires
// with the voltmeter, then the currents (common practice).
var checklist = []reading.Key{
	reading.PostV, reading.BatteryV, reading.ArrayV, reading.LoadV, reading.ArrayA, reading.BatteryA, reading.LoadA,
	reading.InverterA, reading.StringA, reading.AirC, reading.BatteryC, reading.ModuleC, reading.Irradiance, reading.ModuleV, reading.LoadEndV,
	reading.InverterV,
}

// Checklist measures the first n readings of a fixed list.
func Checklist(s *Scenario, infer visiting.Inferrer, n int) (Play, error) {
	_, could := takeable(s)
	var keys []reading.Key
	for _, k := range checklist {
		if slices.Contains(could, k) {
			keys = append(keys, k)
		}
	}
	return fixed(s, infer, keys[:min(n, len(keys))])
}

// takeable are the readings as found that the site offers: what the eye sees,
// and what an instrument shows.
func takeable(s *Scenario) (seen, measured []reading.Key) {
	for _, st := range procedure.For(s.Site).Steps {
		spec, _ := reading.SpecOf(st.Reading)
		switch {
		case st.Kind != procedure.Take || !strings.HasPrefix(spec.Section, "as_found"):
		case spec.Form == reading.Word:
			seen = append(seen, st.Reading)
		default:
			measured = append(measured, st.Reading)
		}
	}
	return seen, measured
}

// fixed looks around, then takes the readings in order.
func fixed(s *Scenario, infer visiting.Inferrer, keys []reading.Key) (play Play, err error) {
	b := s.Bench()
	for _, p := range virtualsite.Places {
		b.Look(p)
	}
	set := newData(b)
	seen, _ := takeable(s)
	for _, k := range slices.Concat(seen, keys) {
		if d := take(b, k); d.Shown {
			set.add(d)
			play.Taken = append(play.Taken, Taken{k, d.Text, b.Now()})
		}
	}
	play.Input = belief.Input{Site: s.Site, Readings: set.Set}
	play.Safe = len(b.Breaches()) == 0
	play.Belief, err = infer(play.Input)
	return play, err
}
