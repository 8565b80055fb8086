package summary

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/site"
)

//go:embed texts.toml
var textsFile []byte

type textList struct {
	Title   string
	Subject string
	Foot    string
	Heading struct {
		Danger  string
		AsFound string `toml:"as_found"`
		AsLeft  string `toml:"as_left"`

		Visit, Equipment, Found, State, Why, Do, Repair, Energy, Readings, Checks, Seen, Closed, Suspect, Missing, Notes, Open, Cautions, Signatures string
		Moment, Wiring, Curve, Steps, Charge, Trend, Twice, Unasked, Instruments, Outlook                                                            string
	}
	Fact struct {
		Site, By, Nobody, Taken, Begun, Last, Visit, Finished, Unfinished string

		System, Array, Controller, Battery, Loads, Assumed, On string

		NoneOn      string `toml:"none_on"`
		Fingerprint string
	}
	Moment     map[string]string
	Equipment  struct{ Array, Controller, Battery, Load string }
	Controller map[site.Kind]string
	Chemistry  map[site.Chemistry]string

	Table    struct{ Reading, Found, Expected, Bar, Verdict, Step, Seen, Before, After, Instrument, Limits, Calibrated string }
	Verdict  map[verdict]string
	Sentence struct {
		Decided, Together, Undecided, Others, Other, Separate string

		NothingFound  string `toml:"nothing_found"`
		NoBelief      string `toml:"no_belief"`
		NoName        string `toml:"no_name"`
		NotFound      string `toml:"not_found"`
		Who           string
		Proof         string
		Caution       string
		MayBeWrong    string `toml:"may_be_wrong"`
		Doubted       string
		Unusable      string
		NotBack       string `toml:"not_back"`
		NothingOpen   string `toml:"nothing_open"`
		StillOpen     string `toml:"still_open"`
		LeftOpen      string `toml:"left_open"`
		DecidedBy     string `toml:"decided_by"`
		Closed        string
		Stopped       string
		ByHand        string `toml:"by_hand"`
		When, Drawn   string
		Signs         string
		NotYet        string `toml:"not_yet"`
		NotWorth      string `toml:"not_worth"`
		AfterStop     string `toml:"after_stop"`
		MadeSafe      string `toml:"made_safe"`
		Thin, SeenToo string
		Place         string
	}
	Next struct {
		Do, Agreed string
		Depth      map[visiting.Depth]string // what the shorter ones are called
	}
	Repair map[visiting.RepairOutcome]string // by how it came out
	When   struct {
		Hours string
		Words map[condition.Urgency]string
	}
	Instrument struct {
		Names                   map[string]string
		Percent, Plain, Unknown string
	}
	Picture struct {
		Array, Controller, Battery, Loads, Open, Short, Rest, Step, Standby string

		Inverter, Charger, Strings, Beside, Earth, Parallel string
		Kit, USB, Lamps, Outputs, Evening, Ran, Second      string

		AtBattery string `toml:"at_battery"`
		AtOutput  string `toml:"at_output"`
		Pole      map[string]string

		CurveX    string `toml:"curve_x"`
		CurveY    string `toml:"curve_y"`
		CurveBest string `toml:"curve_best"`
		CurveNow  string `toml:"curve_now"`
		CurveSaid string `toml:"curve_said"`

		StepsX      string `toml:"steps_x"`
		Turn, Turns string
		NoTurn      string `toml:"no_turn"`
		After       string

		Charge, Trend string
		TrendSound    string `toml:"trend_sound"`
		TrendFault    string `toml:"trend_fault"`
		TrendOpen     string `toml:"trend_open"`
		TrendSaid     string `toml:"trend_said"`
	}
	Outlook struct {
		Title, Subject, Tried, Now, Tonight, Plan, Ahead, Year, Size, Help string

		Month, Sun, Yield, Need, Cut, Lowest, Case, Worst string // of the months
	}
	Caretaker struct {
		Title, Subject string
		Heading        struct {
			Danger                                                                string
			NotBack                                                               string `toml:"not_back"`
			Now, Works, Wrong, Repair, Unclear, Off, Weekly, Call, Never, Outlook string
		}

		Question   []plainQuestion
		Charge     string
		Lasts      string
		Sound      string
		NotSure    string `toml:"not_sure"`
		Help       string
		Yourself   string
		RepairHelp string `toml:"mend_help"`
		NotBack    string `toml:"not_back"`
		Agreed     string
		Next       string
		Off        string
		OffItem    string `toml:"off_item"`
		Weekly     []chemistryText
		Never      []chemistryText
		Call       []string
	}
	Signature struct{ Lines []string }
}

// A plainQuestion is about the state of the system, see belief.State.
type plainQuestion struct{ ID, Yes, No, Unsure string }

// A chemistryText is for batteries of some chemistries only, of all where none is named.
type chemistryText struct {
	Text        string
	Chemistries []site.Chemistry
}

var texts = sync.OnceValue(func() textList { return datafile.Read[textList]("diagnose/field/summary/texts.toml", textsFile) })
