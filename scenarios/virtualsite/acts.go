package virtualsite

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
)

//go:embed bench.toml
var textFile []byte

// A Breach is an unsafe act and what came of it.
type Breach struct {
	ID       string
	Title    string
	Text     string // the consequence
	Severity int    // 1 a habit to lose, 2 harm to things, 3 harm to people
	Source   string
	At       time.Time `toml:"-"`
}

type textList struct {
	Problem        problemWords
	Nonsense       string
	AC             string
	OhmsHere       string `toml:"ohms_here"`
	FuseIsBlown    string `toml:"fuse_is_blown"`
	ThroughNothing string `toml:"through_nothing"`
	ThroughArray   string `toml:"through_array"`
	BothWires      string `toml:"both_wires"`

	View  map[Place]string
	Sky   map[string]string
	Shade map[string]string
	Glass map[string]string
	Loads struct {
		On, Off, Dark, Dead string
		NoneOn              string `toml:"none_on"`
	}
	Seen         map[string]damage
	Complaint    map[string]string
	Changed      map[string]string
	Pack, Alarm  string
	NoAlarm      string `toml:"no_alarm"`
	InverterLamp string `toml:"inverter_lamp"`
	ChargerOn    string `toml:"charger_on"`
	ChargerOff   string `toml:"charger_off"`
	Ran          string
	Locked       string
	Unlocked     string
	ViewKit      string `toml:"view_kit"`

	Ready map[Ready]string

	Breach []Breach
}

var texts = sync.OnceValue(func() textList { return datafile.Read[textList]("scenarios/virtualsite/bench.toml", textFile) })

// Breaches are the unsafe acts so far, in their order.
func (b *Bench) Breaches() []Breach { return slices.Clone(b.breach) }

// commit adds an unsafe act, each kind once.
func (b *Bench) commit(id string) {
	if slices.ContainsFunc(b.breach, func(x Breach) bool { return x.ID == id }) {
		return
	}
	i := slices.IndexFunc(texts().Breach, func(x Breach) bool { return x.ID == id })
	x := texts().Breach[i]
	x.At = b.now
	b.breach = append(b.breach, x)
}

// touch marks hands at a place that was not looked at before.
func (b *Bench) touch(p Place) {
	if !b.seen[p] {
		b.commit("not-looked")
	}
}

// Wear puts goggles and gloves on.
func (b *Bench) Wear() { b.Prepare(ReadyEyes) }

// Look looks around at a place: what is seen in sentences, and the looks that a
// visit asks for.
func (b *Bench) Look(p Place) (lines []string, looks []Display) {
	b.seen[p] = true
	word := func(k reading.Key) {
		w, _ := b.Sees(k)
		looks = append(looks, Display{Text: w, Word: w, Shown: true, Reading: k})
	}
	t := texts()
	view := t.View[p]
	if b.kit() != nil && (p == AtController || p == AtBattery) {
		view = t.ViewKit
	}
	lines = append(lines, orElse(b.setup.Views[p], view))
	switch p {
	case AtArray:
		word(reading.Sky)
		lines = append(lines, t.Sky[looks[0].Word])
		if looks[0].Word != dark {
			word(reading.Shade)
			word(reading.Glass)
			lines = append(lines, t.Shade[looks[1].Word], t.Glass[looks[2].Word])
		}
	case AtController:
		for i := range b.setup.Site.Controller.Lamps {
			l := &b.setup.Site.Controller.Lamps[i]
			word(reading.Lamp(l.Label))
			lines = append(lines, fmt.Sprintf("%s: %s.", l.Label, looks[i].Word))
			if !b.asFound() {
				looks[i].Reading = "" // a lamp tells of what was opened
			}
		}
	case AtLoads:
		lines = append(lines, b.loadsText()...)
	}
	if p != AtArray || looks[0].Word != dark {
		more, closer := b.lookCloser(p)
		lines, looks = append(lines, more...), append(looks, closer...)
	}
	b.pass(oneReading)
	return slices.DeleteFunc(lines, func(s string) bool { return s == "" }), looks
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

func (b *Bench) loadsText() (lines []string) {
	t := texts().Loads
	if len(b.on) == 0 {
		return []string{t.NoneOn}
	}
	lines = append(lines, fmt.Sprintf(t.On, strings.Join(b.on, ", ")))
	switch b.Service() {
	case Off:
		lines = append(lines, t.Off)
	case Dim:
		lines = append(lines, t.Dark)
	}
	return lines
}

// dark is the word of the sky by night.
const dark = "dark"

// Words of the sky by the share of the clear sky's light (as the diagnosis has
// them: about 0.95, 0.6 and 0.2).
func (b *Bench) sky() string {
	g, clear := b.light(), b.clearNow()
	switch share := g / max(clear, 1); {
	case g < 9:
		return dark
	case clear < 40 && b.setup.Weather.Share > 0.8:
		return "clear"
	case share >= 0.78:
		return "clear"
	case share >= 0.4:
		return "hazy"
	}
	return "overcast"
}

func (b *Bench) shade() string {
	f := &b.u.Fault
	switch groups := b.plant.Groups(); {
	case f.ShadedGroups == 0:
		return "none"
	case f.ShadedGroups >= groups && b.setup.Site.Array.Strings == 1:
		return "full"
	}
	return "part"
}

// glass is caked where it takes a quarter of the light (common practice: a
// film that hides the cells' edges).
func (b *Bench) glass() string {
	switch lost := b.u.Fault.LightLost; {
	case lost >= 0.25:
		return "caked"
	case lost > 0 || b.u.Soiling > 0.045:
		return "dusty"
	}
	return "clean"
}

// SwitchLoads leaves the labelled loads on and all others off.
func (b *Bench) SwitchLoads(on []string) {
	if sameLoads(on, b.on) {
		return
	}
	if len(on) < len(b.on) && !b.asked {
		b.commit("not-asked")
	}
	before := b.unknowns()
	b.on = slices.Clone(on)
	b.settle(before)
	if b.asFound() {
		b.newMoment()
	}
	b.pass(oneReading)
}

// newMoment begins a moment as found of its own.
func (b *Bench) newMoment() {
	b.moment++
	b.found = slices.Clone(b.on)
}

// SwitchArray opens or closes the array's switch, which is made for it.
func (b *Bench) SwitchArray(open bool) {
	if b.open.Array == open {
		return
	}
	before := b.unknowns()
	b.open.Array = open
	b.afterArray(before, open)
}

// afterArray is what follows when the array's circuit was opened or closed.
func (b *Bench) afterArray(before plant.Unknowns, open bool) {
	if !open && b.open.Shorted {
		b.commit("shorted-connected")
	}
	b.settle(before)
	b.withoutBattery()
	b.pass(oneReading)
	if !open && b.asFound() {
		b.newMoment()
	}
}

// A Fuse that can be pulled.
type Fuse string

// The fuses.
const (
	ArrayFuse   Fuse = "array"
	BatteryFuse Fuse = "battery"
	LoadFuse    Fuse = "load"
)

// Fuses are those of the site; the battery's circuit can be opened always.
func (b *Bench) Fuses() []Fuse {
	if b.kit() != nil {
		return nil
	}
	list := []Fuse{BatteryFuse}
	if b.setup.Site.Array.FuseA > 0 {
		list = append(list, ArrayFuse)
	}
	if b.setup.Site.LoadWiring.FuseA > 0 {
		list = append(list, LoadFuse)
	}
	return list
}

// arcA is from where on a fuse that is pulled draws an arc worth the name [A];
// a direct current's arc does not go out by itself (common practice).
const arcA = 0.5

// PullFuse pulls a fuse or puts it back.
func (b *Bench) PullFuse(f Fuse, out bool) {
	o := &b.solve().found
	before := b.unknowns()
	b.touch(AtController)
	switch f {
	case ArrayFuse:
		if b.open.ArrayFuse == out {
			return
		}
		if out && math.Abs(o.Value[plant.ArrayA]) > arcA && !b.open.Array {
			b.commit("arc-array")
		}
		b.open.ArrayFuse = out
		b.afterArray(before, out)
		return
	case LoadFuse:
		if out && math.Abs(o.Value[plant.LoadA]) > arcA {
			b.commit("arc-loads")
		}
		b.open.LoadFuse = out
	case BatteryFuse:
		if out && math.Abs(o.Value[plant.BatteryA]) > arcA {
			b.commit("arc-battery")
		}
		b.open.BatteryFuse = out
		b.changed()
		b.withoutBattery()
	}
	b.settle(before)
	b.pass(oneReading)
}

// killsFrom is the light in which an array without its battery can destroy a
// controller [W/m2]: enough for its open-circuit voltage (common practice).
const killsFrom = 50

// withoutBattery is what an array does to a controller that has no battery.
func (b *Bench) withoutBattery() {
	if !b.open.BatteryFuse || b.open.Array || b.open.ArrayFuse || b.u.Fault.ArrayOpen != plant.NotOpen {
		return
	}
	if b.light() < killsFrom {
		b.commit("battery-off-in-the-dark")
		return
	}
	b.commit("array-without-battery")
	b.open.controller = true
	b.changed()
}

// Short closes or opens the shorting lead's switch across the array's ends.
func (b *Bench) Short(on bool) {
	if on && !b.isolated() {
		b.commit("short-connected")
		return
	}
	if on && b.setup.Site.Array.ShortCircuitA() > shortA {
		b.commit("short-too-large")
	}
	b.open.Shorted = on
	b.changed()
	b.pass(oneReading)
}

// shortA is the largest array current at which the short-circuit test is made
// [A], as in procedure (common practice).
const shortA = 10

// longWait is a wait after which readings as found are of another moment.
const longWait = 20 * time.Minute

// Wait lets time pass at the site.
func (b *Bench) Wait(d time.Duration) {
	b.pass(d)
	if d >= longWait && b.asFound() {
		b.newMoment()
	}
}

// Leave ends the work: what is not put back counts.
func (b *Bench) Leave() {
	if !b.Put() {
		b.commit("not-put-back")
	}
}

// A Service is what the people of the site get of it now.
type Service string

// The services.
const (
	Works   Service = "works"
	Dim     Service = "dim"
	Off     Service = "off"
	Nothing Service = "nothing" // nothing is switched on
)

// Service is what the loads that are on do now.
func (b *Bench) Service() Service {
	if len(b.on) == 0 {
		return Nothing
	}
	served := map[Service]int{}
	for i, l := range b.setup.Site.Loads {
		if slices.Contains(b.on, l.Label) {
			served[b.serves(i)]++
		}
	}
	switch {
	case served[Off] == len(b.on):
		return Off
	case served[Dim] > 0:
		return Dim
	}
	return Works
}

// Conditions are the light [W/m2], cell and air temperature [°C] now.
func (b *Bench) Conditions() (light, cellC, airC float64) {
	g := b.light()
	return g, b.cellC(g), b.airC()
}

// Sees is how something looks now that a visit asks for in a word.
func (b *Bench) Sees(k reading.Key) (string, bool) {
	if w, ok := b.setup.Looks[k]; ok {
		return w, true
	}
	switch k {
	case reading.Visit: // who complains has called
		if len(b.setup.Signs[reading.Complaint]) > 0 {
			return "call-out", true
		}
		return "round", true
	case reading.Sky:
		return b.sky(), true
	case reading.Shade:
		return b.shade(), true
	case reading.Glass:
		return b.glass(), true
	}
	label, lamp := k.LampLabel()
	for i := range b.setup.Site.Controller.Lamps {
		if l := &b.setup.Site.Controller.Lamps[i]; lamp && l.Label == label {
			return b.lampLook(l, b.holds()), true
		}
	}
	if inverter, ok := k.InverterLabel(); ok {
		if l, ok := b.setup.Site.InverterLamp(inverter); ok {
			return b.lampLook(&l, b.inverterHolds()), true
		}
	}
	return "", false
}

type problemWords struct {
	NoAcid string `toml:"no_acid"`

	NoOutputs string `toml:"no_outputs"`
	NotTold   string `toml:"not_told"`
	NoPoint   string `toml:"no_point"`
	NoWire    string `toml:"no_wire"`
}
