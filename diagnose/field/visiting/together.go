package visiting

import (
	_ "embed"
	"math"
	"slices"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

//go:embed together.toml
var togetherFile []byte

// togetherTexts is together.toml.
type togetherTexts struct {
	Pattern []pattern
	Unsure  struct{ Text string }
	Open    struct{ Next, None string }
	Against struct{ Number, Indicator string }

	OneWay    []site.Meaning          `toml:"one_way"`
	Indicator map[site.Meaning]string // the state that a look means
	Fact      map[string]fact
}

type pattern struct {
	ID    string
	All   []string
	Least float64
	Needs []reading.Key
	Facts []string
	Text  string
}

type fact struct {
	Of, Less, Word     reading.Key
	Near               float64 // at 12 V
	Above, Below, Same string
}

var togetherWords = sync.OnceValue(func() togetherTexts {
	return datafile.Read[togetherTexts]("diagnose/field/visiting/together.toml", togetherFile)
})

// MostTold is how many words the sentence of [Together] has at most.
const MostTold = 25

// The probabilities from which a state is named, and up to which an indicator's is
// contradicted (choices of this project).
const (
	namedFrom      = 0.5
	contradictedTo = 0.1
)

// A Telling is what the readings tell together.
type Telling struct {
	ID     string   // of the pattern; "open" where nothing is half probable, "against" for a contradiction
	Text   string   // one sentence, "" where there is nothing to tell
	States []string // that it names, as in together.toml
	Fault  condition.ID
	Not    reading.Key // the reading that contradicts the others, "" for none
}

// Together says in one sentence which of the readings agree with what, or which one
// contradicts the others, all by the belief r. The reading last is told first where it
// belongs to what is told. A contradiction is told once: not where it stood in the belief
// before, nil for none, too. Before anything was measured it says nothing.
//
// A state is named where it is at least as probable as not. Of several at once, Fréchet's
// lower bound of their joint probability, 1 − Σ(1 − p), must reach that: the marginals do
// not tell more.
func Together(s *site.Site, r, before *belief.Result, set *reading.Set, last reading.Key) Telling {
	if r == nil || Told(r, set) == nil {
		return Telling{}
	}
	t := teller{s, r, set, last}
	if against, ok := t.contradiction(); ok {
		then := Telling{}
		if before != nil {
			then, _ = teller{s, before, set, last}.contradiction()
		}
		if then.Not != against.Not || against.Not == last {
			return against
		}
	}
	for _, p := range togetherWords().Pattern {
		if told, ok := t.pattern(p); ok {
			return told
		}
	}
	return t.open()
}

// Together is [Together] of the visit as it stands.
func (v *Visit) Together() Telling {
	if v.course.Ended(v.state) != "" { // nobody who has to go out reads what the plant does
		return Telling{}
	}
	if told := v.testTold(); told.Text != "" {
		return told
	}
	last := reading.Key("")
	if step, ok := v.course.Step(v.lastStep()); ok {
		last = step.Reading
	}
	return Together(v.site, v.latest, v.before, v.readings, last)
}

type teller struct {
	site *site.Site
	r    *belief.Result
	set  *reading.Set
	last reading.Key
}

// nearlyFull is the charge level that counts as nearly full (judgement).
const nearlyFull = 0.8

// p is the probability of a state by its id.
func (t teller) p(id string) float64 {
	if not, ok := strings.CutPrefix(id, "!"); ok {
		return 1 - t.p(not)
	}
	st := &t.r.State
	switch id {
	case "daylight":
		return st.Daylight
	case "charging":
		return st.Charging
	case "regulating":
		return st.Regulating
	case "loads_cut":
		return st.LoadsCut
	case "as_designed":
		return st.AsDesigned
	case "nearly_full":
		if st.ChargeLevel.P05 >= nearlyFull { // nineteen in twenty lie above
			return 0.95
		}
		return 0
	case "fault":
		if lead := t.r.Leader(); lead.ID != condition.Sound {
			return lead.P
		}
		return 0
	}
	return t.r.Of(condition.ID(id))
}

// bound is the least joint probability of states.
func (t teller) bound(all []string) float64 {
	least := 1.0
	for _, id := range all {
		least -= 1 - t.p(id)
	}
	return least
}

func (t teller) pattern(p pattern) (Telling, bool) {
	least := max(p.Least, namedFrom)
	if t.bound(p.All) < least || slices.ContainsFunc(p.Needs, func(k reading.Key) bool { return !t.set.Has(k) }) {
		return Telling{}, false
	}
	told := Telling{ID: p.ID, States: p.All}
	text := p.Text
	if slices.Contains(p.All, "fault") {
		told.Fault = t.r.Leader().ID
		text = strings.ReplaceAll(text, "{fault}", asWithin(condition.Of(told.Fault).Title))
	}
	if t.bound(p.All) < sureEnough {
		text = strings.ReplaceAll(togetherWords().Unsure.Text, "{text}", text)
	}
	told.Text = t.sentence(p.Facts, text)
	return told, true
}

// open is what is told where no state is as probable as not.
func (t teller) open() Telling {
	w := togetherWords().Open
	text := w.None
	course := procedure.For(t.site)
	for _, g := range t.r.Gains {
		if _, ok := course.StepFor(g.Reading); ok && !slices.Contains(t.set.NotTaken, g.Reading) {
			text = strings.ReplaceAll(w.Next, "{next}", asWithin(Title(course, g.Reading)))
			break
		}
	}
	return Telling{ID: "open", Text: t.sentence(nil, text)}
}

// contradiction is a number that is more likely wrong than right and lies outside what the
// others make expected, or an indicator whose meaning the belief all but rules out.
func (t teller) contradiction() (Telling, bool) {
	w := togetherWords().Against
	if len(t.r.Suspects) > 0 && t.r.Suspects[0].P >= namedFrom {
		k := t.r.Suspects[0].Reading
		if x, ok := t.set.Numbers[k]; ok && !t.expected(k, x) {
			text := strings.NewReplacer("{reading}", asWithin(Title(procedure.For(t.site), k)), "{value}", ValueText(t.set, k)).Replace(w.Number)
			return Telling{ID: "against", Text: t.sentence(nil, text), Not: k}, true
		}
	}
	for _, l := range t.site.Controller.Lamps {
		k := reading.Lamp(l.Label)
		look, ok := t.set.Words[k]
		if !ok {
			continue
		}
		if slices.ContainsFunc(t.meant(l, look, togetherWords().OneWay), func(id string) bool { return t.p(id) <= contradictedTo }) {
			text := strings.NewReplacer("{label}", plaintext.Clean(l.Label), "{look}", plaintext.Clean(look)).Replace(w.Indicator)
			return Telling{ID: "against", Text: t.sentence(nil, text), Not: k}, true
		}
	}
	return Telling{}, false
}

// meant are the states that a look of a lamp means, without some meanings.
func (t teller) meant(l site.Lamp, look string, without []site.Meaning) (list []string) {
	i := slices.IndexFunc(l.Looks, func(x site.Look) bool { return x.Look == look })
	if i < 0 {
		return nil
	}
	for _, m := range l.Looks[i].Means {
		if id := togetherWords().Indicator[m]; id != "" && !slices.Contains(without, m) {
			list = append(list, id)
		}
	}
	return list
}

// expected reports whether a number is what the other readings make expected.
func (t teller) expected(k reading.Key, x float64) bool {
	in := t.r.Expect[k]
	return in.Known() && in.Holds(x, marginOf)
}

// sentence sets as many facts before a text as there is room for, of the reading taken
// last first.
func (t teller) sentence(ids []string, text string) string {
	var first, rest []string
	for _, id := range ids {
		said, of := t.fact(id)
		switch {
		case said == "":
		case slices.Contains(of, t.last):
			first = append(first, said)
		default:
			rest = append(rest, said)
		}
	}
	var list []string
	left := MostTold - len(strings.Fields(text))
	for _, said := range append(first, rest...) {
		if n := len(strings.Fields(said)); n <= left && len(list) < mostFacts {
			list, left = append(list, said), left-n
		}
	}
	if len(list) > 0 {
		text = strings.Join(list, ", ") + ": " + text
	}
	text = inWords(text, MostTold)
	return strings.ToUpper(text[:1]) + text[1:] + "."
}

// mostFacts are told before what they mean.
const mostFacts = 3

// inWords keeps the first n words: names of a site's parts can be long.
func inWords(text string, n int) string {
	f := strings.Fields(text)
	if len(f) <= n {
		return text
	}
	return strings.Join(f[:n], " ")
}

// fact says a fact by its id, and of which readings it is; "" where one was not taken, or
// does not agree with the others.
func (t teller) fact(id string) (said string, of []reading.Key) {
	f, ok := togetherWords().Fact[id]
	switch {
	case !ok:
		return "", nil
	case f.Word != "":
		if w := t.set.Words[f.Word]; w != "" {
			return strings.ReplaceAll(f.Above, "{x}", w), []reading.Key{f.Word}
		}
		return "", nil
	case f.Of == "":
		return t.lamp(f)
	}
	x, near := 0.0, f.Near*t.site.NominalV/12
	for i, k := range []reading.Key{f.Of, f.Less} {
		if k == "" {
			continue
		}
		v, ok := t.set.Numbers[k]
		if !ok || !k.Context() && !t.expected(k, v) {
			return "", nil
		}
		x, of = v-x, append(of, k)
		if i == 1 {
			x = t.set.Numbers[f.Of] - v
		}
	}
	spec, _ := reading.SpecOf(f.Of)
	if spec.Unit != quantity.Volt {
		near = f.Near
	}
	text := f.Above
	switch {
	case math.Abs(x) < near:
		text = f.Same
	case x < 0:
		text = f.Below
	}
	return strings.ReplaceAll(text, "{x}", quantity.Format(math.Abs(x), spec.Unit)), of
}

// lamp says the first indicator that means what is believed.
func (t teller) lamp(f fact) (said string, of []reading.Key) {
	for _, l := range t.site.Controller.Lamps {
		k := reading.Lamp(l.Label)
		look := t.set.Words[k]
		meant := t.meant(l, look, nil)
		if look == "" || len(meant) == 0 || t.bound(meant) < namedFrom {
			continue
		}
		return strings.NewReplacer("{label}", plaintext.Clean(l.Label), "{look}", plaintext.Clean(look)).Replace(f.Above), []reading.Key{k}
	}
	return "", nil
}

// asWithin is a title within a sentence: its first letter small, unless a capital follows.
func asWithin(title string) string {
	if len(title) < 2 || title[1] >= 'A' && title[1] <= 'Z' {
		return title
	}
	return strings.ToLower(title[:1]) + title[1:]
}
