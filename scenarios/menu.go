package scenarios

import (
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/site"
	"ampwalk/scenarios/virtualsite"
)

// A Choice is something to do: a command to type, or more choices.
type Choice struct {
	Label string
	Do    string // what is typed for it; "" where Sub goes on
	Sub   []Choice
	ID    string // of Sub: the same while it is about the same
}

// Menu is all that can be done now, for those who choose instead of typing.
func (s *Session) Menu() []Choice {
	w := words().Menu
	switch {
	case s.Ended():
		return nil
	case s.question != nil:
		var list []Choice
		for i, c := range s.question.choices {
			list = append(list, Choice{Label: c, Do: fmt.Sprint("answer ", i+1)})
		}
		return list
	case s.named != nil:
		var list []Choice
		for i, a := range s.actions {
			list = append(list, Choice{Label: a.do, Do: fmt.Sprint("do ", i+1)})
		}
		return append(list, Choice{Label: w.NameAnew, Sub: s.naming(), ID: "name"})
	}
	return append(s.measuring(),
		Choice{Label: w.Switch, Sub: s.switching(), ID: "switch"},
		Choice{Label: w.Wait, Sub: waits(5, 30, 60, 360), ID: "wait"},
		Choice{Label: w.Believe, Sub: s.believing(), ID: "believe"},
		Choice{Label: w.Ask, ID: "ask", Sub: []Choice{{Label: w.Data, Do: "data"}, {Label: fmt.Sprintf(w.Hint, s.nextHintCost()), Do: "hint"}, {Label: w.History, Do: "history"}, {Label: w.Conditions, Do: "conditions"}}},
		Choice{Label: w.Name, Sub: s.naming(), ID: "name"},
	)
}

// MeasureMenu is what can be done at the bench of a guided practice.
func (g *Guided) MeasureMenu() []Choice {
	list := g.bench.measuring()
	if activeTests[g.Visit.Prompt().Step.ID] == nil {
		return list
	}
	var change []Choice
	for _, c := range g.bench.switching() {
		word, _, _ := strings.Cut(c.Do, " ")
		if c.ID != "" {
			word = c.ID
		}
		if slices.Contains(atTests, word) {
			change = append(change, c)
		}
	}
	return append(list, Choice{Label: words().Menu.Switch, Sub: change, ID: "switch"})
}

// measuring is looking and reading meters.
func (s *Session) measuring() []Choice {
	w := words().Menu
	return []Choice{
		{Label: w.Look, Sub: each(virtualsite.Places, "look "), ID: "look"},
		{Label: w.Probe, Sub: s.probing(), ID: "probe"},
		{Label: w.Meter, Sub: s.setting(), ID: "meter"},
		{Label: w.Clamp, Sub: s.clamping(), ID: "clamp"},
		{Label: w.Others, ID: "others", Sub: []Choice{
			{Label: w.Light, Do: "light"}, {Label: w.Warm, Sub: each(virtualsite.Spots, "warm "), ID: "warm"},
			acidOrOutputs(s.sc.Site), {Label: w.Wear, Do: "wear"},
			{Label: w.Ready, Sub: each(virtualsite.Readies, "ready "), ID: "ready"},
		}},
	}
}

// acidOrOutputs is the hydrometer, or at a closed kit the USB meter.
func acidOrOutputs(at *site.Site) Choice {
	if at.Kit != nil {
		return Choice{Label: words().Menu.Outputs, Do: "outputs"}
	}
	return Choice{Label: words().Menu.Acid, Do: "acid"}
}

// each makes a choice of each word, typed after a command.
func each[T ~string](list []T, command string) (choices []Choice) {
	for _, x := range list {
		choices = append(choices, Choice{Label: string(x), Do: command + string(x)})
	}
	return choices
}

func (s *Session) probing() (list []Choice) {
	w := words().Menu
	points := s.b.Points()
	for _, pair := range s.b.Pairs() {
		list = append(list, Choice{Label: fmt.Sprintf(w.Pair, pair), Do: "probe " + pair})
	}
	var others []Choice
	for _, red := range points {
		others = append(others, Choice{Label: fmt.Sprintf(w.Red, red), Sub: each(points, "probe "+red+" "), ID: red})
	}
	return append(list, Choice{Label: w.TwoPoints, Sub: others, ID: "points"})
}

func (s *Session) setting() (list []Choice) {
	m := s.b.Meter()
	function := functionWords[slices.Index(virtualsite.Functions, m.Function)]
	var functions, ranges, sockets []Choice
	for i, f := range virtualsite.Functions {
		functions = append(functions, Choice{Label: string(f), Do: "meter " + functionWords[i]})
	}
	for _, r := range virtualsite.Ranges {
		ranges = append(ranges, Choice{Label: fmt.Sprintf("%g V", r), Do: fmt.Sprintf("meter %s %g", function, r)})
	}
	for _, x := range []virtualsite.Socket{virtualsite.VoltSocket, virtualsite.AmpSocket} {
		sockets = append(sockets, Choice{Label: string(x), Do: fmt.Sprintf("meter %s %g %s", function, m.Range, x)})
	}
	w := words().Menu
	return []Choice{{Label: w.Range, Sub: ranges, ID: "range"}, {Label: w.Function, Sub: functions, ID: "function"}, {Label: w.Socket, Sub: sockets, ID: "socket"}}
}

func (s *Session) clamping() []Choice {
	w := words().Menu
	list := []Choice{{Label: w.Zero, Do: "zero"}}
	for _, wire := range s.b.Wires() {
		if _, turns := w.Arrow[wire]; !turns { // around both nothing is shown whichever way
			list = append(list, Choice{Label: wire, Do: "clamp " + wire})
			continue
		}
		list = append(list, Choice{Label: wire, ID: wire, Sub: []Choice{{Label: w.Arrow[wire], Do: "clamp " + wire}, {Label: w.Turned, Do: "clamp " + wire + " turned"}}})
	}
	return append(list, Choice{Label: w.Range, ID: "range", Sub: []Choice{{Label: "20 A", Do: "range 20"}, {Label: "200 A", Do: "range 200"}}})
}

func (s *Session) switching() []Choice {
	w := words().Menu
	o := s.b.State()
	loads := []Choice{{Label: w.LoadsNone, Do: "loads none"}, {Label: w.LoadsFound, Do: "loads as-found"}, {Label: w.LoadsAll, Do: "loads all"}}
	for i, l := range s.sc.Site.Loads {
		loads = append(loads, Choice{Label: fmt.Sprintf(w.LoadOnly, plaintext.Clean(l.Label)), Do: fmt.Sprint("loads ", i+1)})
	}
	list := []Choice{{Label: w.AskPeople, Do: "ask"}, {Label: w.Loads, Sub: loads, ID: "loads"}, toggle(o.Array, w.ArrayClose, "array close", w.ArrayOpen, "array open")}
	out := map[virtualsite.Fuse]bool{virtualsite.ArrayFuse: o.ArrayFuse, virtualsite.BatteryFuse: o.BatteryFuse, virtualsite.LoadFuse: o.LoadFuse}
	for _, f := range s.b.Fuses() {
		list = append(list, toggle(out[f], fmt.Sprintf(w.FuseIn, f), fmt.Sprintf("fuse %s in", f), fmt.Sprintf(w.FuseOut, f), fmt.Sprintf("fuse %s out", f)))
	}
	if s.sc.Site.Inverter != nil {
		list = append(list, toggle(s.b.InverterOn(), w.InverterOff, "inverter off", w.InverterOn, "inverter on"))
	}
	if s.sc.Site.Charger != nil {
		list = append(list, toggle(s.b.ChargerOn(), w.ChargerOff, "charger off", w.ChargerOn, "charger on"))
	}
	if o.ByHand > 0 {
		list = append(list, Choice{Label: w.ShadeOff, Do: "shade off"})
	} else {
		var modules []Choice
		for i := range s.b.Modules() {
			modules = append(modules, Choice{Label: fmt.Sprintf(w.ShadeOn, i+1), Do: fmt.Sprint("shade ", i+1)})
		}
		list = append(list, Choice{Label: w.Shade, Sub: modules, ID: "shade"})
	}
	return append(list, toggle(o.Shorted, w.ShortOff, "short off", w.ShortOn, "short on"))
}

func toggle(on bool, offLabel, off, onLabel, do string) Choice {
	if on {
		return Choice{Label: offLabel, Do: off}
	}
	return Choice{Label: onLabel, Do: do}
}

func waits(minutes ...int) (list []Choice) {
	for _, m := range minutes {
		list = append(list, Choice{Label: words().Menu.Minutes.Of(m), Do: fmt.Sprint("wait ", m)})
	}
	return list
}

func (s *Session) believing() (list []Choice) {
	for _, c := range condition.Applicable(s.sc.Site) {
		var weights []Choice
		for _, x := range []int{0, 5, 10, 25, 50, 75, 90, 98} {
			weights = append(weights, Choice{Label: fmt.Sprintf("%d %%", x), Do: fmt.Sprintf("weigh %s %d", c.ID, x)})
		}
		label, id := c.Title, string(c.ID)
		if x := s.weights[c.ID]; x > 0 { // once weighed it is done with
			label, id = fmt.Sprintf("%s (%s)", c.Title, quantity.Share(x)), fmt.Sprint(id, x)
		}
		list = append(list, Choice{Label: label, Sub: weights, ID: id})
	}
	return list
}

// naming offers one condition or two.
func (s *Session) naming() (list []Choice) {
	w := words().Menu
	all := condition.Applicable(s.sc.Site)
	for _, c := range all {
		sub := []Choice{{Label: w.OnlyThis, Do: "name " + string(c.ID)}}
		for _, other := range all {
			if other.ID != c.ID && c.ID != condition.Sound && other.ID != condition.Sound {
				sub = append(sub, Choice{Label: fmt.Sprintf(w.And, other.Title), Do: fmt.Sprintf("name %s %s", c.ID, other.ID)})
			}
		}
		list = append(list, Choice{Label: c.Title, Sub: sub, ID: string(c.ID)})
	}
	return list
}

func (s *Session) nextHintCost() int { return hintCost[min(s.hints, hintsOf-1)] }

// weigh sets one weight in percent; where all then come to more than 100, the
// others shrink.
func (s *Session) weigh(fields []string) ([]string, error) {
	if len(fields) != 2 {
		return nil, fmt.Errorf(words().Problem.Percentage, errUnknown)
	}
	id, err := s.condition(fields[0])
	if err != nil {
		return nil, err
	}
	x, err := percent(fields[1])
	if err != nil {
		return nil, err
	}
	w := s.Weights()
	delete(w, id)
	var sum float64
	for _, y := range w {
		sum += y
	}
	if sum > 1-x {
		for k := range w {
			w[k] *= (1 - x) / sum
		}
	}
	if w[id] = x; x == 0 {
		delete(w, id)
	}
	s.weights = w
	return s.critique()
}
