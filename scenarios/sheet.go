package scenarios

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

//go:embed sheet.toml
var sheetFile []byte

// sheetTexts is sheet.toml.
type sheetTexts struct {
	Title, Subject, Foot, Name, How, Case, Site, Story, On, Seen, Dark, Indicator, Why string

	KeyTitle     string `toml:"key_title"`
	ByOthers     string `toml:"by_others"`
	NoneOn       string `toml:"none_on"`
	NoIndicators string `toml:"no_indicators"`

	Volts, Clamp, Light string

	Array, Controller, Battery, Loads string
	ArraySize                         string `toml:"array_size"`
	BatterySize                       string `toml:"battery_size"`
	LoadsSize                         string `toml:"loads_size"`

	Answers, Answer, Tells, Misleads, Expected, Shown, Sound, Others, Other, Mistaken, Covers string

	NoOther    string `toml:"no_other"`
	Difficulty []string
	Want       []sheetWant
	Mistake    map[string]string // by the id of a condition, or of a want of a sound system
}

// A sheetWant is a state that the cases of a sheet cover.
type sheetWant struct {
	ID, Title string
	From      int
	Truth     condition.ID
	Part      condition.Part
	Cut       bool
	Answers   map[string]string
}

var sheetWords = sync.OnceValue(func() sheetTexts {
	return datafile.Read[sheetTexts]("scenarios/sheet.toml", sheetFile)
})

// MostOnSheet is how many cases a sheet has at most, and MaxSheetSeed the largest seed.
const (
	MostOnSheet  = 24
	MaxSheetSeed = 1 << 32
)

// A Sheet is paper cases for a class.
type Sheet struct {
	Level int
	Seed  uint64
	Cases []*SheetCase
}

// A SheetCase is one moment at an invented site, with what indicators and meters show.
type SheetCase struct {
	Scenario *Scenario
	covers   sheetWant // that it was drawn for
	shown    []sheetReading
	set      *reading.Set
	belief   *belief.Result
	right    map[string]string // answers to the standing questions
	misled   int               // readings that taken alone would mislead
}

// A sheetReading is one display of a meter and how it was set.
type sheetReading struct {
	key           reading.Key
	text, setting string
}

// sheetKeys are the readings of a paper case, in the order of the numbers on its drawing.
var sheetKeys = []reading.Key{
	reading.ArrayV, reading.ArrayA, reading.BatteryV, reading.BatteryA, reading.PostV, reading.LoadV, reading.LoadA, reading.Irradiance,
}

// Of the seeds of one sheet: how many there are, so that two sheets share none, and where
// those of a level above its own begin.
const (
	perSheet   = 4096
	levelAbove = 2048
	triesMost  = 900 // for one state
)

// NewSheet draws the cases of a sheet: the same ones on every machine. Together they cover
// the states, those of the standard pictures first; no two are alike; the readings of each
// tell what is right. The easiest stand first.
func NewSheet(level, count int, seed uint64, infer visiting.Inferrer) (*Sheet, error) {
	d := sheetDraw{level: level, infer: infer, Sheet: &Sheet{Level: level, Seed: seed}, drawn: map[uint64]*SheetCase{}, used: map[uint64]bool{}}
	for _, w := range sheetWords().Want {
		if len(d.Cases) < count {
			if err := d.add(w); err != nil {
				return nil, err
			}
		}
	}
	for i := 0; len(d.Cases) < count && i < count; i++ {
		if err := d.add(sheetWant{}); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(d.Cases, func(a, b *SheetCase) int {
		switch x, y := a.misleads(), b.misleads(); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	return d.Sheet, nil
}

// sheetDraw is a sheet under way.
type sheetDraw struct {
	*Sheet
	level int
	infer visiting.Inferrer
	drawn map[uint64]*SheetCase
	used  map[uint64]bool
}

// add finds a case for a state; where none is found within the tries there is none.
func (d *sheetDraw) add(w sheetWant) error {
	level, from := max(d.level, w.From), d.Seed*perSheet
	if level > d.level {
		from += levelAbove
	}
	for i := range uint64(triesMost) {
		seed := from + i
		if d.used[seed] {
			continue
		}
		c, ok := d.drawn[seed]
		if !ok {
			c = newSheetCase(Generate(level, seed))
			d.drawn[seed] = c
		}
		if !c.is(w) || slices.ContainsFunc(d.Cases, c.alike) {
			continue
		}
		d.used[seed] = true
		if err := c.judge(d.infer); err != nil {
			return err
		}
		if c.clear() {
			c.covers = w
			d.Cases = append(d.Cases, c)
			return nil
		}
	}
	return nil
}

// newSheetCase takes the readings of a case at its bench, as they should be taken.
func newSheetCase(sc *Scenario) *SheetCase {
	b := sc.Bench()
	c := &SheetCase{Scenario: sc, right: standsAt(b, sc.Truth())}
	set := newData(b)
	for _, p := range virtualsite.Places {
		_, looks := b.Look(p)
		for _, d := range looks {
			set.add(d)
		}
	}
	_, could := takeable(sc)
	t := sheetWords()
	for _, k := range sheetKeys {
		if !slices.Contains(could, k) {
			continue
		}
		d := take(b, k)
		if !d.Shown {
			continue
		}
		set.add(d)
		setting := t.Light
		switch spec, _ := reading.SpecOf(k); spec.Meter {
		case reading.Voltmeter:
			setting = fmt.Sprintf(t.Volts, b.Meter().Range)
		case reading.Clamp:
			setting = fmt.Sprintf(t.Clamp, b.Clamp().Range)
		}
		c.shown = append(c.shown, sheetReading{k, d.Text, setting})
	}
	c.set = set.Set
	return c
}

// is reports whether a case is of the state that is wanted.
func (c *SheetCase) is(w sheetWant) bool {
	truth := c.Scenario.Truth()
	switch {
	case w.Truth != "" && (len(truth) > 1 || truth[0] != w.Truth):
		return false
	case w.Part != "" && c.Scenario.part() != w.Part:
		return false
	case w.Cut:
		if o, _ := c.Scenario.Bench().Truth(); !o.LoadsCut {
			return false
		}
	}
	for id, answer := range w.Answers {
		if c.right[id] != answer {
			return false
		}
	}
	return true
}

// Two cases look alike where the same is wrong, where nothing is and all questions have the
// same answers, or where at one site no voltage differs by this part of the nominal one, and no current by
// this part of the array's.
const alikeWithin = 0.05

func (c *SheetCase) alike(o *SheetCase) bool {
	same := sameConditions(c.Scenario.Truth(), o.Scenario.Truth())
	if same && len(c.Scenario.truth) > 0 {
		return true
	}
	for id, answer := range c.right {
		same = same && o.right[id] == answer
	}
	if same || c.Scenario.Site.Name != o.Scenario.Site.Name {
		return same
	}
	s := c.Scenario.Site
	for _, k := range sheetKeys {
		x, y := c.set.Numbers[k], o.set.Numbers[k]
		scale := s.NominalV
		switch spec, _ := reading.SpecOf(k); spec.Meter {
		case reading.Clamp:
			scale = s.Array.Module.IscA * float64(s.Array.Strings)
		case reading.Light:
			continue
		}
		if math.Abs(x-y) > alikeWithin*scale {
			return false
		}
	}
	return true
}

// judge works out what the readings of a case tell.
func (c *SheetCase) judge(infer visiting.Inferrer) (err error) {
	if c.belief, err = infer(belief.Input{Site: c.Scenario.Site, Readings: c.set.Clone()}); err != nil {
		return err
	}
	for _, e := range c.belief.Evidence {
		if c.misleadsAlone(e) {
			c.misled++
		}
	}
	return nil
}

// againstLeader is the log10 from which a reading at a sound system speaks for a fault.
const againstLeader = 0.3

// misleadsAlone reports whether one number alone leads astray: at a faulty system one that
// a sound system would show as well, at a sound one what speaks for a fault.
func (c *SheetCase) misleadsAlone(e belief.Evidence) bool {
	if !e.HasRange || !slices.ContainsFunc(c.shown, func(r sheetReading) bool { return r.key == e.Reading }) {
		return false
	}
	if len(c.Scenario.truth) == 0 {
		return e.ForLeader < -againstLeader
	}
	return !visiting.Surprising(c.set, e)
}

// misleads is the part of the meters that alone would mislead.
func (c *SheetCase) misleads() float64 { return float64(c.misled) / float64(max(c.judged(), 1)) }

// judged is how many meters could mislead: the light is no evidence of anything.
func (c *SheetCase) judged() (n int) {
	for _, r := range c.shown {
		if !r.key.Context() {
			n++
		}
	}
	return n
}

// difficulty is a step of sheet.toml by how many of the meters mislead: a third, two thirds.
func (c *SheetCase) difficulty() string {
	steps := sheetWords().Difficulty
	return steps[min(int(c.misleads()*float64(len(steps))), len(steps)-1)]
}

// clear reports whether the readings tell what is right: all that is wrong and no more, and
// of each standing question no other answer is likelier.
func (c *SheetCase) clear() bool {
	if !sameConditions((Play{Belief: c.belief}).named(), c.Scenario.Truth()) {
		return false
	}
	for id, p := range standsBy(c.belief) {
		for other, x := range p {
			if other != c.right[id] && x > p[c.right[id]] {
				return false
			}
		}
	}
	return true
}
