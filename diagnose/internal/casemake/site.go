package main

// The site file of a case, as shared with the program only by its written format.

type siteFile struct {
	Name      string     `toml:"name"`
	NominalV  int        `toml:"nominal_v"`
	Place     place      `toml:"place"`
	Array     array      `toml:"array"`
	Control   controller `toml:"controller"`
	Battery   battery    `toml:"battery"`
	Loads     []load     `toml:"load"`
	Wiring    wiring     `toml:"load_wiring"`
	Inverter  *inverter  `toml:"inverter,omitempty"`
	Charger   *charger   `toml:"charger,omitempty"`
	Earthing  *earthing  `toml:"earthing,omitempty"`
	parts     bool       // with what section 6 of the formats adds
	shortTest bool       // the short-circuit test is allowed
}

type place struct {
	Latitude  float64 `toml:"latitude_deg"`
	Longitude float64 `toml:"longitude_deg"`
	UTCOffset float64 `toml:"utc_offset_h"`
	Tilt      float64 `toml:"tilt_deg"`
	Bearing   float64 `toml:"bearing_deg"`
}

type array struct {
	Series    int     `toml:"series"`
	Strings   int     `toml:"strings"`
	FuseA     float64 `toml:"fuse_a,omitempty"`
	CableM    float64 `toml:"cable_m"`
	CableMM2  float64 `toml:"cable_mm2"`
	Installed string  `toml:"installed,omitempty"`
	Module    label   `toml:"module"`
}

// A label is a module's nameplate, at standard test conditions.
type label struct {
	Pmp       float64 `toml:"pmp_w"`
	Vmp       float64 `toml:"vmp_v"`
	Imp       float64 `toml:"imp_a"`
	Voc       float64 `toml:"voc_v"`
	Isc       float64 `toml:"isc_a"`
	Cells     int     `toml:"cells"`
	Bypass    int     `toml:"bypass"`
	IscPctPer float64 `toml:"isc_pct_per_c"`
	VocPctPer float64 `toml:"voc_pct_per_c"`
	NOCT      float64 `toml:"noct_c"`
}

const (
	seriesKind = "series"
	shuntKind  = "shunt"
	mpptKind   = "mppt"

	flooded = "flooded"
	agm     = "agm"
	gel     = "gel"
	lfp     = "lfp"

	fromOutput   = "load-output"
	fromBattery  = "battery"
	fromInverter = "inverter"
)

type controller struct {
	Kind     string  `toml:"kind"`
	RatedA   float64 `toml:"rated_a"`
	AbsorbV  float64 `toml:"absorb_v"`
	FloatV   float64 `toml:"float_v"`
	CompMV   float64 `toml:"comp_mv_per_c_cell"`
	CutV     float64 `toml:"cut_v"`
	RestoreV float64 `toml:"restore_v"`
	OwnUseMA float64 `toml:"own_use_ma"`
	Output   bool    `toml:"load_output"`
	Lamps    []lamp  `toml:"lamp,omitempty"`
}

type lamp struct {
	Label string `toml:"label"`
	Looks []look `toml:"look"`
}

type look struct {
	Look    string   `toml:"look"`
	Means   []string `toml:"means"`
	Volts   float64  `toml:"volts,omitempty"`
	VoltsTo float64  `toml:"volts_to,omitempty"`
}

type battery struct {
	Chemistry    string  `toml:"chemistry"`
	CapacityAh   float64 `toml:"capacity_ah"`
	Blocks       int     `toml:"blocks"`
	CellsEach    int     `toml:"cells_per_block"`
	FuseA        float64 `toml:"fuse_a,omitempty"`
	CableM       float64 `toml:"cable_m"`
	CableMM2     float64 `toml:"cable_mm2"`
	Installed    string  `toml:"installed,omitempty"`
	Strings      int     `toml:"strings,omitempty"`
	EqualiseV    float64 `toml:"equalise_v,omitempty"`
	EqualiseDays int     `toml:"equalise_days,omitempty"`
}

type load struct {
	Label    string  `toml:"label"`
	PowerW   float64 `toml:"power_w"`
	Hours    float64 `toml:"hours_per_day"`
	Priority int     `toml:"priority"`
	From     string  `toml:"from,omitempty"`
	Kind     string  `toml:"kind,omitempty"`
}

type wiring struct {
	FuseA    float64 `toml:"fuse_a,omitempty"`
	CableM   float64 `toml:"cable_m"`
	CableMM2 float64 `toml:"cable_mm2"`
}

type inverter struct {
	RatedW     float64 `toml:"rated_w"`
	IdleW      float64 `toml:"idle_w"`
	Efficiency float64 `toml:"efficiency"`
	CutV       float64 `toml:"cut_v"`
	RestoreV   float64 `toml:"restore_v"`
	From       string  `toml:"from"`
	FuseA      float64 `toml:"fuse_a"`
	CableM     float64 `toml:"cable_m"`
	CableMM2   float64 `toml:"cable_mm2"`
	Lamps      []lamp  `toml:"lamp,omitempty"`
}

type charger struct {
	RatedA  float64 `toml:"rated_a"`
	AbsorbV float64 `toml:"absorb_v"`
	FloatV  float64 `toml:"float_v"`
}

type earthing struct {
	Pole string `toml:"pole"`
}

// twelves is how many times 12 V the site has.
func (s *siteFile) twelves() float64 { return float64(s.NominalV) / 12 }

func (s *siteFile) leadAcid() bool { return s.Battery.Chemistry != lfp }

// cells in series in a battery string.
func (s *siteFile) cells() int { return s.Battery.Blocks * s.Battery.CellsEach }

// strings of the battery in parallel.
func (s *siteFile) batteryStrings() int { return max(s.Battery.Strings, 1) }

// source is where a load is wired to.
func (s *siteFile) source(l load) string {
	switch {
	case l.From != "":
		return l.From
	case s.Control.Output:
		return fromOutput
	default:
		return fromBattery
	}
}

// onMain reports whether a load hangs on the circuit that load_a measures.
func (s *siteFile) onMain(l load) bool {
	if s.Control.Output {
		return s.source(l) == fromOutput
	}
	return s.source(l) == fromBattery
}

// mainW is what the labels say of all loads on that circuit.
func (s *siteFile) mainW() (watts float64) {
	for _, l := range s.Loads {
		if s.onMain(l) {
			watts += l.PowerW
		}
	}
	return watts
}
