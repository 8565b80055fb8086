package plant

import "ampwalk/diagnose/physics/site"

// Unknowns is everything about one plant at one moment that a site file does
// not tell: the moment, the tolerances of the parts, and what is wrong.
type Unknowns struct {
	// The moment.
	Irradiance         float64 // in the array's plane, before any soiling [W/m2]
	IrradianceIsolated float64 // at the isolated tests [W/m2]
	CellC              float64 // cell temperature [°C]
	CellCIsolated      float64
	AirC               float64
	BatteryC           float64
	SoC                float64 // fraction of the present capacity
	LoadW              float64 // drawn by the loads on the load wiring that are on, tolerance included [W]
	BesideW            float64 // by those wired to the battery although there is a load output [W]
	InverterW          float64 // AC power drawn from the inverter [W]
	StepA              float64 // current of the load step [A]
	RunW               float64 // of a closed kit, what the loads drew whose run time people tell [W]; 0: none is told

	// Which way things that have two states stand.
	FloatStage bool // the controller is in its float stage
	LatchedOff bool // within the hysteresis the load output is off
	RunsAlone  bool // without a battery the controller runs on the array
	Blocking   bool // the controller has a diode that conducts a reversed array
	Equalising bool // the controller is in its equalising charge
	Locked     bool // a closed kit that gives nothing until it is paid

	InverterOn      bool // the inverter is switched on, as found
	InverterLatched bool // within its hysteresis it is off
	InverterLeftOn  bool // and at the test of what is drawn with everything off
	ChargerOn       bool
	ChargerFloats   bool      // it is in its float stage
	Earthed         site.Pole // which pole is joined to earth on purpose

	// Tolerances of the parts; 1 or 0 as the nameplate says.
	Soiling      float64 // light lost within normal wear, 0 to 0.07
	Current      float64 // of the module's current, about 1
	Voltage      float64 // of the module's voltage, about 1
	Shunt        float64 // exponent of the shunt conductance with light, 0 to 1
	Ideality     float64 // of the module's cells; 0: that and the shunt are of the nameplate's own fit
	ShuntShare   float64 // of Isc that the shunt takes at Voc in full light
	ArrayJoint   float64 // joints and fuse within normal wear [ohm]
	BatteryJoint float64
	LoadJoint    float64
	Cable        float64 // of the cables' resistance, about 1
	DropV        float64 // of the controller's switch or diode [V]
	DropOhm      float64
	Efficiency   float64 // of an mppt conversion
	Track        float64 // how far beyond its best point an mppt controller keeps the array, in diode voltages A of a lit cell
	StartW       float64 // array power from which an mppt controller works [W]
	SetPoint     float64 // error of the set-points at 12 V level [V]
	OwnUse       float64 // of the stated own use, about 1
	LoadShape    float64 // 0: loads draw constant power, 1: they are resistors
	Inverter     float64 // of what the inverter takes beside what it gives, about 1
	Charger      float64 // of the charger's rated current, about 1
	ChargerSet   float64 // error of its set-points at 12 V level [V]
	EarthOhm     float64 // of the earth electrode [ohm]

	// The battery.
	RestMix   float64 // between the published tables, see RestVoltage
	RestShift float64 // [V per cell]
	Gravity   float64 // of the full acid's density from the rule
	Ohm       float64 // factors, about 1
	Charge    float64
	Discharge float64
	Gas       float64
	Capacity  float64
	Peukert   float64 // exponent of what a discharge above the rated one costs beside its lower voltage; below 1 counts as 1
	OneMinute float64 // part of the discharge overvoltage reached in a load step's minute
	Surface   float64 // part of the overvoltage left when the rest begins
	Taken     float64 // part of what charging left so that a load step can take away, see surfaceTaken
	Decay     float64 // time constant of that rest [min]

	Misfit Misfit
	Fault  Fault
}

// A Misfit is how far a real plant lies beside any that this model can be, by kind of
// reading, in units of what the model leaves out of an ordinary one; 0: it does not. The
// plant only hands it on to who weighs readings.
type Misfit struct{ Volts, Amps float64 }

// An Open says where the array circuit is open.
type Open uint8

// The places.
const (
	NotOpen    Open = iota
	BeforePlug      // on the modules' side of the plug
	AfterPlug       // between the plug and the controller
)

// An Earth says which conductor is joined to earth where it should not be.
type Earth uint8

// The conductors.
const (
	NotEarthed Earth = iota
	EarthPlus
	EarthMinus
	EarthBetween // a link between cells, or a conductor at some voltage between the poles
)

// A Drain says where an unlisted draw is wired.
type Drain uint8

// The places.
const (
	DrainPosts Drain = iota // at the battery posts
	DrainBus                // at the controller's battery terminals
	DrainLoads              // with the loads
)

// A Fault is what is wrong, as it acts on the plant. The zero value is a sound
// plant.
type Fault struct {
	ArrayOpen    Open
	Reversed     bool
	JointBefore  float64 // extra series resistance on the modules' side [ohm]
	JointAfter   float64 // between plug and controller [ohm]
	LightLost    float64 // fraction, on the glass
	CurrentLost  float64 // fraction, in the cells
	ShadedGroups int     // bypass groups of one string in shadow
	ShadeLight   float64 // what light they keep, 0 to 1
	StringsOpen  int
	BypassShorts int     // groups of one string shorted
	ArrayShort   bool    // the cable is shorted before the controller
	ShortAt      float64 // how far along it, 0 at the plug to 1 at the controller

	ChargeOpen    bool
	ChargeStuck   bool
	SetPointShift float64 // system level [V]
	LeakA         float64 // reverse current at the nominal voltage in the dark [A]
	Dead          bool
	LoadOff       bool // load output off without cause
	NoCut         bool // the load output stays on however low the battery is

	BatteryOpen  bool
	PackOff      bool
	BatteryJoint float64 // [ohm]
	ShortedCells int
	AcidLost     float64 // density that a shorted cell's acid has lost against its neighbours
	OhmX         float64 // times the new resistance; 0 counts as 1
	CapacityX    float64 // times the capacity; 0 counts as 1
	WeakX        float64 // times the new resistance of one block; 0: none is weak
	StringsLost  int     // of the battery, open
	AcidGained   float64 // density that the acid has gained by the water it lost

	USBLost   int // outputs of a closed kit that are dead
	LoadOpen  bool
	LoadX     float64 // times the listed draw; 0 counts as 1
	DrainA    float64 // unlisted draw [A]
	DrainAt   Drain
	LoadJoint float64 // [ohm]
	DeadLoad  int     // place of a listed load that does not work, from 1; 0: none
	DeadDraws float64 // part of its power that it still draws

	InverterOff   bool
	InverterJoint float64 // in its DC circuit [ohm]
	EarthAt       Earth
	EarthOhm      float64 // of that joint [ohm]
	EarthPart     float64 // of EarthBetween: where, from 0 at minus to 1 at plus
}

func (f *Fault) ohm() float64 {
	if f.OhmX == 0 {
		return 1
	}
	return f.OhmX
}

func (f *Fault) capacity() float64 {
	if f.CapacityX == 0 {
		return 1
	}
	return f.CapacityX
}

func (f *Fault) load() float64 {
	if f.LoadX == 0 {
		return 1
	}
	return f.LoadX
}

// Typical is a plant as its nameplates say, at the given moment.
func Typical() Unknowns {
	return Unknowns{
		Irradiance: 800, IrradianceIsolated: 800, CellC: 50, CellCIsolated: 50, AirC: 25, BatteryC: 25,
		SoC: 0.7, StepA: 5,
		Current: 1, Voltage: 1, Shunt: 1, Cable: 1,
		DropV: 0.1, DropOhm: 0.015, Efficiency: 0.96, OwnUse: 1,
		InverterOn: true, Inverter: 1, Charger: 1, EarthOhm: 50,
		ArrayJoint: 0.01, BatteryJoint: 0.005, LoadJoint: 0.01,
		RestMix: 0.5, Ohm: 1, Charge: 0.75, Discharge: 0.4, Gas: 1, Capacity: 0.95, Peukert: 1.05,
		OneMinute: 0.5, Surface: 0.4, Taken: 0.5, Decay: 45,
	}
}

// SetLoads sets what the loads draw: each of the site's so much of its listed power [W] as
// drawn says, but for one that does not work.
func (u *Unknowns) SetLoads(s *site.Site, drawn func(i int) float64) {
	u.LoadW, u.BesideW, u.InverterW = 0, 0, 0
	for i := range s.Loads {
		w := drawn(i)
		if i+1 == u.Fault.DeadLoad {
			w *= u.Fault.DeadDraws
		}
		switch from := s.SourceOf(s.Loads[i]); {
		case from == site.FromInverter:
			u.InverterW += w
		case from == s.MainSource():
			u.LoadW += w
		default:
			u.BesideW += w
		}
	}
}
