package site

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	SystemVoltage     string `toml:"system_voltage"`
	KitVoltage        string `toml:"kit_voltage"`
	KitNeeded         string `toml:"kit_needed"`
	KitOutput         string `toml:"kit_output"`
	KitBeside         string `toml:"kit_beside"`
	KitFlooded        string `toml:"kit_flooded"`
	KitStrings        string `toml:"kit_strings"`
	UtcOffset         string `toml:"utc_offset"`
	VmpAboveVoc       string `toml:"vmp_above_voc"`
	ImpAboveIsc       string `toml:"imp_above_isc"`
	Power             string
	FillFactor        string `toml:"fill_factor"`
	VocPerCell        string `toml:"voc_per_cell"`
	Bypass            string
	Series            string
	Cells             string
	FloatAboveAbsorb  string `toml:"float_above_absorb"`
	RestoreBelowCut   string `toml:"restore_below_cut"`
	RestoreAboveFloat string `toml:"restore_above_float"`
	SetPoint          string `toml:"set_point"`
	NoLook            string `toml:"no_look"`
	Opposites         string
	NoVolts           string `toml:"no_volts"`
	NeedlessVolts     string `toml:"needless_volts"`
	VoltsWith         string `toml:"volts_with"`
	VoltsTo           string `toml:"volts_to"`
	Twice             string
	SunHours          datafile.Plural `toml:"sun_hours"`
	YearMonth         string          `toml:"year_month"`
	NoOutput          string          `toml:"no_output"`
	NoInverter        string          `toml:"no_inverter"`
	InverterCut       string          `toml:"inverter_cut"`
	NoEqualise        string          `toml:"no_equalise"`
	EqualiseLFP       string          `toml:"equalise_lfp"`
	EqualiseBelow     string          `toml:"equalise_below"`
	Unit              struct {
		Latitude      string
		Longitude     string
		HoursADay     string `toml:"hours_a_day"`
		Fuse          string
		IscPerC       string `toml:"isc_per_c"`
		VocPerC       string `toml:"voc_per_c"`
		Compensation  string
		TimesAsCommon string `toml:"times_as_common"`
	}
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/physics/site/words.toml", wordsFile) })
