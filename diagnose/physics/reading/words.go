package reading

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	NoInstrument    string `toml:"no_instrument"`
	Year            string
	NoLoad          string `toml:"no_load"`
	Twice           string
	NoDay           string          `toml:"no_day"`
	BesidePlusMinus string          `toml:"beside_plus_minus"`
	NoError         string          `toml:"no_error"`
	LeaveOut        string          `toml:"leave_out"`
	ListLength      datafile.Plural `toml:"list_length"`
	Cell            string
	Block           string
	String          string
	NoChoice        string `toml:"no_choice"`
	NoneBeside      string `toml:"none_beside"`
	NoInverter      string `toml:"no_inverter"`
	NoCharger       string `toml:"no_charger"`
	NoStrings       string `toml:"no_strings"`
	USB             string
	Closed          string
	NoKit           string `toml:"no_kit"`
	NoElectrolyte   string `toml:"no_electrolyte"`
	NoLoadOutput    string `toml:"no_load_output"`
	NoLamp          string `toml:"no_lamp"`
	HasValue        string `toml:"has_value"`
	NoSuchLamp      string `toml:"no_such_lamp"`
	InFull          string `toml:"in_full"`
	NoReading       string `toml:"no_reading"`
	NoneListed      string `toml:"none_listed"`
	OneOf           string `toml:"one_of"`
	Unusual         string
	Impossible      string
	Unit            struct {
		Percent    string
		Digits     string
		Resolution string
	}
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/physics/reading/words.toml", wordsFile) })
