// Package site describes what is installed: the site file, read strictly.
//
// Start with [Parse], [Site] and [Demo]. Quantities are float64 in the unit
// that the identifier names; angles are degrees.
package site

import "slices"

// Kind is how a charge controller holds the battery at its set-point.
type Kind string

// The kinds of charge controller.
const (
	Series Kind = "series" // switches the array on and off the battery (pulse-width)
	Shunt  Kind = "shunt"  // shorts the array
	MPPT   Kind = "mppt"   // converts, and moves off the maximum power point
)

// Chemistry of the battery.
type Chemistry string

// The battery chemistries.
const (
	Flooded Chemistry = "flooded"
	AGM     Chemistry = "agm"
	Gel     Chemistry = "gel"
	LFP     Chemistry = "lfp"
)

// LeadAcid reports whether the cells are 2 V lead-acid cells.
func (c Chemistry) LeadAcid() bool { return c != LFP }

// A Site is one stand-alone system as its nameplates and its file describe it.
type Site struct {
	Name       string
	NominalV   float64 // 12, 24 or 48 [V]
	Place      Place
	Array      Array
	Controller Controller
	Battery    Battery
	Loads      []Load
	LoadWiring LoadWiring
	Inverter   *Inverter          // nil: none
	Charger    *Charger           // nil: none
	Kit        *Kit               // nil: a plant of parts
	Earthing   Pole               // "": not given
	Priors     map[string]float64 // by the id of a condition, how much more common it is here; nil: as elsewhere
	Doubts     Doubts             // of figures that were assumed; nil: all were read
}

// A Place is where the array stands and how it is turned.
type Place struct {
	LatitudeDeg  float64   // north positive
	LongitudeDeg float64   // east positive
	UTCOffsetH   float64   // local time minus UTC [h]
	TiltDeg      float64   // from horizontal
	BearingDeg   float64   // compass bearing the array faces, 0 north, 90 east
	SunHours     []float64 // peak sun hours a day in the array's plane, January first; nil if not given
}

// An Array is Strings parallel strings of Series modules each.
type Array struct {
	Series    int
	Strings   int
	FuseA     float64 // 0: no fuse
	CableM    float64 // one way
	CableMM2  float64
	Installed string // year-month, "" if not given
	Module    Module
}

// A Module is a nameplate at standard test conditions.
type Module struct {
	PmpW       float64
	VmpV       float64
	ImpA       float64
	VocV       float64
	IscA       float64
	Cells      int     // in series
	Bypass     int     // bypass diodes, each over Cells/Bypass cells
	IscPctPerC float64 // relative to Isc
	VocPctPerC float64 // relative to Voc
	NOCTC      float64
}

// A Controller is a charge controller with its set-points at system level.
type Controller struct {
	Kind           Kind
	RatedA         float64
	AbsorbV        float64 // at 25 °C battery temperature
	FloatV         float64 // equal to AbsorbV where there is no float stage
	CompMVPerCCell float64 // temperature compensation per 2 V cell [mV/°C]; 0: none
	CutV           float64 // load cut-off
	RestoreV       float64 // load reconnect
	OwnUseMA       float64
	InputV         float64 // highest array voltage that it stands; 0 if not given
	LoadOutput     bool
	Lamps          []Lamp
}

// A Lamp is one lamp or display field of the controller, as its manual explains it.
type Lamp struct {
	Label string
	Looks []Look
}

// Shows reports whether the lamp has a look that means m.
func (l *Lamp) Shows(m Meaning) bool {
	return slices.ContainsFunc(l.Looks, func(look Look) bool { return slices.Contains(look.Means, m) })
}

// A Look is one way a lamp can look and what that means.
type Look struct {
	Look    string
	Means   []Meaning
	Volts   float64 // for the battery-… meanings
	VoltsTo float64
}

// A Meaning is one word of the lamp vocabulary.
type Meaning string

// The lamp vocabulary.
const (
	ArrayLive      Meaning = "array-live"
	ArrayDead      Meaning = "array-dead"
	Charging       Meaning = "charging"
	NotCharging    Meaning = "not-charging"
	Regulating     Meaning = "regulating"
	NotRegulating  Meaning = "not-regulating"
	BatteryAbove   Meaning = "battery-above"
	BatteryBelow   Meaning = "battery-below"
	BatteryBetween Meaning = "battery-between"
	LoadsLive      Meaning = "loads-live"
	LoadsCut       Meaning = "loads-cut"
	Fault          Meaning = "fault"
	Powered        Meaning = "powered"
	Unpowered      Meaning = "unpowered"

	// Of an inverter alone.
	InverterOn       Meaning = "inverter-on"
	InverterOff      Meaning = "inverter-off"
	InverterLow      Meaning = "inverter-low"      // its supply is too low
	InverterOverload Meaning = "inverter-overload" // more is drawn than it can give
)

// A Battery is Strings parallel strings of Blocks blocks in series.
type Battery struct {
	Chemistry     Chemistry
	CapacityAh    float64 // at the 20 h rate, of all strings together
	Strings       int     // in parallel; 0 counts as 1
	Blocks        int     // in series, of each string
	CellsPerBlock int
	EqualiseV     float64 // at 25 °C; 0: the controller does not equalise
	EqualiseDays  int     // from one equalising to the next
	FuseA         float64
	CableM        float64 // one way
	CableMM2      float64
	Installed     string
}

// Cells is the number of cells in series.
func (b Battery) Cells() int { return b.Blocks * b.CellsPerBlock }

// Parallel is the number of strings in parallel, at least 1.
func (b Battery) Parallel() int { return max(1, b.Strings) }

// A Load is one listed appliance or group of them.
type Load struct {
	Label       string
	PowerW      float64
	HoursPerDay float64
	Priority    int // 1 = keep longest
	Used        TimeOfUse
	From        Source // "": see [Site.SourceOf]
	Kind        LoadKind
}

// A Source is where a load takes its current from.
type Source string

// The sources.
const (
	FromOutput   Source = "load-output" // the controller's load output
	FromBattery  Source = "battery"     // the battery's posts, past the controller
	FromInverter Source = "inverter"
)

// A LoadKind is how steadily a load draws its power while it is on.
type LoadKind string

// The kinds of load.
const (
	Steady   LoadKind = ""         // all the time, about what its label says
	Cycling  LoadKind = "cycling"  // all of it or nothing, as a compressor does
	Unsteady LoadKind = "unsteady" // anything up to what its label says
)

// An Inverter is a converter to AC. Its AC side is never touched.
type Inverter struct {
	RatedW     float64 // continuous, AC
	IdleW      float64 // its own draw with nothing on
	Efficiency float64 // at a third of RatedW
	CutV       float64 // it switches itself off below this at its DC terminals
	RestoreV   float64
	From       Source // FromBattery or FromOutput
	FuseA      float64
	CableM     float64 // one way
	CableMM2   float64
	Lamps      []Lamp
}

// A Charger charges the battery beside the array: from mains or a generator, or from a second
// array through a controller of its own.
type Charger struct {
	Source  ChargerSource
	RatedA  float64 // of a second array in full sun
	AbsorbV float64
	FloatV  float64
}

// A Kit is a closed kit: controller, battery and outputs in one case that is never opened.
// What can be reached are the array's plug, the indicators and the outputs.
type Kit struct {
	USB   int  // outputs of 5 V
	Locks bool // it gives nothing until it is paid or a code is typed
}

// A ChargerSource is what feeds a charger.
type ChargerSource string

// The sources.
const (
	FromMains ChargerSource = ""      // or a generator
	FromArray ChargerSource = "array" // a second array: it gives by the light
)

// A Pole is which pole of the battery is joined to earth on purpose.
type Pole string

// The poles.
const (
	PoleNone    Pole = "none"
	PolePlus    Pole = "plus"
	PoleMinus   Pole = "minus"
	PoleUnknown Pole = "unknown"
)

// A TimeOfUse is when in the day a load is used.
type TimeOfUse string

// The times of use.
const (
	AnyTime TimeOfUse = ""        // not given
	ByDay   TimeOfUse = "day"     // about noon
	Evening TimeOfUse = "evening" // from sunset on
)

// LoadWiring runs to the farthest load.
type LoadWiring struct {
	FuseA    float64
	CableM   float64 // one way
	CableMM2 float64
}
