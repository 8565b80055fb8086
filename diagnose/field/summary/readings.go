package summary

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// table lists every reading that has a value, in the order of the readings file.
func (f facts) table() []document.Block {
	t := texts()
	tab := document.Table{Head: []string{t.Table.Reading, t.Table.Found, t.Table.Expected, t.Table.Bar, t.Table.Verdict}}
	for _, k := range f.keys() {
		if !f.readings.Has(k) {
			continue
		}
		v := f.verdict(k)
		row := document.Row(visiting.Title(f.course, k), f.value(k), f.expected(k), "", t.Verdict[v])
		row[3].Bar = f.bar(k)
		row[4].Strong = v == suspect || v == surprising
		tab.Rows = append(tab.Rows, row)
	}
	if len(tab.Rows) == 0 {
		return []document.Block{document.Paragraph(t.Sentence.NotFound)}
	}
	drawn := func(row []document.Cell) bool { return row[3].Bar != nil }
	said := visiting.BalanceText(f.site, f.readings)
	if slices.ContainsFunc(f.keys(), f.turned) { // the readings file has them otherwise
		said = strings.TrimSpace(t.Sentence.Signs + " " + said)
	}
	if slices.ContainsFunc(tab.Rows, drawn) {
		return []document.Block{tab, document.Paragraph(strings.TrimSpace(t.Sentence.Drawn + " " + said))}
	}
	tab.Head = slices.Delete(tab.Head, 3, 4)
	for i := range tab.Rows {
		tab.Rows[i] = slices.Delete(tab.Rows[i], 3, 4)
	}
	if said != "" {
		return []document.Block{tab, document.Paragraph(said)}
	}
	return []document.Block{tab}
}

// turned reports whether k was read and is shown with the clamp's sign, not the
// readings file's.
func (f facts) turned(k reading.Key) bool {
	spec, ok := reading.SpecOf(k)
	return ok && spec.Turned() && f.readings.Has(k)
}

// value is what was read, of a reading taken more than once all of it.
func (f facts) value(k reading.Key) string {
	if s, ok := f.course.StepFor(k); ok && f.visit != nil {
		if takes := f.visit.Takes(s.ID); len(takes) > 1 {
			return visiting.TakesText(takes)
		}
	}
	return visiting.ValueText(f.readings, k)
}

// keys are all readings of the site in the order of the readings file.
func (f facts) keys() []reading.Key {
	var keys []reading.Key
	for _, s := range reading.Specs {
		noted := s.Form == reading.Several || s.Form == reading.YesNo
		if !noted || f.visit == nil { // a visit lists what was noted by itself
			keys = append(keys, s.Key)
		}
	}
	for _, l := range f.site.Controller.Lamps {
		keys = append(keys, reading.Lamp(l.Label))
	}
	if f.site.Inverter != nil {
		for _, l := range f.site.Inverter.Lamps {
			keys = append(keys, reading.InverterLamp(l.Label))
		}
	}
	return keys
}

func (f facts) evidence(k reading.Key) (belief.Evidence, bool) {
	if f.result == nil {
		return belief.Evidence{}, false
	}
	i := slices.IndexFunc(f.result.Evidence, func(e belief.Evidence) bool { return e.Reading == k })
	if i < 0 {
		return belief.Evidence{}, false
	}
	return f.result.Evidence[i], true
}

// expected is what the reading would show if nothing were wrong.
func (f facts) expected(k reading.Key) string {
	e, ok := f.evidence(k)
	if !ok || !e.HasRange {
		return "-"
	}
	spec, _ := reading.SpecOf(k)
	return visiting.FormatRange(e.Sound, spec)
}

// beyond is how far the scale of a bar goes beyond the range, in widths of it;
// what lies farther out is drawn at its end.
const beyond = 1.0

// bar draws the expected range with what was found; nil where there is no range.
func (f facts) bar(k reading.Key) *document.Bar {
	e, ok := f.evidence(k)
	if !ok || !e.HasRange {
		return nil
	}
	spec, _ := reading.SpecOf(k)
	r := e.Sound.As(spec.Shown)
	wide := r.Hi - r.Lo
	if !(wide > 0) || math.IsInf(wide, 0) {
		return nil
	}
	place := func(x float64) float64 {
		return min(1, max(0, ((x-r.Lo)/wide+beyond)/(1+2*beyond)))
	}
	var b document.Bar
	for _, p := range r.Pieces() {
		b.Pieces = append(b.Pieces, [2]float64{place(p.Lo), place(p.Hi)})
	}
	values := f.readings.Lists[k]
	if x, ok := f.readings.Numbers[k]; ok {
		values = []float64{x}
	}
	for _, x := range values {
		b.At = append(b.At, place(spec.Shown(x)))
	}
	return &b
}

// suspectFrom is the probability of being wrong from which a reading is called
// suspect.
const suspectFrom = 0.3

// A verdict is what is thought of a reading; texts.toml says it in words.
type verdict string

// The verdicts.
const (
	suspect    verdict = "suspect"
	noted      verdict = "noted"
	surprising verdict = "surprising"
	expected   verdict = "expected"
)

// verdict judges a reading: in doubt, outside what a sound system would show,
// or as it should be. What only says how another was taken is noted.
func (f facts) verdict(k reading.Key) verdict {
	e, ok := f.evidence(k)
	switch {
	case f.wrong(k) >= suspectFrom || f.readings.Doubted[k]:
		return suspect
	case !ok:
		return noted
	case visiting.Surprising(f.readings, e):
		return surprising
	default:
		return expected
	}
}

// wrong is the probability that the reading is simply wrong.
func (f facts) wrong(k reading.Key) float64 {
	if f.result == nil {
		return 0
	}
	for _, s := range f.result.Suspects {
		if s.Reading == k {
			return s.P
		}
	}
	return 0
}

func (f facts) suspects() document.List {
	t := texts().Sentence
	var l document.List
	for _, k := range f.keys() {
		title, value := visiting.Title(f.course, k), visiting.ValueText(f.readings, k)
		switch p := f.wrong(k); {
		case p >= suspectFrom:
			l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(t.MayBeWrong, title, value, visiting.Likelihood(p))})
		case f.readings.Doubted[k]:
			l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(t.Doubted, title, value)})
		}
	}
	if f.visit == nil {
		return l
	}
	for _, a := range f.visit.Answers() { // from a file that was not written here
		if !f.visit.Usable(a) {
			l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(t.Unusable, f.step(a.Step), a.Text())})
		}
	}
	for _, s := range f.course.Steps { // the meter, on its known source, at the end
		if s.Rung == procedure.Leave && f.visit.State().Mark(s.ID) == procedure.Refused {
			l.Items = append(l.Items, document.Item{Text: f.visit.State().Reason(s.ID)})
		}
	}
	return l
}

// missing are the readings that were tried and not taken, with the reasons that
// a visit knows, and the other steps that could not be done.
func (f facts) missing() document.List {
	var l document.List
	if f.visit == nil {
		for _, k := range f.readings.NotTaken {
			l.Items = append(l.Items, document.Item{Text: visiting.Title(f.course, k)})
		}
		return l
	}
	for _, a := range f.visit.Answers() {
		if a.Kind == visiting.Cannot {
			l.Items = append(l.Items, document.Item{Text: f.step(a.Step) + ": " + a.Reason})
		}
	}
	return l
}

func (f facts) step(id string) string {
	if s, ok := f.course.Step(id); ok {
		return s.Title
	}
	return id
}

// answer is what a visit has as the answer to a step, "" for none.
func (f facts) answer(step string) string {
	for _, a := range f.visit.Answers() {
		if a.Step == step {
			return a.Text()
		}
	}
	return ""
}

// seen is what a visit found by looking that is no reading, and the loads that
// do not work.
func (f facts) seen() document.Table {
	t := texts().Table
	tab := document.Table{Head: []string{t.Step, t.Seen}}
	for _, a := range f.visit.Answers() {
		s, ok := f.course.Step(a.Step)
		if ok && s.Kind == procedure.Choose && a.Kind == visiting.Took && a.Step != "loads-on" {
			tab.Rows = append(tab.Rows, document.Row(s.Title, a.Text()))
		}
	}
	return tab
}

// closed are the confirmations that were refused or could not be given, each
// with what was therefore not asked.
func (f facts) closed() document.List {
	var l document.List
	st := f.visit.State()
	for _, s := range f.course.Steps {
		if m := st.Mark(s.ID); s.Kind != procedure.Confirm || m != procedure.Refused && m != procedure.Missed {
			continue
		}
		var waits []string
		for _, o := range f.course.Steps {
			if slices.Contains(o.Needs, s.ID) && o.Kind == procedure.Take && !finds(o) && st.Mark(o.ID) == procedure.Open {
				waits = append(waits, o.Title)
			}
		}
		if len(waits) > 0 {
			l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(texts().Sentence.Closed, s.Title, st.Reason(s.ID), strings.Join(waits, ", "))})
		}
	}
	return l
}

// twice are the readings that were taken more than once: before and after.
func (f facts) twice() document.Table {
	t := texts().Table
	tab := document.Table{Head: []string{t.Reading, t.Before, t.After}}
	for _, s := range f.course.Steps {
		takes := f.visit.Takes(s.ID)
		if s.Kind != procedure.Take || len(takes) < 2 {
			continue
		}
		tab.Rows = append(tab.Rows, document.Row(s.Title, visiting.TakesText(takes[:len(takes)-1]), takes[len(takes)-1].Text()))
	}
	return tab
}

// unasked are the readings that no one was asked for, in one sentence.
func (f facts) unasked() document.Block {
	st := f.visit.State()
	var names []string
	for _, s := range f.course.Steps {
		if s.Kind == procedure.Take && s.Reading != reading.Visit && !finds(s) && st.Mark(s.ID) == procedure.Open && !f.readings.Has(s.Reading) && !f.waits(s) {
			names = append(names, s.Title)
		}
	}
	if len(names) == 0 {
		return nil
	}
	t := texts().Sentence
	why := t.NotYet
	switch {
	case st.Stopped != "":
		why = t.AfterStop
	case f.visit.Done():
		why = t.NotWorth
	}
	return document.Paragraph(fmt.Sprintf(why, strings.Join(names, "; ")))
}

// waits reports whether a step was closed by a check that was not good.
func (f facts) waits(s procedure.Step) bool {
	return slices.ContainsFunc(s.Needs, func(id string) bool {
		m := f.visit.State().Mark(id)
		return m == procedure.Refused || m == procedure.Missed
	})
}

// instruments are those that numbers were taken with.
func (f facts) instruments() document.Table {
	t := texts()
	tab := document.Table{Head: []string{t.Table.Instrument, t.Table.Limits, t.Table.Calibrated}}
	var said []reading.Meter
	for _, s := range reading.Specs {
		in, ok := f.readings.Instruments[s.Meter]
		if !ok || !f.readings.Has(s.Key) || slices.Contains(said, s.Meter) {
			continue
		}
		said = append(said, s.Meter)
		name, day := t.Instrument.Names[string(s.Meter)], in.Calibrated
		if in.Name != "" {
			name += " (" + in.Name + ")"
		}
		limits := fmt.Sprintf(t.Instrument.Percent, in.Percent, in.Digits, in.Resolution, unitSign(s.Unit))
		if in.PlusMinus != 0 {
			limits = fmt.Sprintf(t.Instrument.Plain, in.PlusMinus, unitSign(s.Unit))
		}
		if day == "" {
			day = t.Instrument.Unknown
		}
		tab.Rows = append(tab.Rows, document.Row(name, limits, day))
	}
	return tab
}

// unitSign is the unit as it is written after a number.
func unitSign(unit string) string {
	_, sign, _ := strings.Cut(quantity.Format(0, unit), " ")
	return sign
}

// finds reports whether the step looks for where a fault lies; such steps are asked only
// for that.
func finds(s procedure.Step) bool {
	_, _, ok := s.Reading.Node()
	return ok
}

// checks are the confirmations and actions of a visit, and where a fault was looked for.
func (f facts) checks() document.List {
	var l document.List
	for _, a := range f.visit.Answers() {
		_, _, finds := a.Reading.Node()
		if a.Kind == visiting.Did || finds {
			l.Items = append(l.Items, document.Item{Text: f.step(a.Step) + ": " + a.Text()})
		}
	}
	return l
}

func (f facts) notes() document.List {
	var l document.List
	for _, n := range f.visit.Notes() {
		l.Items = append(l.Items, document.Item{Text: f.step(n.Step) + ": " + n.Text()})
	}
	return l
}

// open is what is not as a working site should be left.
func (f facts) open() []document.Block {
	t := texts()
	st := f.visit.State()
	var blocks []document.Block
	if st.Stopped != "" {
		blocks = append(blocks, document.Paragraph(fmt.Sprintf(t.Sentence.Stopped, st.Stopped)))
	}
	var left, still document.List
	for _, o := range f.course.Left(st) {
		left.Items = append(left.Items, document.Item{Text: o.Flag.Text() + ": " + o.Reason})
	}
	for _, s := range f.course.Restore(st) {
		still.Items = append(still.Items, document.Item{Text: s.Title})
	}
	if len(left.Items) > 0 {
		blocks = append(blocks, document.Paragraph(t.Sentence.LeftOpen), left)
		if by := f.answer("label-open"); by != "" {
			blocks = append(blocks, document.Paragraph(fmt.Sprintf(t.Sentence.DecidedBy, by)))
		}
	}
	if len(still.Items) > 0 {
		blocks = append(blocks, document.Paragraph(t.Sentence.StillOpen), still)
	}
	if len(left.Items)+len(still.Items) == 0 {
		blocks = append(blocks, document.Paragraph(t.Sentence.NothingOpen))
	}
	return blocks
}
