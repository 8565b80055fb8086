package summary

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// facts is what a summary is made of; a set of readings has no head, answers,
// notes and state.
type facts struct {
	site     *site.Site
	course   *procedure.Procedure
	readings *reading.Set
	result   *belief.Result // nil: nothing inferred
	visit    *visiting.Visit
}

func factsOf(v *visiting.Visit) facts {
	return facts{v.Site(), v.Procedure(), v.Input().Readings, v.Belief(), v}
}

// ForStaff is the summary of a visit, finished or not, by its latest belief, for
// those who work on the system and those who answer for it.
func ForStaff(v *visiting.Visit, b Beside) document.Document { return factsOf(v).document(b) }

// OfVisit is [ForStaff] with nothing beside the visit.
func OfVisit(v *visiting.Visit) document.Document { return ForStaff(v, Beside{}) }

// OfReadings is the summary of a set of readings with the belief from them.
func OfReadings(in belief.Input, r *belief.Result, b Beside) document.Document {
	return facts{in.Site, procedure.For(in.Site), in.Readings, r, nil}.document(b)
}

func (f facts) input() belief.Input { return belief.Input{Site: f.site, Readings: f.readings} }

// sheet collects the sections of a document that have something to say.
type sheet struct{ document.Document }

func (s *sheet) add(heading string, blocks ...document.Block) {
	if blocks = slices.DeleteFunc(blocks, empty); len(blocks) > 0 {
		s.Sections = append(s.Sections, document.Section{Heading: heading, Blocks: blocks})
	}
}

// wide is add for what needs the whole width.
func (s *sheet) wide(heading string, blocks ...document.Block) {
	n := len(s.Sections)
	if s.add(heading, blocks...); len(s.Sections) > n {
		s.Sections[n].Wide = true
	}
}

// fine is add for what is looked up, not read.
func (s *sheet) fine(heading string, blocks ...document.Block) {
	n := len(s.Sections)
	if s.add(heading, blocks...); len(s.Sections) > n {
		s.Sections[n].Fine = true
	}
}

func (f facts) document(b Beside) document.Document {
	t := texts()
	d := &sheet{f.titled(t.Title, b)}
	d.wide(t.Heading.Danger, f.cards()...)
	known := f.result != nil && !f.thin()
	d.wide(t.Heading.AsFound, f.repairs()...)
	found, heading := []document.Block{f.notBack(t.Sentence.NotBack)}, t.Heading.Found
	switch {
	case f.result == nil:
		found = append(found, document.Paragraph(t.Sentence.NoBelief))
	case !known:
		found = append(found, document.Paragraph(t.Sentence.Thin))
	default:
		found = slices.Concat(found, f.found(), f.tooSmall(b.Outlook), []document.Block{f.next()})
		if f.repairs() != nil {
			heading = t.Heading.AsLeft
		}
	}
	d.wide(heading, found...)
	d.add(t.Heading.Visit, f.when(b))
	if known {
		d.add(t.Heading.State, plain(f.state(b.Outlook)))
		d.add(t.Heading.Why, plain(visiting.Because(f.result, f.readings, f.course, maxReasons)))
		d.add(t.Heading.Do, f.actions()...)
	}
	d.add(t.Heading.Repair, f.findings())
	d.add(t.Heading.Equipment, f.equipment())
	d.add(t.Heading.Moment, f.moment())
	if known {
		ahead := f.ahead(b.Outlook)
		d.add(t.Heading.Outlook, ahead)
		d.add(t.Heading.Energy, f.energy(b.Outlook))
		d.add(t.Heading.Wiring, f.wiring())
		d.add(t.Heading.Curve, f.curve())
		if ahead == nil { // it needs the room; the charge is told among the state
			d.add(t.Heading.Charge, f.charge())
		}
		d.add(t.Heading.Steps, f.steps(b.Steps))
		d.add(t.Heading.Trend, f.trend(b.Earlier))
	}
	d.wide(t.Heading.Readings, f.asFound().table()...)
	d.add(t.Heading.Suspect, f.asFound().suspects())
	if f.visit != nil {
		d.add(t.Heading.Twice, f.twice())
	}
	d.add(t.Heading.Missing, f.missing())
	if f.visit != nil {
		d.add(t.Heading.Closed, f.closed())
		d.fine(t.Heading.Unasked, f.unasked())
		d.fine(t.Heading.Seen, f.seen())
		d.fine(t.Heading.Checks, f.checks())
		d.add(t.Heading.Notes, f.notes())
		d.add(t.Heading.Open, f.open()...)
	}
	d.fine(t.Heading.Instruments, f.instruments())
	d.fine(t.Heading.Cautions, f.cautions()...)
	d.wide(t.Heading.Signatures, document.Signatures(t.Signature.Lines))
	return d.Document
}

// titled is an empty document about the site.
func (f facts) titled(title string, b Beside) document.Document {
	t := texts()
	d := document.Document{Title: title + ": " + f.site.Name, Subject: t.Subject, At: f.readings.TakenAt}
	if f.visit == nil {
		return d
	}
	h := f.visit.Head()
	d.Author, d.At = h.Who, h.StartedAt
	d.Foot = h.ID
	if b.Fingerprint != "" {
		d.Foot += ", " + fmt.Sprintf(t.Foot, b.Fingerprint)
	}
	return d
}

const maxReasons = 6

func empty(b document.Block) bool {
	switch b := b.(type) {
	case nil:
		return true
	case document.Picture:
		return len(b.Drawing.Shapes) == 0
	case document.List:
		return len(b.Items) == 0
	case document.Table:
		return len(b.Rows) == 0
	case document.Facts:
		return len(b) == 0
	default:
		return false
	}
}

func plain(sentences []string) document.List {
	var l document.List
	for _, s := range sentences {
		l.Items = append(l.Items, document.Item{Text: s})
	}
	return l
}

const timeForm = "2006-01-02 15:04 -07:00"

func (f facts) when(b Beside) document.Facts {
	t := texts().Fact
	facts := document.Facts{{Name: t.Site, Value: f.site.Name}}
	if f.visit == nil {
		if !f.readings.TakenAt.IsZero() {
			facts = append(facts, document.Fact{Name: t.Taken, Value: f.readings.TakenAt.Format(timeForm)})
		}
		return facts
	}
	h := f.visit.Head()
	who := h.Who
	if who == "" {
		who = t.Nobody
	}
	facts = append(facts, document.Fact{Name: t.By, Value: who}, document.Fact{Name: t.Begun, Value: h.StartedAt.Format(timeForm)})
	if all := f.visit.History(); len(all) > 0 {
		last := all[len(all)-1].At.In(h.StartedAt.Location()) // the time of the site, wherever it is printed
		facts = append(facts, document.Fact{Name: t.Last, Value: last.Format(timeForm)})
	}
	state := t.Finished
	if !f.visit.Done() {
		state = t.Unfinished
	}
	facts = append(facts, document.Fact{Name: t.Visit, Value: fmt.Sprintf(state, h.ID)})
	if b.Fingerprint != "" {
		facts = append(facts, document.Fact{Name: t.Fingerprint, Value: inGroups(b.Fingerprint)})
	}
	return facts
}

// inGroups is a long word in pieces of eight letters, to compare by eye.
func inGroups(word string) string {
	var parts []string
	for part := range slices.Chunk([]rune(word), 8) {
		parts = append(parts, string(part))
	}
	return strings.Join(parts, " ")
}

func (f facts) equipment() document.Facts {
	t, e := texts(), texts().Equipment
	s := f.site
	a, c, b := s.Array, s.Controller, s.Battery
	list := document.Facts{
		{Name: t.Fact.System, Value: fmt.Sprintf("%.0f V", s.NominalV)},
		{Name: t.Fact.Array, Value: fmt.Sprintf(e.Array, a.Strings, a.Series, a.Module.PmpW, a.PowerW())},
		{Name: t.Fact.Controller, Value: fmt.Sprintf(e.Controller, t.Controller[c.Kind], c.RatedA, c.AbsorbV, c.CutV)},
		{Name: t.Fact.Battery, Value: fmt.Sprintf(e.Battery, t.Chemistry[b.Chemistry], b.CapacityAh, b.Blocks, b.CellsPerBlock)},
	}
	var loads []string
	for _, l := range s.Loads {
		loads = append(loads, fmt.Sprintf(e.Load, l.Label, l.PowerW))
	}
	if loads != nil {
		list = append(list, document.Fact{Name: t.Fact.Loads, Value: strings.Join(loads, ", ")})
	}
	if assumed := f.assumed(); assumed != nil {
		list = append(list, document.Fact{Name: t.Fact.Assumed, Value: strings.Join(assumed, "; ")})
	}
	return list
}

// assumed are the figures that nobody has read off or measured: the belief is
// wider for them.
func (f facts) assumed() []string {
	if f.visit == nil {
		return nil
	}
	d, err := siteform.Open("site file", []byte(f.visit.Head().SiteTOML))
	if err != nil {
		return nil
	}
	return d.Assumptions()
}

// moment is the weather, the temperatures and what was switched on.
func (f facts) moment() document.Facts {
	t := texts()
	var list document.Facts
	for _, k := range []reading.Key{reading.Sky, reading.Shade, reading.Glass, reading.Irradiance, reading.ModuleC, reading.AirC, reading.BatteryC} {
		if name, ok := t.Moment[string(k)]; ok && f.readings.Has(k) {
			list = append(list, document.Fact{Name: name, Value: visiting.ValueText(f.readings, k)})
		}
	}
	if on := f.readings.LoadsOn; len(on) > 0 {
		list = append(list, document.Fact{Name: t.Fact.On, Value: strings.Join(on, ", ")})
	} else if on != nil {
		list = append(list, document.Fact{Name: t.Fact.On, Value: t.Fact.NoneOn})
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

func (f facts) found() []document.Block {
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
	blocks := []document.Block{document.Verdict(said(sentence, lead)), document.Paragraph(condition.OfSite(lead.ID, f.site).Meaning)}
	if f.visit != nil {
		if p, ok := f.visit.Place(lead.ID); ok && p.Found() {
			blocks = append(blocks, document.Verdict(fmt.Sprintf(t.Place, p.Left[0].Part.Title, quantity.Percent(p.Left[0].P))))
		}
	}
	if len(f.findings().Items) > 0 {
		blocks = append(blocks, document.Verdict(t.SeenToo))
	}
	var also document.List
	for _, p := range f.others(alternative) {
		if f.joins(p) {
			blocks = append(blocks, document.Verdict(said(t.Together, p)), document.Paragraph(condition.OfSite(p.ID, f.site).Meaning))
			continue
		}
		also.Items = append(also.Items, document.Item{Text: said(t.Other, p)})
	}
	if len(also.Items) > 0 {
		blocks = append(blocks, document.Paragraph(t.Others), also)
	}
	if lead.P >= decided {
		return blocks
	}
	var separate document.List
	for _, p := range f.toSeparate() {
		c := condition.OfSite(p.ID, f.site)
		if c.Separate != "" {
			separate.Items = append(separate.Items, document.Item{Text: c.Title + ": " + c.Separate})
		}
	}
	return append(blocks, document.Paragraph(t.Separate), separate)
}

// notBack is what was not put back, in a sentence of this form; nil where all was.
func (f facts) notBack(form string) document.Block {
	if f.visit == nil {
		return nil
	}
	open := visiting.LeftBy(f.visit).NotBack
	if len(open) == 0 {
		return nil
	}
	return document.Verdict(fmt.Sprintf(form, strings.Join(open, "; ")))
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
	return fmt.Sprintf(sentence, condition.Of(p.ID).Title, visiting.Likelihood(p.P), quantity.Percent(p.P))
}

// actions are what to do about the leader and whatever else is likely enough.
func (f facts) actions() []document.Block {
	t := texts().Sentence
	var blocks []document.Block
	todo := []belief.Posterior{f.leader()}
	for _, p := range f.others(considered) {
		if p.ID != condition.Sound {
			todo = append(todo, p)
		}
	}
	for _, p := range todo {
		c := condition.OfSite(p.ID, f.site)
		l := document.List{Numbered: true}
		for _, a := range visiting.ToDo(p, f.input(), f.course) {
			it := document.Item{Text: a.Do, Below: []string{
				fmt.Sprintf(t.Who, a.Who.Text(), a.With),
				fmt.Sprintf(t.Proof, a.Proof.Shows, visiting.Title(f.course, a.Proof.Reading)),
			}}
			if c.ID != condition.Sound {
				it.Below = append(it.Below, f.agreed(c.ID))
			}
			if a.Caution != "" {
				it.Below = append(it.Below, fmt.Sprintf(t.Caution, a.Caution))
			}
			l.Items = append(l.Items, it)
		}
		if len(todo) > 1 {
			blocks = append(blocks, document.Paragraph(c.Title+":"))
		}
		blocks = append(blocks, l)
	}
	return blocks
}

// findings are what was seen and is to be put right, whatever was believed.
func (f facts) findings() document.List {
	var l document.List
	if f.visit == nil {
		return l
	}
	who, by := f.visit.SeenBy()
	for _, x := range f.visit.Findings() {
		l.Items = append(l.Items, document.Item{Text: x.String(), Below: []string{
			fmt.Sprintf(texts().Sentence.When, cmp.Or(by, texts().When.Words[condition.Later]), cmp.Or(who, texts().Sentence.NoName)),
		}})
	}
	return l
}

// agreed is by when an action should be done, and who sees to it: as agreed in the
// visit, or with room for a name.
func (f facts) agreed(id condition.ID) string {
	t, by, who := texts().Sentence, f.deadline(id), texts().Sentence.NoName
	if f.visit != nil {
		for _, w := range f.visit.OpenWork() {
			if w.Found.ID != id {
				continue
			}
			by, who = cmp.Or(w.ByText(), by), cmp.Or(w.Who, who)
		}
	}
	return fmt.Sprintf(t.When, by, who)
}

// longest is from when on the hours that a battery lasts are no deadline [h].
const longest = 240

// deadline says by when what is to be done about a condition should be done. The
// battery of a system that gets no charge gives one of its own.
func (f facts) deadline(id condition.ID) string {
	w := texts().When
	urgency := condition.Of(id).Urgency
	left := f.result.State.HoursToCut.P05
	if urgency == condition.Soon && f.result.State.Charging < 0.5 && f.result.State.Daylight >= 0.5 && left >= 1 && left < longest {
		return fmt.Sprintf(w.Hours, left)
	}
	return w.Words[urgency]
}

func (f facts) energy(o *outlook.Outlook) document.List {
	st := f.result.State
	var l document.List
	if len(f.lasting()) > 0 { // what is safe comes before what is good for the battery
		return l
	}
	for _, tip := range condition.Advise(condition.AdviceState{
		Daylight: st.Daylight, Charging: st.Charging, Regulating: st.Regulating, LoadsCut: st.LoadsCut,
		ChargeLevel: st.ChargeLevel.Mean, Chemistry: f.site.Battery.Chemistry,
	}) {
		if tip.Outlook && o != nil {
			continue
		}
		l.Items = append(l.Items, document.Item{Text: tip.Title + ". " + tip.Text})
	}
	return l
}

func (f facts) cautions() []document.Block {
	var parts []condition.Part
	if f.result != nil {
		for _, p := range append([]belief.Posterior{f.leader()}, f.others(alternative)...) {
			if part := condition.Of(p.ID).Part; part != condition.NoPart {
				parts = append(parts, part)
			}
		}
	}
	var l document.List
	for _, c := range condition.Cautions(f.site.Battery, parts...) {
		l.Items = append(l.Items, document.Item{Text: c.Title + ": " + c.Text})
	}
	return []document.Block{l, plain(f.course.Limits), document.Paragraph(texts().Sentence.ByHand)}
}
