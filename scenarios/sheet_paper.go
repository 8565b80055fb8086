package scenarios

import (
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// Name is what the files of the sheet are called, without their ending.
func (s *Sheet) Name() string {
	return fmt.Sprintf("sheet-level-%d-seed-%d", s.Level, s.Seed)
}

// Worksheet is the paper for the class: three cases on a page of A4.
func (s *Sheet) Worksheet() document.Document {
	t := sheetWords()
	d := document.Document{Title: fmt.Sprintf(t.Title, s.Name()), Subject: t.Subject, Foot: s.foot(), Grey: true}
	for i, c := range s.Cases {
		blocks := []document.Block{document.Picture{Drawing: c.drawing(), Words: c.words()}}
		if i == 0 {
			blocks = append([]document.Block{document.Paragraph(t.How)}, blocks...)
		}
		d.Sections = append(d.Sections, document.Section{Heading: c.heading(i), Blocks: blocks, Wide: true})
	}
	return d
}

func (s *Sheet) foot() string {
	return fmt.Sprintf(sheetWords().Foot, s.Level, len(s.Cases), s.Seed)
}

func (c *SheetCase) heading(i int) string {
	t, s := sheetWords(), c.Scenario.Site
	return fmt.Sprintf(t.Case, i+1, plaintext.Clean(s.Name)) + ", " +
		fmt.Sprintf(t.Site, s.NominalV, s.Battery.Chemistry, s.Controller.Kind)
}

// story is what the people say, and which loads are on.
func (c *SheetCase) story() []string {
	t := sheetWords()
	on := t.NoneOn
	if list := c.Scenario.setup.LoadsOn; len(list) > 0 {
		on = fmt.Sprintf(t.On, plaintext.Clean(strings.Join(list, ", ")))
	}
	return []string{fmt.Sprintf(t.Story, c.Scenario.At.Format("2 January, 15:04"), c.Scenario.Story), on}
}

// Measures of a case on the worksheet [mm].
const (
	caseW, caseH = 186.0, 78.0
	storyH       = 6.4
	plantH       = 42.0 // of the drawing of the plant, and of the displays beside it
	plantW       = 88.0
	displayW     = 46.0
	displayH     = 9.8
	questionH    = 9.9
	textSize     = 2.5 // of letters
)

func inked(x1, y1, x2, y2 float64) document.Line {
	return document.Line{Points: []document.Point{{X: x1, Y: y1}, {X: x2, Y: y2}}, Width: 0.35}
}

func lettered(x, y float64, text string, size, most float64) document.Label {
	return document.Label{At: document.Point{X: x, Y: y}, Text: text, Size: size, Max: most}
}

// drawing is the plant with the numbers of the places measured, what indicators and meters
// show, and the questions with room to write.
func (c *SheetCase) drawing() document.Drawing {
	d := document.Drawing{W: caseW, H: caseH}
	for i, text := range c.story() {
		d.Add(lettered(0.3, 2.2+3.1*float64(i), text, textSize, caseW-0.6))
	}
	c.drawPlant(&d)
	c.drawDisplays(&d)
	drawQuestions(&d)
	return d
}

// spots are where each reading is taken on the drawing of the plant.
var spots = map[reading.Key]document.Point{
	reading.ArrayV: {X: 33, Y: 11}, reading.ArrayA: {X: 25.5, Y: 5}, reading.BatteryV: {X: 57, Y: 11}, reading.BatteryA: {X: 62, Y: 5},
	reading.PostV: {X: 68, Y: 11}, reading.LoadV: {X: 57, Y: 27}, reading.LoadA: {X: 62, Y: 21}, reading.Irradiance: {X: 15.5, Y: 11},
}

func (c *SheetCase) drawPlant(d *document.Drawing) {
	const arrayR, from, to, right = 21.0, 37.0, 53.0, 71.0
	t, s := sheetWords(), c.Scenario.Site
	box := func(x, y, w, h float64, name, what string) {
		y += storyH
		d.Add(document.Frame(x, y, w, h, 0.35, document.Ink))
		title := lettered(x+1.2, y+3.2, name, textSize, w-2)
		title.Bold = true
		d.Add(title, lettered(x+1.2, y+6.2, what, textSize, w-2))
	}
	box(0.3, 1, arrayR-0.3, 15, t.Array, fmt.Sprintf(t.ArraySize, s.Array.Series*s.Array.Strings, s.Array.Module.PmpW))
	box(from, 1, to-from, 32, t.Controller, string(s.Controller.Kind))
	box(right, 1, plantW-right, 15, t.Battery, fmt.Sprintf(t.BatterySize, s.Battery.CapacityAh))
	box(right, 18, plantW-right, 15, t.Loads, fmt.Sprintf(t.LoadsSize, s.AllListedW()))
	wire := func(x1, y1, x2, y2 float64) { d.Add(inked(x1, storyH+y1, x2, storyH+y2)) }
	for _, y := range []float64{8, 14} {
		wire(arrayR, y, from, y)
		wire(to, y, right, y)
	}
	if s.Controller.LoadOutput {
		wire(to, 24, right, 24)
		wire(to, 30, right, 30)
	} else { // the loads hang on the battery
		wire(right-4, 8, right-4, 24)
		wire(right-4, 24, right, 24)
		wire(right-2, 14, right-2, 30)
		wire(right-2, 30, right, 30)
	}
	for i, r := range c.shown {
		at := spots[r.key]
		if !s.Controller.LoadOutput && r.key == reading.LoadA {
			at = document.Point{X: right + 12, Y: 29.5}
		}
		at.Y += storyH
		d.Add(document.Dot{At: at, R: 2})
		number := lettered(at.X, at.Y+0.9, fmt.Sprint(i+1), 2.6, 4)
		number.Align, number.Bold, number.Tone = document.Middle, true, document.Faint
		d.Add(number)
	}
	for i, text := range c.seen() {
		if y := 36.4 + 2.9*float64(i); y < plantH+2 {
			d.Add(lettered(0.3, storyH+y, text, textSize, plantW))
		}
	}
}

// seen is what the eye sees at array and controller, in lines.
func (c *SheetCase) seen() (lines []string) {
	t := sheetWords()
	w := c.set.Words
	sky := t.Dark
	if w[reading.Sky] != "dark" {
		sky = fmt.Sprintf(t.Seen, w[reading.Sky], w[reading.Glass], w[reading.Shade])
	}
	var lamps []string
	for _, l := range c.Scenario.Site.Controller.Lamps {
		if look := w[reading.Lamp(l.Label)]; look != "" {
			lamps = append(lamps, fmt.Sprintf(t.Indicator, plaintext.Clean(l.Label), plaintext.Clean(look)))
		}
	}
	if len(lamps) == 0 {
		return []string{sky, t.NoIndicators}
	}
	lines = []string{sky}
	for i := 0; i < len(lamps); i += 2 {
		lines = append(lines, strings.Join(lamps[i:min(i+2, len(lamps))], ";  "))
	}
	return lines
}

func (c *SheetCase) drawDisplays(d *document.Drawing) {
	const gap = 2.0
	for i, r := range c.shown {
		x := plantW + 4 + float64(i%2)*(displayW+gap)
		y := storyH + 0.5 + float64(i/2)*(displayH+0.7)
		d.Add(document.Frame(x, y, displayW, displayH, 0.35, document.Ink))
		what := lettered(x+1.2, y+3, fmt.Sprintf("%d  %s", i+1, c.title(r.key)), 2.2, displayW-2)
		what.Bold = true
		value := lettered(x+displayW-1.5, y+8.4, r.text, 4.6, displayW-8)
		value.Align, value.Bold = document.Right, true
		d.Add(what, value, lettered(x+1.2, y+8.4, r.setting, 1.9, 26))
	}
}

func (c *SheetCase) title(k reading.Key) string {
	return visiting.Title(procedure.For(c.Scenario.Site), k)
}

// drawQuestions draws the standing questions in two columns, with boxes to tick and a line
// to write on.
func drawQuestions(d *document.Drawing) {
	const w, box = caseW/2 - 2, 2.4
	for i, q := range standingQuestions() {
		x, y := float64(i/3)*(w+4), storyH+plantH+4.2+float64(i%3)*questionH
		ask := lettered(x, y, q.Ask, 2.6, 56)
		ask.Bold = true
		d.Add(ask)
		const around, letter = 4.6, 1.18 // of an answer: its box, and each letter
		at := x + w
		for _, a := range q.Answer {
			at -= around + letter*float64(len(a.Text))
		}
		for _, a := range q.Answer {
			d.Add(document.Frame(at, y-2.1, box, box, 0.25, document.Ink), lettered(at+3, y, a.Text, 2.2, 15))
			at += around + letter*float64(len(a.Text))
		}
		d.Add(lettered(x, y+4.6, sheetWords().Why, 2.3, 14), inked(x+13, y+4.9, x+w, y+4.9))
	}
}

// words are the drawing for those who cannot have it.
func (c *SheetCase) words() []string {
	lines := append(c.story(), c.seen()...)
	for i, r := range c.shown {
		lines = append(lines, fmt.Sprintf("%d. %s: %s (%s)", i+1, c.title(r.key), r.text, r.setting))
	}
	for _, q := range standingQuestions() {
		var answers []string
		for _, a := range q.Answer {
			answers = append(answers, a.Text)
		}
		lines = append(lines, q.Ask+" "+strings.Join(answers, " / "))
	}
	return lines
}

// AnswerKey is what is right in each case, why, what the meters would show if nothing were
// wrong, and what is often named instead.
func (s *Sheet) AnswerKey() document.Document {
	t := sheetWords()
	d := document.Document{Title: fmt.Sprintf(t.KeyTitle, s.Name()), Subject: t.Subject, Foot: s.foot(), Grey: true}
	var covered []string
	for _, c := range s.Cases {
		if c.covers.Title != "" {
			covered = append(covered, c.covers.Title)
		}
	}
	d.Sections = append(d.Sections, document.Section{Blocks: []document.Block{
		document.Paragraph(fmt.Sprintf(t.Covers, strings.Join(covered, ", "))),
	}, Wide: true, Fine: true})
	for i, c := range s.Cases {
		heading := fmt.Sprintf(t.Case, i+1, titles(c.Scenario.Truth()))
		d.Sections = append(d.Sections, document.Section{Heading: heading, Blocks: c.key(), Fine: true})
	}
	return d
}

// wrongNamed are the wrong answers of the key, from a probability on; and its reasons.
const (
	wrongNamed = 3
	wrongFrom  = 0.005
	keyReasons = 2
)

// key is the answer to a case.
func (c *SheetCase) key() []document.Block {
	t := sheetWords()
	r := c.belief
	truth := c.Scenario.Truth()
	var blocks []document.Block
	var answers []string
	for _, q := range standingQuestions() {
		answers = append(answers, fmt.Sprintf(t.Answer, q.Short, q.answerText(c.right[q.ID])))
	}
	blocks = append(blocks, document.Paragraph(fmt.Sprintf(t.Answers, strings.Join(answers, "; "))))
	if told := c.together(); told != "" {
		blocks = append(blocks, document.Paragraph(fmt.Sprintf(t.Tells, told)))
	}
	list := document.List{}
	for _, because := range visiting.Because(r, c.set, procedure.For(c.Scenario.Site), keyReasons) {
		list.Items = append(list.Items, document.Item{Text: because})
	}
	blocks = append(blocks, list, c.expected())
	for _, id := range truth {
		of := string(id)
		if id == condition.Sound {
			of = c.covers.ID
		}
		if text := t.Mistake[of]; text != "" {
			blocks = append(blocks, document.Paragraph(fmt.Sprintf(t.Mistaken, text)))
		}
	}
	return append(blocks, document.Paragraph(c.wrong()+" "+fmt.Sprintf(t.Misleads, c.misled, c.judged(), c.difficulty())))
}

// together is what the readings of the case tell together.
func (c *SheetCase) together() string {
	return visiting.Together(c.Scenario.Site, c.belief, nil, c.set, c.shown[len(c.shown)-1].key).Text
}

// expected is what each meter shows, and would show if nothing were wrong; at a sound
// system what the other readings make expected.
func (c *SheetCase) expected() document.Table {
	t := sheetWords()
	beside, in := t.Sound, c.belief.Normal
	if len(c.Scenario.truth) == 0 {
		beside, in = t.ByOthers, c.belief.Expect
	}
	table := document.Table{Head: []string{t.Expected, t.Shown, beside}}
	for i, r := range c.shown {
		if r.key.Context() {
			continue
		}
		spec, _ := reading.SpecOf(r.key)
		normal := ""
		if in := in[r.key]; in.Known() {
			normal = visiting.FormatRange(in, spec)
		}
		row := document.Row(fmt.Sprintf("%d %s", i+1, c.title(r.key)), r.text, normal)
		row[1].Strong = len(c.Scenario.truth) > 0 && slices.ContainsFunc(c.belief.Evidence, func(e belief.Evidence) bool {
			return e.Reading == r.key && visiting.Surprising(c.set, e)
		})
		table.Rows = append(table.Rows, row)
	}
	return table
}

// wrong are the likeliest other answers by the readings.
func (c *SheetCase) wrong() string {
	t := sheetWords()
	var list []string
	for _, p := range c.belief.Conditions {
		if len(list) < wrongNamed && p.P >= wrongFrom && !slices.Contains(c.Scenario.Truth(), p.ID) {
			list = append(list, fmt.Sprintf(t.Other, condition.Of(p.ID).Title, quantity.Percent(p.P)))
		}
	}
	if len(list) == 0 {
		return t.NoOther
	}
	return fmt.Sprintf(t.Others, strings.Join(list, "; "))
}
