package site

import (
	"regexp"

	"ampwalk/diagnose/base/tomlfile"
)

// Limits of what a site file may say: wide enough for every small stand-alone
// system, narrow enough to catch a slip of a unit or of the decimal point
// (common practice).
var (
	latitude    = tomlfile.Range{Min: -90, Max: 90, Unit: words().Unit.Latitude}
	longitude   = tomlfile.Range{Min: -180, Max: 180, Unit: words().Unit.Longitude}
	utcOffset   = tomlfile.Range{Min: -12, Max: 14, Unit: "h"}
	tilt        = tomlfile.Range{Min: 0, Max: 90, Unit: "°"}
	bearing     = tomlfile.Range{Min: 0, Max: 360, Unit: "°"}
	sunHours    = tomlfile.Range{Min: 0, Max: 12, Unit: words().Unit.HoursADay}
	fuse        = tomlfile.Range{Min: 0, Max: 1000, Unit: words().Unit.Fuse}
	cableLength = tomlfile.Range{Min: 0.05, Max: 500, Unit: "m"}
	cableArea   = tomlfile.Range{Min: 0.2, Max: 400, Unit: "mm2"}
	modulePower = tomlfile.Range{Min: 0.5, Max: 1000, Unit: "W"}
	moduleV     = tomlfile.Range{Min: 1, Max: 250, Unit: "V"}
	moduleA     = tomlfile.Range{Min: 0.02, Max: 30, Unit: "A"}
	iscPctPerC  = tomlfile.Range{Min: -0.05, Max: 0.2, Unit: words().Unit.IscPerC}
	vocPctPerC  = tomlfile.Range{Min: -0.6, Max: -0.1, Unit: words().Unit.VocPerC}
	noct        = tomlfile.Range{Min: 35, Max: 65, Unit: "°C"}
	ratedA      = tomlfile.Range{Min: 0.5, Max: 200, Unit: "A"}
	inputV      = tomlfile.Range{Min: 10, Max: 1000, Unit: "V"}
	systemV     = tomlfile.Range{Min: 5, Max: 80, Unit: "V"}
	comp        = tomlfile.Range{Min: -10, Max: 0, Unit: words().Unit.Compensation}
	ownUse      = tomlfile.Range{Min: 0, Max: 5000, Unit: "mA"}
	capacity    = tomlfile.Range{Min: 0.5, Max: 20000, Unit: "Ah"}
	loadPower   = tomlfile.Range{Min: 0.05, Max: 20000, Unit: "W"}
	loadHours   = tomlfile.Range{Min: 0, Max: 24, Unit: words().Unit.HoursADay}
	inverterW   = tomlfile.Range{Min: 20, Max: 20000, Unit: "W"}
	idlePower   = tomlfile.Range{Min: 0, Max: 500, Unit: "W"}
	efficiency  = tomlfile.Range{Min: 0.5, Max: 0.99}
	nominalV    = tomlfile.Range{Min: 3, Max: 80, Unit: "V"}
	kitV        = tomlfile.Range{Min: 2, Max: 20, Unit: "V"}
)

const (
	maxSeries   = 20
	maxStrings  = 50
	maxCells    = 200
	maxBlocks   = 24
	maxPriority = 9
	maxDays     = 366
	maxUSB      = 20
)

// Parse reads a site file (see the package's example, [DemoTOML]). Everything
// that is wrong in it comes back at once, as [tomlfile.Problems].
func Parse(file string, data []byte) (*Site, error) {
	top, err := tomlfile.Open(file, data)
	if err != nil {
		return nil, err
	}
	t := tables{
		top:        top,
		place:      top.Table("place"),
		array:      top.Table("array"),
		controller: top.Table("controller"),
		battery:    top.Table("battery"),
		loads:      top.Tables("load"),
		inverter:   top.TableIfAny("inverter"),
		charger:    top.TableIfAny("charger"),
		kit:        top.TableIfAny("kit"),
	}
	t.module = t.array.Table("module")
	open := asParts
	if top.Has("kit") {
		open = closed
	}
	s := &Site{
		Name:       top.Name("name"),
		NominalV:   top.Number("nominal_v", nominalV),
		Place:      place(t.place),
		Array:      array(t.array, module(t.module)),
		Controller: controller(t.controller, open),
		Battery:    battery(t.battery, open),
		Loads:      loads(t.loads),
		LoadWiring: loadWiring(top, open),
		Priors:     priors(top.TableIfAny("priors")),
	}
	if top.Has("inverter") {
		s.Inverter = inverter(t.inverter)
	}
	if top.Has("charger") {
		s.Charger = charger(t.charger)
	}
	if top.Has("kit") {
		s.Kit = kit(t.kit)
	}
	if top.Has("earthing") {
		s.Earthing = earthing(top.Table("earthing"))
	}
	s.check(t)
	if err := top.Err(); err != nil {
		return nil, err
	}
	s.Doubts = doubts(file, data, len(s.Loads))
	return s, nil
}

// tables are those of the file whose values have to agree with each other.
type tables struct {
	top, place, array, module, controller, battery, inverter, charger, kit *tomlfile.Table
	loads                                                                  []*tomlfile.Table
}

func place(t *tomlfile.Table) Place {
	p := Place{
		LatitudeDeg:  t.Number("latitude_deg", latitude),
		LongitudeDeg: t.Number("longitude_deg", longitude),
		UTCOffsetH:   t.Number("utc_offset_h", utcOffset),
		TiltDeg:      t.Number("tilt_deg", tilt),
		BearingDeg:   t.Number("bearing_deg", bearing),
	}
	if t.Has("sun_hours") {
		p.SunHours = t.Numbers("sun_hours", sunHours)
		if n := len(p.SunHours); t.Sound("sun_hours") && n != 12 {
			t.Report("sun_hours", "%s", words().SunHours.Of(n))
		}
	}
	return p
}

func array(t *tomlfile.Table, m Module) Array {
	return Array{
		Series:    t.Count("series", 1, maxSeries),
		Strings:   t.Count("strings", 1, maxStrings),
		FuseA:     t.NumberOr("fuse_a", fuse, 0),
		CableM:    t.Number("cable_m", cableLength),
		CableMM2:  t.Number("cable_mm2", cableArea),
		Installed: installed(t),
		Module:    m,
	}
}

func module(t *tomlfile.Table) Module {
	return Module{
		PmpW:       t.Number("pmp_w", modulePower),
		VmpV:       t.Number("vmp_v", moduleV),
		ImpA:       t.Number("imp_a", moduleA),
		VocV:       t.Number("voc_v", moduleV),
		IscA:       t.Number("isc_a", moduleA),
		Cells:      t.Count("cells", 1, maxCells),
		Bypass:     t.Count("bypass", 1, maxCells),
		IscPctPerC: t.Number("isc_pct_per_c", iscPctPerC),
		VocPctPerC: t.Number("voc_pct_per_c", vocPctPerC),
		NOCTC:      t.Number("noct_c", noct),
	}
}

func controller(t *tomlfile.Table, open inside) Controller {
	volts := open.volts
	return Controller{
		Kind:           Kind(t.Word("kind", string(Series), string(Shunt), string(MPPT))),
		RatedA:         t.Number("rated_a", ratedA),
		AbsorbV:        t.Number("absorb_v", volts),
		FloatV:         t.Number("float_v", volts),
		CompMVPerCCell: t.Number("comp_mv_per_c_cell", comp),
		CutV:           t.Number("cut_v", volts),
		RestoreV:       t.Number("restore_v", volts),
		OwnUseMA:       t.Number("own_use_ma", ownUse),
		InputV:         t.NumberOr("input_v", inputV, 0),
		LoadOutput:     open.known && !t.Has("load_output") || t.Bool("load_output"),
		Lamps:          lamps(t.Tables("lamp"), ofController, volts),
	}
}

func battery(t *tomlfile.Table, open inside) Battery {
	b := Battery{
		Chemistry:     Chemistry(t.Word("chemistry", string(Flooded), string(AGM), string(Gel), string(LFP))),
		CapacityAh:    t.Number("capacity_ah", capacity),
		Blocks:        t.Count("blocks", 1, maxBlocks),
		CellsPerBlock: t.Count("cells_per_block", 1, maxBlocks),
		FuseA:         t.NumberOr("fuse_a", fuse, 0),
		CableM:        open.length(t, insideM),
		CableMM2:      open.area(t, insideMM2),
		Installed:     installed(t),
		EqualiseV:     t.NumberOr("equalise_v", systemV, 0),
	}
	if t.Has("strings") {
		b.Strings = t.Count("strings", 1, maxStrings)
	}
	if t.Has("equalise_days") {
		b.EqualiseDays = t.Count("equalise_days", 1, maxDays)
	}
	return b
}

func inverter(t *tomlfile.Table) *Inverter {
	return &Inverter{
		RatedW:     t.Number("rated_w", inverterW),
		IdleW:      t.Number("idle_w", idlePower),
		Efficiency: t.Number("efficiency", efficiency),
		CutV:       t.Number("cut_v", systemV),
		RestoreV:   t.Number("restore_v", systemV),
		From:       Source(t.Word("from", string(FromBattery), string(FromOutput))),
		FuseA:      t.NumberOr("fuse_a", fuse, 0),
		CableM:     t.Number("cable_m", cableLength),
		CableMM2:   t.Number("cable_mm2", cableArea),
		Lamps:      lamps(t.Tables("lamp"), ofInverter, systemV),
	}
}

func charger(t *tomlfile.Table) *Charger {
	c := &Charger{
		RatedA:  t.Number("rated_a", ratedA),
		AbsorbV: t.Number("absorb_v", systemV),
		FloatV:  t.Number("float_v", systemV),
	}
	if t.Has("source") && t.Word("source", "mains", string(FromArray)) == string(FromArray) {
		c.Source = FromArray
	}
	return c
}

func earthing(t *tomlfile.Table) Pole {
	return Pole(t.Word("pole", string(PoleNone), string(PolePlus), string(PoleMinus), string(PoleUnknown)))
}

func loads(ts []*tomlfile.Table) []Load {
	var all []Load
	labels := distinct{}
	for _, t := range ts {
		l := Load{
			Label:       labels.text(t, "label"),
			PowerW:      t.Number("power_w", loadPower),
			HoursPerDay: t.Number("hours_per_day", loadHours),
			Priority:    t.Count("priority", 1, maxPriority),
		}
		if t.Has("used") {
			l.Used = TimeOfUse(t.Word("used", string(ByDay), string(Evening)))
		}
		if t.Has("from") {
			l.From = Source(t.Word("from", string(FromOutput), string(FromBattery), string(FromInverter)))
		}
		if t.Has("kind") {
			if l.Kind = LoadKind(t.Word("kind", "steady", string(Cycling), string(Unsteady))); l.Kind == "steady" {
				l.Kind = Steady
			}
		}
		all = append(all, l)
	}
	return all
}

func loadWiring(top *tomlfile.Table, open inside) LoadWiring {
	if open.known && !top.Has("load_wiring") {
		return LoadWiring{CableM: leadM, CableMM2: leadMM2}
	}
	t := top.Table("load_wiring")
	return LoadWiring{
		FuseA:    t.NumberOr("fuse_a", fuse, 0),
		CableM:   open.length(t, leadM),
		CableMM2: open.area(t, leadMM2),
	}
}

// An inside is what need not be told of what nobody can see.
type inside struct {
	volts tomlfile.Range // of the system
	known bool           // the wires inside are as kits have them
}

var asParts, closed = inside{volts: systemV}, inside{volts: kitV, known: true}

// Wires of a closed kit, which no file needs to tell: inside it, and the leads of its lamps
// (common practice).
const (
	insideM, insideMM2 = 0.15, 1.0
	leadM, leadMM2     = 1.0, 1.0 // each lamp has a lead of its own: they share the current
)

func (i inside) length(t *tomlfile.Table, usual float64) float64 {
	return i.number(t, "cable_m", cableLength, usual)
}

func (i inside) area(t *tomlfile.Table, usual float64) float64 {
	return i.number(t, "cable_mm2", cableArea, usual)
}

func (i inside) number(t *tomlfile.Table, key string, in tomlfile.Range, usual float64) float64 {
	if i.known {
		return t.NumberOr(key, in, usual)
	}
	return t.Number(key, in)
}

func kit(t *tomlfile.Table) *Kit {
	k := &Kit{Locks: t.Has("locks") && t.Bool("locks")}
	if t.Has("usb") {
		k.USB = t.Count("usb", 1, maxUSB)
	}
	return k
}

var yearMonth = regexp.MustCompile(`^(19|20)\d\d-(0[1-9]|1[0-2])$`)

func installed(t *tomlfile.Table) string {
	s := t.TextIfAny("installed")
	if s != "" && !yearMonth.MatchString(s) {
		t.Report("installed", words().YearMonth, s)
	}
	return s
}
