// Package reading names every reading of a visit and holds a set of them, as
// found in a readings file or as answered during a visit.
//
// Start with [Key], [Specs] and [Set]. Values are in the unit of their [Spec].
package reading

import (
	"maps"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/physics/quantity"
)

// A Key names a reading: bare for the as-found section ("array_v"), with its
// section where the name occurs in several ("load_step.post_v"), and
// "lamps.LABEL" for a lamp of the controller.
type Key string

// The keys of all readings but lamps.
const (
	Sky         Key = "sky"
	Shade       Key = "shade"
	Glass       Key = "glass"
	Irradiance  Key = "irradiance_w_m2"
	ModuleC     Key = "module_c"
	AirC        Key = "air_c"
	BatteryC    Key = "battery_c"
	ArrayV      Key = "array_v"
	ModuleV     Key = "module_v"
	ArrayA      Key = "array_a"
	BatteryV    Key = "battery_v"
	PostV       Key = "post_v"
	BatteryA    Key = "battery_a"
	LoadV       Key = "load_v"
	LoadA       Key = "load_a"
	LoadEndV    Key = "load_end_v"
	StandbyA    Key = "standby_a"
	OpenV       Key = "open_v"
	ShortA      Key = "short_a"
	Irradiance2 Key = "array_isolated.irradiance_w_m2"
	ModuleC2    Key = "array_isolated.module_c"
	Minutes     Key = "minutes"
	RestV       Key = "rest_v"
	BlockV      Key = "block_v"
	Gravity     Key = "gravity"
	StepA       Key = "step_a"
	StepPostV   Key = "load_step.post_v"
	InverterA   Key = "inverter_a"
	InverterV   Key = "inverter_v"
	ChargerOn   Key = "charger_on"
	ChargerA    Key = "charger_a"
	StringA     Key = "string_a"
	PackPercent Key = "pack_percent"
	PackAlarm   Key = "pack_alarm"
	PlusEarthV  Key = "plus_earth_v"
	MinusEarthV Key = "minus_earth_v"
	StepBlockV  Key = "load_step.block_v"
	Locked      Key = "locked"
	USBV        Key = "usb_v"
	OutputW     Key = "output_w"
	RunW        Key = "run_w"
	RunH        Key = "run_h"
	NotWorking  Key = "not_working"
	Seen        Key = "seen"
	Visit       Key = "visit"
	Complaint   Key = "complaint"
	Changed     Key = "changed"
)

// None is the only entry of a list of ids in which there is nothing to tell.
const None = "none"

// What may be in the lists of ids.
var (
	Damages = []string{
		"post-crust", "post-loose", "wire-loose", "wire-broken", "spot-melted", "spot-burnt", "fuse-missing",
		"fuse-bridged", "glass-broken", "cells-brown", "frame-loose", "cable-hanging", "box-open", "water-in-box",
		"acid-low", "plates-bare", "swollen", "leak", "insects", "cover-missing",
	}
	Complaints = []string{
		"no-power", "lamps-dim", "lamps-short", "cuts-out-early", "appliance-dead", "controller-warns", "smell-or-heat", None,
	}
	Changes = []string{"storm", "new-load", "roof-work", "water-added", "battery-moved", "repair", None}
	Visits  = []string{"round", "call-out"}
)

// Lamp is the key of the controller's lamp with the given label.
func Lamp(label string) Key { return Key("lamps." + label) }

// InverterLamp is the key of the inverter's lamp with the given label.
func InverterLamp(label string) Key { return Key("inverter_lamps." + label) }

// context are the readings that say how a visit finds the site and how others were
// taken, whatever is wrong.
var context = map[Key]bool{
	Sky: true, Irradiance: true, Irradiance2: true,
	ModuleC: true, ModuleC2: true, AirC: true, BatteryC: true, Minutes: true, StepA: true,
	Visit: true, ChargerOn: true, Locked: true, RunW: true,
}

// Context reports whether k only says in what light and warmth, and how, others were
// taken: it is evidence for nothing by itself.
func (k Key) Context() bool { return context[k] }

// LampLabel is the label of a lamp's key, and whether k is one.
func (k Key) LampLabel() (string, bool) { return strings.CutPrefix(string(k), "lamps.") }

// InverterLabel is the label of the key of an inverter's lamp, and whether k is one.
func (k Key) InverterLabel() (string, bool) { return strings.CutPrefix(string(k), "inverter_lamps.") }

// At is the key of the voltage at a place between two parts of a circuit, for finding
// which of them is at fault. It stands in no readings file, and the belief does not
// know it.
func At(circuit, node string) Key { return Key("place." + circuit + "." + node) }

// Node is the circuit and the node of a key of [At], and whether k is one.
func (k Key) Node() (circuit, node string, ok bool) {
	rest, ok := strings.CutPrefix(string(k), "place.")
	circuit, node, cut := strings.Cut(rest, ".")
	return circuit, node, ok && cut
}

// A Form is how a reading is answered.
type Form int

// The forms.
const (
	Number  Form = iota // one number in the unit
	Word                // one of the choices
	List                // several numbers, one per block, cell or string
	YesNo               // "true" or "false"
	Several             // any number of the choices
)

// A Meter says which instrument of the readings file a number comes from.
type Meter string

// The meters; the values are the names of their [instrument.…] tables.
const (
	NoMeter     Meter = ""
	Voltmeter   Meter = "voltmeter"
	Clamp       Meter = "clamp"
	Light       Meter = "irradiance"
	Thermometer Meter = "thermometer"
	Hydrometer  Meter = "hydrometer"
)

// A Spec says where a reading stands in the readings file and how it is given.
type Spec struct {
	Key     Key
	Section string // table of the readings file
	Name    string // key within that table
	Form    Form
	Unit    string // "V", "A", "W/m2", "C", "min", "" (specific gravity)
	Meter   Meter
	Choices []string // for words, mildest last where there is an order
}

// Turned reports whether the clamp of a visit shows the reading with the other
// sign. Its arrow points toward the battery through the whole visit; the readings
// file counts these two out of it.
func (s Spec) Turned() bool { return s.Key == StandbyA || s.Key == StepA }

// Shown is the value x of the readings file with the sign that people see, and
// what they see with the sign of the file.
func (s Spec) Shown(x float64) float64 {
	if s.Turned() {
		return -x + 0 // no zero with a sign
	}
	return x
}

// Specs lists every reading but lamps, in the order of the readings file.
var Specs = []Spec{
	{Visit, "", "visit", Word, "", NoMeter, Visits},
	{Complaint, "", "complaint", Several, "", NoMeter, Complaints},
	{Changed, "", "changed", Several, "", NoMeter, Changes},
	{Sky, "as_found", "sky", Word, "", NoMeter, []string{"dark", "overcast", "hazy", "clear"}},
	{Shade, "as_found", "shade", Word, "", NoMeter, []string{"none", "part", "full"}},
	{Glass, "as_found", "glass", Word, "", NoMeter, []string{"clean", "dusty", "caked"}},
	{Irradiance, "as_found", "irradiance_w_m2", Number, "W/m2", Light, nil},
	{ModuleC, "as_found", "module_c", Number, "C", Thermometer, nil},
	{AirC, "as_found", "air_c", Number, "C", Thermometer, nil},
	{BatteryC, "as_found", "battery_c", Number, "C", Thermometer, nil},
	{ArrayV, "as_found", "array_v", Number, "V", Voltmeter, nil},
	{ModuleV, "as_found", "module_v", Number, "V", Voltmeter, nil},
	{ArrayA, "as_found", "array_a", Number, "A", Clamp, nil},
	{BatteryV, "as_found", "battery_v", Number, "V", Voltmeter, nil},
	{PostV, "as_found", "post_v", Number, "V", Voltmeter, nil},
	{BatteryA, "as_found", "battery_a", Number, "A", Clamp, nil},
	{LoadV, "as_found", "load_v", Number, "V", Voltmeter, nil},
	{LoadA, "as_found", "load_a", Number, "A", Clamp, nil},
	{LoadEndV, "as_found", "load_end_v", Number, "V", Voltmeter, nil},
	{InverterA, "as_found", "inverter_a", Number, "A", Clamp, nil},
	{InverterV, "as_found", "inverter_v", Number, "V", Voltmeter, nil},
	{ChargerOn, "as_found", "charger_on", YesNo, "", NoMeter, nil},
	{ChargerA, "as_found", "charger_a", Number, "A", Clamp, nil},
	{StringA, "as_found", "string_a", List, "A", Clamp, nil},
	{PackPercent, "as_found", "pack_percent", Number, "%", NoMeter, nil},
	{PackAlarm, "as_found", "pack_alarm", YesNo, "", NoMeter, nil},
	{PlusEarthV, "as_found", "plus_earth_v", Number, "V", Voltmeter, nil},
	{MinusEarthV, "as_found", "minus_earth_v", Number, "V", Voltmeter, nil},
	{Locked, "as_found", "locked", YesNo, "", NoMeter, nil},
	{USBV, "as_found", "usb_v", List, "V", NoMeter, nil},
	{OutputW, "as_found", "output_w", Number, "W", NoMeter, nil},
	{RunW, "as_found", "run_w", Number, "W", NoMeter, nil},
	{RunH, "as_found", "run_h", Number, "h", NoMeter, nil},
	{NotWorking, "as_found", "not_working", Several, "", NoMeter, nil}, // of the labels of the loads
	{Seen, "as_found", "seen", Several, "", NoMeter, Damages},
	{StandbyA, "loads_off", "standby_a", Number, "A", Clamp, nil},
	{OpenV, "array_isolated", "open_v", Number, "V", Voltmeter, nil},
	{ShortA, "array_isolated", "short_a", Number, "A", Clamp, nil},
	{Irradiance2, "array_isolated", "irradiance_w_m2", Number, "W/m2", Light, nil},
	{ModuleC2, "array_isolated", "module_c", Number, "C", Thermometer, nil},
	{Minutes, "battery_rested", "minutes", Number, "min", NoMeter, nil},
	{RestV, "battery_rested", "rest_v", Number, "V", Voltmeter, nil},
	{BlockV, "battery_rested", "block_v", List, "V", Voltmeter, nil},
	{Gravity, "battery_rested", "gravity", List, "", Hydrometer, nil},
	{StepA, "load_step", "step_a", Number, "A", Clamp, nil},
	{StepPostV, "load_step", "post_v", Number, "V", Voltmeter, nil},
	{StepBlockV, "load_step", "block_v", List, "V", Voltmeter, nil},
}

// SpecOf finds the spec of k; a lamp has a made-up one without choices, and a place between two parts one too.
func SpecOf(k Key) (Spec, bool) {
	if label, ok := k.LampLabel(); ok {
		return Spec{Key: k, Section: "as_found.lamps", Name: label, Form: Word}, true
	}
	if label, ok := k.InverterLabel(); ok {
		return Spec{Key: k, Section: "as_found.inverter_lamps", Name: label, Form: Word}, true
	}
	if _, node, ok := k.Node(); ok {
		return Spec{Key: k, Section: "place", Name: node, Form: Number, Unit: "V", Meter: Voltmeter}, true
	}
	i := slices.IndexFunc(Specs, func(s Spec) bool { return s.Key == k })
	if i < 0 {
		return Spec{}, false
	}
	return Specs[i], true
}

// A Set is what was found, any part of it absent.
type Set struct {
	TakenAt     time.Time // zero if not known
	LoadsOn     []string  // labels of the listed loads switched on as found; nil: not known
	Instruments map[Meter]quantity.Instrument
	Numbers     map[Key]float64
	Words       map[Key]string // sky, shade, glass, lamps, and "true" or "false"
	Lists       map[Key][]float64
	Several     map[Key][]string // ids or labels; empty: looked for, none there
	Looked      []string         // of the ids of \"seen\", those that were looked for; nil: all
	NotTaken    []Key            // tried, could not be taken
	Doubted     map[Key]bool     // outside what the site could show, confirmed by the person
}

// NewSet is an empty set with every map made and common limits of error.
func NewSet() *Set {
	return &Set{
		Instruments: DefaultInstruments(),
		Numbers:     map[Key]float64{},
		Words:       map[Key]string{},
		Lists:       map[Key][]float64{},
		Several:     map[Key][]string{},
		Doubted:     map[Key]bool{},
	}
}

// DefaultInstruments are limits of error of ordinary instruments, used where
// no own are given (typical figures, from memory).
func DefaultInstruments() map[Meter]quantity.Instrument {
	return map[Meter]quantity.Instrument{
		Voltmeter:   {Percent: 0.8, Digits: 2, Resolution: 0.01},
		Clamp:       {Percent: 2.5, Digits: 5, Resolution: 0.01},
		Light:       {Percent: 7, Digits: 5, Resolution: 1},
		Thermometer: {PlusMinus: 2},
		Hydrometer:  {PlusMinus: 0.005},
	}
}

// Has reports whether k has a value.
func (s *Set) Has(k Key) bool {
	if _, ok := s.Numbers[k]; ok {
		return true
	}
	if _, ok := s.Words[k]; ok {
		return true
	}
	if _, ok := s.Several[k]; ok {
		return true
	}
	_, ok := s.Lists[k]
	return ok
}

// Measured is how many readings were taken with an instrument, or stand for one: a USB meter,
// hours on a known load.
func (s *Set) Measured() int {
	n := 0
	for _, spec := range Specs {
		if (spec.Meter != NoMeter || slices.Contains([]Key{USBV, OutputW, RunH}, spec.Key)) && s.Has(spec.Key) {
			n++
		}
	}
	return n
}

// Clone is a deep copy.
func (s *Set) Clone() *Set {
	c := *s
	c.LoadsOn = slices.Clone(s.LoadsOn)
	c.Instruments = maps.Clone(s.Instruments)
	c.Numbers = maps.Clone(s.Numbers)
	c.Words = maps.Clone(s.Words)
	c.Lists = maps.Clone(s.Lists)
	for k, v := range c.Lists {
		c.Lists[k] = slices.Clone(v)
	}
	c.Several = maps.Clone(s.Several)
	for k, v := range c.Several {
		c.Several[k] = slices.Clone(v)
	}
	c.Looked = slices.Clone(s.Looked)
	c.NotTaken = slices.Clone(s.NotTaken)
	c.Doubted = maps.Clone(s.Doubted)
	return &c
}
