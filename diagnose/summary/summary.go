package summary

import (
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose"
	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/procedure"
	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
)

// facts is what a summary is made of; a set of readings has no head, answers,
// notes and state.
type facts struct {
	site     *site.Site
	course   *procedure.Procedure
	readings *reading.Set
	result   *belief.Result // nil: nothing inferred
	visit    *diagnose.Visit
}

// OfVisit is the summary of a visit, finished or not, by its latest belief.
func OfVisit(v *diagnose.Visit) Document {
	f := facts{v.Site(), v.Procedure(), v.Input().Readings, v.Belief(), v}
	return f.document()
}

// OfReadings is the summary of a set of readings with the belief from them.
func OfReadings(in belief.Input, r *belief.Result) Document {
	return facts{in.Site, procedure.For(in.Site), in.Readings, r, nil}.document()
}

func (f facts) document() Document {
	t := texts()
	d := Document{Title: t.Title + ": " + f.site.Name}
	add := func(heading string, blocks ...Block) {
		blocks = slices.DeleteFunc(blocks, empty)
		if len(blocks) > 0 {
			d.Sections = append(d.Sections, Section{heading, blocks})
		}
	}
	add(t.Heading.Visit, f.when())
	add(t.Heading.Equipment, f.equipment())
	if f.result == nil {
		add(t.Heading.Found, Paragraph(t.Sentence.NoBelief))
	} else {
		add(t.Heading.Found, f.found()...)
		add(t.Heading.State, plain(diagnose.StateSentences(f.site, f.result)))
		add(t.Heading.Why, plain(diagnose.Because(f.result, f.readings, f.course, mostReasons)))
		add(t.Heading.Do, f.actions()...)
		add(t.Heading.Energy, f.energy())
	}
	add(t.Heading.Readings, f.table()...)
	add(t.Heading.Suspect, f.suspects())
	add(t.Heading.Missing, f.missing())
	if f.visit != nil {
		add(t.Heading.Seen, f.seen())
		add(t.Heading.Closed, f.closed())
		add(t.Heading.Checks, f.checks())
		add(t.Heading.Notes, f.notes())
		add(t.Heading.Open, f.open()...)
	}
	add(t.Heading.Cautions, f.cautions()...)
	add(t.Heading.Signatures, Signatures(t.Signature.Lines))
	return d
}

const mostReasons = 6

func empty(b Block) bool {
	switch b := b.(type) {
	case List:
		return len(b.Items) == 0
	case Table:
		return len(b.Rows) == 0
	case Facts:
		return len(b) == 0
	default:
		return false
	}
}

func plain(sentences []string) List {
	var l List
	for _, s := range sentences {
		l.Items = append(l.Items, Item{Text: s})
	}
	return l
}

const timeForm = "2006-01-02 15:04 -07:00"

func (f facts) when() Facts {
	t := texts().Fact
	facts := Facts{{t.Site, f.site.Name}}
	if f.visit == nil {
		if !f.readings.TakenAt.IsZero() {
			facts = append(facts, Fact{t.Taken, f.readings.TakenAt.Format(timeForm)})
		}
		return facts
	}
	h := f.visit.Head()
	who := h.Who
	if who == "" {
		who = t.Nobody
	}
	facts = append(facts, Fact{t.By, who}, Fact{t.Begun, h.StartedAt.Format(timeForm)})
	if all := f.visit.History(); len(all) > 0 {
		last := all[len(all)-1].At.In(h.StartedAt.Location()) // the time of the site, wherever it is printed
		facts = append(facts, Fact{t.Last, last.Format(timeForm)})
	}
	state := t.Finished
	if !f.visit.Done() {
		state = t.Unfinished
	}
	return append(facts, Fact{t.Visit, fmt.Sprintf(state, h.ID)})
}

func (f facts) equipment() Facts {
	t, e := texts(), texts().Equipment
	s := f.site
	a, c, b := s.Array, s.Controller, s.Battery
	list := Facts{
		{t.Fact.System, fmt.Sprintf("%.0f V", s.NominalV)},
		{t.Fact.Array, fmt.Sprintf(e.Array, a.Strings, a.Series, a.Module.PmpW, a.PowerW())},
		{t.Fact.Controller, fmt.Sprintf(e.Controller, t.Controller[c.Kind], c.RatedA, c.AbsorbV, c.CutV)},
		{t.Fact.Battery, fmt.Sprintf(e.Battery, t.Chemistry[b.Chemistry], b.CapacityAh, b.Blocks, b.CellsPerBlock)},
	}
	var loads []string
	for _, l := range s.Loads {
		loads = append(loads, fmt.Sprintf(e.Load, l.Label, l.PowerW))
	}
	if loads != nil {
		list = append(list, Fact{t.Fact.Loads, strings.Join(loads, ", ")})
	}
	if on := f.readings.LoadsOn; len(on) > 0 {
		list = append(list, Fact{t.Fact.On, strings.Join(on, ", ")})
	} else if on != nil {
		list = append(list, Fact{t.Fact.On, t.Fact.NoneOn})
	}
	return list
}

// What the belief must be to say so.
const (
	decided     = 0.8  // leader
	likely      = 0.5  // that nothing is wrong, though not decided
	together    = 0.5  // second condition beside the leader
	alternative = 0.05 // another worth naming
	considered  = 0.2  // another whose actions are worth considering
)

// others are the conditions beside the leader with a probability of floor or more.
func (f facts) others(floor float64) []belief.Posterior {
	var list []belief.Posterior
	for _, p := range f.result.Conditions[1:] {
		if p.P >= floor && (p.ID != condition.Sound || f.leader().P < decided) {
			list = append(list, p)
		}
	}
	return list
}

func (f facts) leader() belief.Posterior { return f.result.Leader() }

// joins reports whether p is believed beside the leader, not in its place.
func (f facts) joins(p belief.Posterior) bool {
	return p.P >= together && f.leader().ID != condition.Sound && p.ID != condition.Sound && slices.Contains(f.leader().With, p.ID)
}

func (f facts) found() []Block {
	t := texts().Sentence
	lead := f.leader()
	sentence := t.Decided
	switch {
	case lead.P >= decided:
	case lead.ID == condition.Sound && lead.P >= likely:
		sentence = t.NothingFound
	default:
		sentence = t.Undecided
	}
	blocks := []Block{Paragraph(said(sentence, lead)), Paragraph(condition.Of(lead.ID).Meaning)}
	var also List
	for _, p := range f.others(alternative) {
		if f.joins(p) {
			blocks = append(blocks, Paragraph(said(t.Together, p)), Paragraph(condition.Of(p.ID).Meaning))
			continue
		}
		also.Items = append(also.Items, Item{Text: said(t.Other, p)})
	}
	if len(also.Items) > 0 {
		blocks = append(blocks, Paragraph(t.Others), also)
	}
	if lead.P >= decided {
		return blocks
	}
	var separate List
	for _, p := range f.toSeparate() {
		c := condition.Of(p.ID)
		if c.Separate != "" {
			separate.Items = append(separate.Items, Item{Text: c.Title + ": " + c.Separate})
		}
	}
	return append(blocks, Paragraph(t.Separate), separate)
}

// toSeparate are the conditions worth telling apart. That nothing is wrong is
// shown by what shows the others to be absent; only in the dark another visit
// helps.
func (f facts) toSeparate() []belief.Posterior {
	others := f.others(considered)
	if f.leader().ID != condition.Sound {
		return append([]belief.Posterior{f.leader()}, others...)
	}
	if len(others) == 0 {
		others = f.others(alternative)
	}
	if f.result.State.Daylight < 0.5 || len(others) == 0 {
		return append([]belief.Posterior{f.leader()}, others...)
	}
	return others
}

func said(sentence string, p belief.Posterior) string {
	return fmt.Sprintf(sentence, condition.Of(p.ID).Title, diagnose.Likelihood(p.P), diagnose.Percent(p.P))
}

// actions are what to do about the leader and whatever else is likely enough.
func (f facts) actions() []Block {
	t := texts().Sentence
	var blocks []Block
	todo := []belief.Posterior{f.leader()}
	for _, p := range f.others(considered) {
		if p.ID != condition.Sound {
			todo = append(todo, p)
		}
	}
	for _, p := range todo {
		c := condition.Of(p.ID)
		l := List{Numbered: true}
		for _, a := range c.ActionsFor(f.site.Battery.Chemistry) {
			it := Item{Text: a.Do, Below: []string{
				fmt.Sprintf(t.Who, a.Who, a.With),
				fmt.Sprintf(t.Proof, a.Proof.Shows, diagnose.Title(f.course, a.Proof.Reading)),
			}}
			if a.Caution != "" {
				it.Below = append(it.Below, fmt.Sprintf(t.Caution, a.Caution))
			}
			l.Items = append(l.Items, it)
		}
		if len(todo) > 1 {
			blocks = append(blocks, Paragraph(c.Title+":"))
		}
		blocks = append(blocks, l)
	}
	return blocks
}

func (f facts) energy() List {
	st := f.result.State
	var l List
	for _, tip := range condition.Advise(condition.AdviceState{
		Daylight: st.Daylight, Charging: st.Charging, Regulating: st.Regulating, LoadsCut: st.LoadsCut,
		ChargeLevel: st.ChargeLevel.Mean, Chemistry: f.site.Battery.Chemistry,
	}) {
		l.Items = append(l.Items, Item{Text: tip.Title + ". " + tip.Text})
	}
	return l
}

func (f facts) cautions() []Block {
	var parts []condition.Part
	if f.result != nil {
		for _, p := range append([]belief.Posterior{f.leader()}, f.others(alternative)...) {
			if part := condition.Of(p.ID).Part; part != condition.NoPart {
				parts = append(parts, part)
			}
		}
	}
	var l List
	for _, c := range condition.Cautions(f.site.Battery, parts...) {
		l.Items = append(l.Items, Item{Text: c.Title + ": " + c.Text})
	}
	return []Block{l, plain(f.course.Limits), Paragraph(texts().Sentence.ByHand)}
}
