package wiring

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Of is the view of a visit at a step: its site, what is off now, where the
// step's probes or clamp go, how the lamps looked, what was read, and where a fault is
// held to be.
func Of(v Visit, step procedure.Step) View {
	st := v.State()
	view := View{
		Site: v.Site(),
		Open: Open{
			Array: st.Has(procedure.ArrayIsolated), Shorted: st.Has(procedure.ArrayShorted),
			Battery: st.Has(procedure.BatteryIsolated), Loads: st.Has(procedure.LoadsOff),
		},
		Red: step.Red, Black: step.Black, Clamp: step.Clamp,
		Looks: map[string]string{}, InverterLooks: map[string]string{},
		Taken: takenOf(v.Answers()), Fault: held(visiting.Told(v.Belief(), v.Input().Readings)),
	}
	if step.Reading == reading.StringA { // the wire of each string, one after the other
		view.Clamp = stringWires
	}
	view.Lamp = lampOf(step.Reading.LampLabel())
	view.InverterLamp = lampOf(step.Reading.InverterLabel())
	for _, a := range v.Answers() {
		if label, ok := a.Reading.LampLabel(); ok && a.Kind == visiting.Took {
			view.Looks[label] = a.Word
		}
		if label, ok := a.Reading.InverterLabel(); ok && a.Kind == visiting.Took {
			view.InverterLooks[label] = a.Word
		}
	}
	return view
}

// lampOf is the label of a lamp, "" where the key is none of one.
func lampOf(label string, is bool) string { return onlyIf(is, label) }

// A Visit is what [Of] needs of a [visiting.Visit].
type Visit interface {
	Site() *site.Site
	State() procedure.State
	Answers() []visiting.Answer
	Input() belief.Input
	Belief() *belief.Result
}

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Point map[string]string // by the names of points and wires in the steps
	Said  struct {
		Array, Battery, Loads, Fuse, Indicators, Wire, Probes string

		Inverter, Charger, Second, Beside, Earthing string

		Parallel string // strings of a battery
		EachWire string `toml:"each_wire"`

		ArrayOff     string `toml:"array_off"`
		ArrayShorted string `toml:"array_shorted"`
		BatteryOff   string `toml:"battery_off"`
		LoadsOff     string `toml:"loads_off"`
		AtOutput     string `toml:"at_output"`
		AtBattery    string `toml:"at_battery"`
		NotSeen      string `toml:"not_seen"`
		BothWires    string `toml:"both_wires"`
		AllWires     string `toml:"all_wires"`

		Taken, Fault             string
		Strings, Modules, Blocks datafile.Plural
	}
	Device struct { // beside array, controller, battery and loads
		Inverter, Charger, Second, Beside, Strings, Earthing, Posts, Output, Earth, Lamp string

		Pole map[string]string
	}
	Kit struct { // a closed one
		Panel, Battery, Lamps, Plug string

		SaidPanel string `toml:"said_panel"`
		SaidKit   string `toml:"said_kit"`
		USB       datafile.Plural
		Point     map[string]string
	}
	Legend struct{ Red, Black, Arrow, Clamp, Fault string }
	Part   map[Part]string
	PartOf map[string]Part `toml:"part_of"` // by conditions
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("tui/wiring/words.toml", wordsFile) })

// Words say the drawing in sentences, for those who cannot see it.
func Words(v View) []string {
	s, w, point := v.Site, words().Said, pointNames(v)
	a, b, c := s.Array, s.Battery, s.Controller
	where := w.AtOutput
	if !c.LoadOutput {
		where = w.AtBattery
	}
	list := []string{
		fmt.Sprintf(w.Array, w.Strings.Of(a.Strings), w.Modules.Of(a.Series), fused(a.FuseA), onlyIf(v.Open.Array, w.ArrayOff), onlyIf(v.Open.Shorted, w.ArrayShorted)),
		fmt.Sprintf(w.Battery, s.NominalV, b.CapacityAh, batteryMade(s), fused(b.FuseA), onlyIf(v.Open.Battery, w.BatteryOff)),
		fmt.Sprintf(w.Loads, s.ListedFromW(s.MainSource()), fused(s.LoadWiring.FuseA), where, onlyIf(v.Open.Loads, w.LoadsOff)),
	}
	if s.Kit != nil {
		list = kitWords(v)
	}
	list = append(list, partWords(v)...)
	var lamps []string
	lamp := func(prefix, label, look string) {
		if look == "" {
			look = w.NotSeen
		}
		lamps = append(lamps, prefix+plaintext.Clean(label)+" "+plaintext.Clean(look))
	}
	for _, l := range c.Lamps {
		lamp("", l.Label, v.Looks[l.Label])
	}
	if s.Inverter != nil {
		for _, l := range s.Inverter.Lamps {
			lamp(words().Device.Lamp, l.Label, v.InverterLooks[l.Label])
		}
	}
	if lamps != nil {
		list = append(list, fmt.Sprintf(w.Indicators, strings.Join(lamps, "; ")))
	}
	if taken := found(v); taken != nil {
		list = append(list, fmt.Sprintf(w.Taken, strings.Join(taken, "; ")))
	}
	if v.Fault != "" {
		list = append(list, fmt.Sprintf(w.Fault, words().Part[v.Fault]))
	}
	switch {
	case v.Clamp != "" && v.Both:
		list = append(list, fmt.Sprintf(w.BothWires, point[v.Clamp]))
	case v.Clamp == stringWires:
		list = append(list, w.EachWire)
	case v.Clamp == "battery-wire" && !c.LoadOutput: // its loads leave from the same post
		list = append(list, w.AllWires)
	case v.Clamp != "":
		list = append(list, fmt.Sprintf(w.Wire, point[v.Clamp]))
	case v.Red != "":
		list = append(list, fmt.Sprintf(w.Probes, point[v.Red], point[v.Black]))
	}
	return list
}

// batteryMade is of how many blocks and strings a battery is.
func batteryMade(s *site.Site) string {
	w := words().Said
	blocks := w.Blocks.Of(s.Battery.Blocks)
	if n := s.Battery.Parallel(); n > 1 {
		return fmt.Sprintf(w.Parallel, w.Strings.Of(n), blocks)
	}
	return blocks
}

// partWords say the parts beside array, controller, battery and main loads.
func partWords(v View) (list []string) {
	s, w := v.Site, words().Said
	if i := s.Inverter; i != nil {
		at := w.AtBattery
		if i.From == site.FromOutput {
			at = w.AtOutput
		}
		list = append(list, fmt.Sprintf(w.Inverter, i.RatedW, fused(i.FuseA), at))
	}
	if c := s.Charger; c != nil {
		text := w.Charger
		if s.SecondArray() {
			text = w.Second
		}
		list = append(list, fmt.Sprintf(text, c.RatedA))
	}
	if beside := s.ListedFromW(site.FromBattery); beside > 0 && s.Controller.LoadOutput {
		list = append(list, fmt.Sprintf(w.Beside, beside))
	}
	if s.Earthing != "" {
		list = append(list, fmt.Sprintf(w.Earthing, words().Device.Pole[string(s.Earthing)]))
	}
	return list
}

func fused(amps float64) string {
	if amps <= 0 {
		return ""
	}
	return fmt.Sprintf(words().Said.Fuse, amps)
}

// onlyIf is text where something is so, else nothing.
func onlyIf(so bool, text string) string {
	if !so {
		return ""
	}
	return text
}
