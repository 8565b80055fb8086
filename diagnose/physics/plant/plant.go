package plant

import (
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// An Index is the place of a reading in an Out.
type Index int

// The readings. Of the lists, the lowest entry and the mean of the others.
const (
	Irradiance Index = iota
	ModuleC
	AirC
	BatteryC
	ArrayV
	ModuleV
	ArrayA
	BatteryV
	PostV
	BatteryA
	LoadV
	LoadA
	LoadEndV
	StandbyA
	OpenV
	ShortA
	Irradiance2
	ModuleC2
	RestV
	BlockLow
	BlockRest
	GravityLow
	GravityRest
	StepA
	StepPostV
	InverterA
	InverterV
	ChargerA
	StringLow
	StringRest
	PackPercent
	PlusEarthV
	MinusEarthV
	StepBlockLow
	StepBlockRest
	USBLow
	USBRest
	OutputW
	RunH
	Count
)

var indexOf = map[reading.Key]Index{
	reading.Irradiance: Irradiance, reading.ModuleC: ModuleC, reading.AirC: AirC, reading.BatteryC: BatteryC,
	reading.ArrayV: ArrayV, reading.ModuleV: ModuleV, reading.ArrayA: ArrayA,
	reading.BatteryV: BatteryV, reading.PostV: PostV, reading.BatteryA: BatteryA,
	reading.LoadV: LoadV, reading.LoadA: LoadA, reading.LoadEndV: LoadEndV, reading.StandbyA: StandbyA,
	reading.OpenV: OpenV, reading.ShortA: ShortA, reading.Irradiance2: Irradiance2, reading.ModuleC2: ModuleC2,
	reading.RestV: RestV, reading.StepA: StepA, reading.StepPostV: StepPostV,
	reading.InverterA: InverterA, reading.InverterV: InverterV, reading.ChargerA: ChargerA, reading.PackPercent: PackPercent,
	reading.PlusEarthV: PlusEarthV, reading.MinusEarthV: MinusEarthV,
	reading.OutputW: OutputW, reading.RunH: RunH,
}

// listOf are the places of a list: of its lowest entry, and of the mean of the others.
var listOf = map[reading.Key][2]Index{
	reading.BlockV: {BlockLow, BlockRest}, reading.Gravity: {GravityLow, GravityRest},
	reading.USBV: {USBLow, USBRest}, reading.StringA: {StringLow, StringRest}, reading.StepBlockV: {StepBlockLow, StepBlockRest},
}

// ListOf are the places of a list: of its lowest entry, and of the mean of the others.
func ListOf(k reading.Key) (low, rest Index) { return listOf[k][0], listOf[k][1] }

// IndexOf is the place of a single-number reading.
func IndexOf(k reading.Key) (Index, bool) {
	i, ok := indexOf[k]
	return i, ok
}

// Out is the solved plant: every reading and what state it is in.
type Out struct {
	Value [Count]float64
	// Floats marks terminals that nothing holds: a meter there shows a small
	// voltage that stray conductance decides.
	Floats [Count]bool

	Daylight   bool
	Charging   bool // array current reaches the battery side
	Regulating bool // a set-point is held and power turned away
	LoadsCut   bool // load output off for low voltage
	LoadsLive  bool // the controller's load output is live
	StaysOn    bool // it is, clearly below the cut-off voltage
	Powered    bool // the controller works
	ArrayLive  bool // the controller sees an array voltage

	Locked bool // a closed kit that waits for its payment

	InverterRuns bool // it gives AC
	InverterLow  bool // its supply is too low for it
	InverterOver bool // more is drawn than it can give

	SpareW float64 // what the array could give more [W]
	StrayA float64 // what like strings of the battery drive into each other, one deviation [A]
	DrawA  float64 // what loads, own use and drains take now [A]
	BusV   float64 // at the controller's battery terminals, as its lamps see it [V]

	Misfit   Misfit // of the unknowns
	DeadLoad int    // of the fault

	eta float64 // overvoltage per cell as found [V]
}

// DaylightFrom is the light in the array's plane that counts as day [W/m2].
const DaylightFrom = 10

// chargingFrom is the least current that counts as charging [A].
const chargingFrom = 0.01

// A Plant is a site made ready to be solved.
type Plant struct {
	site    *site.Site
	fit     Fit
	family  *family // modules of this nameplate
	group   Diode   // one bypass group at standard test conditions, by the nameplate's own fit
	groups  float64 // groups of one string
	scale12 float64 // nominal voltage over 12 V
	cells   float64
	cables  struct{ array, battery, load, inverter float64 } // at 20 °C [ohm]
	minutes float64
}

// New makes a site ready. Minutes is how long the battery rested before the
// rest readings.
func New(s *site.Site, minutes float64) *Plant {
	p := &Plant{site: s, fit: FitNameplate(s.Array.Module), minutes: minutes}
	p.family = newFamily(s.Array.Module, p.fit.Alpha)
	per := float64(max(1, s.Array.Module.Bypass))
	p.group = p.fit.scaled(1 / per)
	p.groups = per * float64(s.Array.Series)
	p.scale12 = s.NominalV / 12
	p.cells = float64(s.Battery.Cells())
	p.cables.array = CableOhm(s.Array.CableM, s.Array.CableMM2, 20)
	p.cables.battery = CableOhm(s.Battery.CableM, s.Battery.CableMM2, 20)
	p.cables.load = CableOhm(s.LoadWiring.CableM, s.LoadWiring.CableMM2, 20)
	if i := s.Inverter; i != nil {
		p.cables.inverter = CableOhm(i.CableM, i.CableMM2, 20)
	}
	return p
}

// Site is what the plant was made from.
func (p *Plant) Site() *site.Site { return p.site }

// Module is the fit of the module's nameplate.
func (p *Plant) Module() Fit { return p.fit }

// Groups is the number of bypass groups in one string.
func (p *Plant) Groups() int { return int(p.groups) }

// SetPoint is the voltage the controller holds in the stage [V], compensated
// for the battery's temperature; per 2 V of nominal voltage there is one cell.
func (p *Plant) SetPoint(float bool, batteryC float64) float64 {
	c := &p.site.Controller
	v := c.AbsorbV
	if float {
		v = c.FloatV
	}
	return v + c.CompMVPerCCell/1000*(p.site.NominalV/2)*(batteryC-refC)
}

// darkest is the least light that is reckoned with [W/m2]; an array shows some
// millivolts in it.
const darkest = 1e-3

// arrayAt builds the array under light g and cell temperature t.
func (p *Plant) arrayAt(u *Unknowns, g, t float64) array {
	a := p.strings(u, g, t)
	a.ready()
	return a
}

func (p *Plant) strings(u *Unknowns, g, t float64) array {
	f := &u.Fault
	a := array{
		before: f.JointBefore,
		after:  p.cables.array*u.Cable*(1+copperPerC*(u.AirC-20)) + u.ArrayJoint + f.JointAfter,
	}
	if f.LeakA > 0 {
		a.leak = f.LeakA / p.site.NominalV
	}
	if f.ArrayOpen == BeforePlug {
		return a
	}
	g = max(g*(1-u.Soiling)*(1-f.LightLost), darkest)
	move := moveTo(g, t, u.Shunt)
	base, sat := p.group, 1.0
	if u.Ideality > 0 {
		base, sat = p.family.module(&p.site.Array.Module, u.Ideality, u.ShuntShare)
		base = base.scaled(1 / float64(max(1, p.site.Array.Module.Bypass)))
	}
	keep := (1 - f.CurrentLost) * u.Current
	base.IL *= keep
	base.A *= u.Voltage
	a.lit = base.shifted(move, p.fit.Alpha*keep, sat)
	a.dim = a.lit
	strings := p.site.Array.Strings - f.StringsOpen
	odd := 0
	if strings > 0 && (f.ShadedGroups > 0 || f.BypassShorts > 0) {
		odd = 1
		shorted := min(float64(f.BypassShorts), p.groups)
		shaded := min(float64(f.ShadedGroups), p.groups-shorted)
		if shaded > 0 {
			dim := moveTo(max(g*f.ShadeLight, darkest), t, u.Shunt)
			a.dim = base.shifted(dim, p.fit.Alpha*keep, sat)
		}
		full := p.groups - shaded - shorted
		if full+shaded == 0 { // a string shorted through holds all others at nothing
			return a
		}
		a.add(stringClass{1, full, shaded})
	}
	if n := strings - odd; n > 0 {
		a.add(stringClass{float64(n), p.groups, 0})
	}
	return a
}
