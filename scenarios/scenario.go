package scenarios

import (
	"fmt"
	"slices"
	"time"

	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
	"ampwalk/scenarios/virtualsite"
)

// A Scenario is one case to practise on.
type Scenario struct {
	ID       string // name of its file, or level and seed of a generated one
	Title    string
	Story    string // what the people of the site say
	Level    int    // 1 to 3
	Site     *site.Site
	SiteTOML []byte
	At       time.Time
	Solvable bool // readings can tell what is wrong

	setup virtualsite.Setup // without site, time and unknowns
	truth []fault           // empty: sound
	hints []string
	learn string

	charge     float64
	float, cut bool
	inverter   bool // is switched on
	charger    bool
	locked     bool                     // a closed kit that waits for its payment
	signs      map[reading.Key][]string // given; what is missing follows from what is wrong
	seed       uint64
}

// A fault is one condition with how strongly it acts.
type fault struct {
	id   condition.ID
	a, b float64 // severities, 0 to 1
	way  int     // of condition.Options
}

// Levels of scenarios: 1 shows plainly, 3 is for the experienced.
const Levels = 3

// Truth is what is wrong, sound if nothing.
func (s *Scenario) Truth() []condition.ID {
	if len(s.truth) == 0 {
		return []condition.ID{condition.Sound}
	}
	var list []condition.ID
	for _, f := range s.truth {
		list = append(list, f.id)
	}
	return list
}

// Part is the family of conditions that the scenario belongs to, known to the
// package only.
func (s *Scenario) part() condition.Part { return condition.Of(s.Truth()[0]).Part }

// Bench sets the scenario up to be worked at.
func (s *Scenario) Bench() *virtualsite.Bench {
	set := s.setup
	set.Site, set.At, set.Seed = s.Site, s.At, s.seed
	set.Unknowns = s.unknowns()
	return virtualsite.New(set)
}

func (s *Scenario) unknowns() plant.Unknowns {
	u := tolerances(chance("tolerances", s.seed), s.Site)
	u.SoC, u.FloatStage, u.LatchedOff = s.charge, s.float, s.cut
	u.BatteryC = s.setup.Weather.AirC - 2
	u.StepA = s.Site.Battery.CapacityAh / 20
	u.InverterOn, u.ChargerOn = s.inverter, s.charger
	if s.Site.Kit != nil {
		u.Locked, u.RunW = s.locked, evening(s.Site)
	}
	for _, f := range s.truth {
		condition.Disturb(f.id, s.Site, &u, f.a, f.b, f.way)
	}
	return u
}

// A Find gives the text of the site file that a scenario names.
type Find func(name string) ([]byte, error)

var (
	fraction = tomlfile.Range{Min: 0, Max: 1}
	share    = tomlfile.Range{Min: 0, Max: 1.1, Unit: words().Problem.File.ClearSky}
	restless = tomlfile.Range{Min: 0, Max: 0.5}
	airC     = tomlfile.Range{Min: -20, Max: 48, Unit: "°C"}
	factor   = tomlfile.Range{Min: -2, Max: 3}
	added    = tomlfile.Range{Min: -500, Max: 500}
)

const (
	maxTimes = 20
	maxSeed  = 1 << 30
	hintsOf  = 3 // grades of hints

	floatFrom = 0.9 // charge at which a controller can be in its float stage (judgement)
)

// Parse reads a scenario file, see FORMAT.md. Everything that is wrong in it
// comes back at once, as [tomlfile.Problems].
func Parse(file, id string, data []byte, find Find) (*Scenario, error) {
	top, err := tomlfile.Open(file, data)
	if err != nil {
		return nil, err
	}
	s := &Scenario{
		ID: id, Title: top.Name("title"), Story: top.Text("story"), Level: top.Count("level", 1, Levels),
		Solvable: top.Bool("solvable"), learn: top.Text("learn"), hints: top.Texts("hints"),
		seed: uint64(top.Count("seed", 0, maxSeed)),
	}
	if top.Sound("hints") && len(s.hints) != hintsOf {
		top.Report("hints", words().Problem.File.Hints, len(s.hints), hintsOf)
	}
	p := parser{s}
	name := top.Text("site")
	if top.Sound("site") {
		p.site(top, name, find)
	}
	moment, visible := top.Table("moment"), top.TableIfAny("visible")
	faults, misleading := top.Tables("condition"), top.Tables("misleading")
	p.moment(moment)
	p.visible(visible)
	for _, t := range faults {
		p.fault(t)
	}
	if len(faults) > 2 {
		top.Report("condition", words().Problem.File.Faults, len(faults))
	}
	for _, t := range misleading {
		p.misleading(t)
	}
	if err := top.Err(); err != nil {
		return nil, err
	}
	s.addSigns(nil)
	return s, nil
}

// parser fills a scenario from its file; where the site is bad, what depends on
// it is not checked.
type parser struct{ *Scenario }

func (p parser) site(t *tomlfile.Table, name string, find Find) {
	text, err := find(name)
	if err == nil {
		p.Site, err = site.Parse(name, text)
	}
	if err != nil {
		t.Report("site", words().Problem.File.Site, name, err)
	}
	p.SiteTOML = text
}

func (p parser) moment(t *tomlfile.Table) {
	p.At = t.Time("at")
	p.charge = t.Number("charge", fraction)
	p.setup.Weather = virtualsite.Weather{Share: t.Number("light", share), AirC: t.Number("air_c", airC), Restless: t.NumberOr("restless", restless, 0.01)}
	if t.Has("float") {
		p.float = t.Bool("float")
	}
	if t.Has("cut_before") {
		p.cut = t.Bool("cut_before")
	}
	p.setup.LoadsOn = t.Texts("loads_on")
	if p.Site == nil {
		return
	}
	p.parts(t)
	c, w := &p.Site.Controller, words().Impossible
	switch {
	case !p.float:
	case c.FloatV >= c.AbsorbV:
		t.Report("float", words().Problem.File.TrueAt, p.Site.Name, w.Float)
	case t.Sound("charge") && p.charge < floatFrom:
		t.Report("float", words().Problem.File.TrueAtCharge, p.charge, fmt.Sprintf(w.FloatEmpty, floatFrom))
	}
	if p.cut && !c.LoadOutput {
		t.Report("cut_before", words().Problem.File.TrueAt, p.Site.Name, w.Cut)
	}
	var labels []string
	for _, l := range p.Site.Loads {
		labels = append(labels, l.Label)
	}
	for i, on := range p.setup.LoadsOn {
		if slices.Contains(p.setup.LoadsOn[:i], on) {
			t.Report("loads_on", words().Problem.File.LoadTwice, on)
		}
		if on != "" && !slices.Contains(labels, on) {
			t.Report("loads_on", words().Problem.File.NoLoad, on, labels)
		}
	}
}

func (p parser) visible(t *tomlfile.Table) {
	p.setup.Views, p.setup.Looks = map[virtualsite.Place]string{}, map[reading.Key]string{}
	for _, place := range virtualsite.Places {
		if v := t.TextIfAny(string(place)); v != "" {
			p.setup.Views[place] = v
		}
	}
	p.signsOf(t)
	for _, k := range []reading.Key{reading.Sky, reading.Shade, reading.Glass} {
		if t.Has(string(k)) {
			spec, _ := reading.SpecOf(k)
			p.setup.Looks[k] = t.Word(string(k), spec.Choices...)
		}
	}
}

func (p parser) fault(t *tomlfile.Table) {
	var known []string
	for _, c := range condition.All() {
		known = append(known, string(c.ID))
	}
	f := fault{id: condition.ID(t.Word("id", known...)), a: t.NumberOr("severity", fraction, 0.5), b: t.NumberOr("second_severity", fraction, 0.5)}
	if t.Has("way") {
		f.way = t.Count("way", 1, 9) - 1
	}
	switch {
	case p.Site == nil || !t.Sound("id"):
		return
	case f.id == condition.Sound:
		t.Report("id", words().Problem.File.Healthy, f.id)
		return
	case slices.Contains(p.Truth(), f.id):
		t.Report("id", words().Problem.File.FaultTwice, f.id)
		return
	}
	if why := Impossible(f.id, p.Site); why != "" {
		t.Report("id", words().Problem.File.Impossible, f.id, p.Site.Name, why)
		return
	}
	if n := len(condition.Options(f.id, p.Site)); f.way >= n {
		t.Report("way", words().Problem.File.Way, f.way+1, n, f.id)
		return
	}
	if t.Has("severity") && f.acting(p.Site, 0, f.b) == f.acting(p.Site, 1, f.b) {
		t.Report("severity", words().Problem.File.NoSeverity, f.id)
	}
	if t.Has("second_severity") && f.acting(p.Site, f.a, 0) == f.acting(p.Site, f.a, 1) {
		t.Report("second_severity", words().Problem.File.NoSecond, f.id)
	}
	p.truth = append(p.truth, f)
}

// acting is a plant with the fault at other severities.
func (f fault) acting(s *site.Site, a, b float64) plant.Unknowns {
	u := plant.Typical()
	condition.Disturb(f.id, s, &u, a, b, f.way)
	return u
}

func (p parser) misleading(t *tomlfile.Table) {
	k := reading.Key(t.Text("reading"))
	q := virtualsite.Quirk{Reading: k, Factor: t.NumberOr("factor", factor, 0), Add: t.NumberOr("add", added, 0)}
	if t.Has("times") {
		q.Times = t.Count("times", 0, maxTimes)
	}
	look := t.TextIfAny("look")
	if p.Site == nil || !t.Sound("reading") {
		return
	}
	label, lamp := k.LampLabel()
	spec, known := reading.SpecOf(k)
	switch {
	case lamp:
		l, ok := p.Site.Lamp(label)
		if !ok {
			var labels []string
			for _, l := range p.Site.Controller.Lamps {
				labels = append(labels, l.Label)
			}
			t.Report("reading", words().Problem.File.NoLamp, label, labels)
			return
		}
		var looks []string
		for _, x := range l.Looks {
			looks = append(looks, x.Look)
		}
		if !slices.Contains(looks, look) {
			t.Report("look", words().Problem.File.NoLook, look, label, looks)
			return
		}
		p.setup.Looks[k] = look
	case !known || spec.Form == reading.Word:
		t.Report("reading", words().Problem.File.NoReading, k)
	case q.Factor == 0 && q.Add == 0:
		t.Report("reading", words().Problem.File.NotMisleading, k)
	default:
		p.setup.Quirks = append(p.setup.Quirks, q)
	}
}

// Impossible says why a site cannot have a condition, "" if it can.
func Impossible(id condition.ID, s *site.Site) string {
	if slices.ContainsFunc(condition.Applicable(s), func(c condition.Condition) bool { return c.ID == id }) {
		return ""
	}
	if why, is := impossiblePart(id, s); is {
		return why
	}
	w := words().Impossible
	switch id {
	case condition.StringOpen:
		return fmt.Sprintf(w.StringOpen, s.Array.Strings)
	case condition.BypassShort:
		return w.BypassShort
	case condition.LoadOutputOpen:
		return w.LoadOutputOpen
	case condition.BatteryOff:
		return fmt.Sprintf(w.BatteryOff, s.Battery.Chemistry)
	}
	return w.Loads
}
