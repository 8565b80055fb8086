package main

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Wrong struct {
		ClassAndWho          string `toml:"class_and_who"`
		Lesson               string
		SheetLevel           string `toml:"sheet_level"`
		SheetCount           string `toml:"sheet_count"`
		SheetSeed            string `toml:"sheet_seed"`
		SheetFolder          string `toml:"sheet_folder"`
		NoVisit              string `toml:"no_visit"`
		NoSuchVisit          string `toml:"no_such_visit"`
		TooMany              string `toml:"too_many"`
		DidYouMean           string `toml:"did_you_mean"`
		NoCommandOf          string `toml:"no_command_of"`
		NoCommand            string `toml:"no_command"`
		Whole                string
		NoValue              string `toml:"no_value"`
		NoFlag               string `toml:"no_flag"`
		Shell                string
		NoSiteName           string `toml:"no_site_name"`
		NoSite               string `toml:"no_site"`
		NoReadings           string `toml:"no_readings"`
		NoWho                string `toml:"no_who"`
		KeyThere             string `toml:"key_there"`
		NotTheSame           string `toml:"not_the_same"`
		TooShort             string `toml:"too_short"`
		NoTerminal           string `toml:"no_terminal"`
		NoLedger             string `toml:"no_ledger"`
		ScenarioAlone        string `toml:"scenario_alone"`
		Level                string
		NoScenario           string `toml:"no_scenario"`
		Solvable             string
		NotSolvable          string `toml:"not_solvable"`
		Count                string
		ReviewsOrLedger      string `toml:"reviews_or_ledger"`
		SiteAndResume        string `toml:"site_and_resume"`
		InstrumentsAndResume string `toml:"instruments_and_resume"`
		DepthAndResume       string `toml:"depth_and_resume"`
		QuickAndCallOut      string `toml:"quick_and_call_out"`
		ReadingsAndVisit     string `toml:"readings_and_visit"`
		NoLoad               string `toml:"no_load"`
		NoLoads              string `toml:"no_loads"`
		Modules              string
		ModulesBy            string `toml:"modules_by"`
		Positive             string
		FileThere            string `toml:"file_there"`
		FilesThere           string `toml:"files_there"`
		NoSuchSite           string `toml:"no_such_site"`
	}
	Failed struct {
		Empty        string
		OtherReviews string `toml:"other_reviews"`
		NoBackup     string `toml:"no_backup"`
		HalfLedger   string `toml:"half_ledger"`
		HandIn       string `toml:"hand_in"`
		NotAll       string `toml:"not_all"`
		Broken       string
		Result       string
		Settings     string
		NotVerified  string `toml:"not_verified"`
		Summary      string
		Reviews      string
		Interrupted  string
	}
	Visit struct {
		SoFar       string          `toml:"so_far"`
		OthersOpen  datafile.Plural `toml:"others_open"`
		Answers     datafile.Plural
		AnotherOpen string `toml:"another_open"`
		NotPutBack  string `toml:"not_put_back"`
		Demo        string
		Start       string
		Broken      string
		Open        string
		PutBack     string `toml:"put_back"`
		Resume      string
		Print       string
		Working     string
		None        string
		NotRead     string `toml:"not_read"`
	}
	Visits struct {
		Visit, Site, Last, Depth, Found, Open, By string // heads of the columns
		Depths                                    map[string]string
		Actions                                   datafile.Plural
		Finished, Finding, Nothing, Due           string
		NotFinished                               string `toml:"not_finished"`
		NotBack                                   string `toml:"not_back"`
		EndDamaged                                string `toml:"end_damaged"`
	}
	Import struct {
		New     string
		Further string
		Same    string
		Older   string
		Reviews string
	}
	HandIn struct {
		NotReadFor     string `toml:"not_read_for"`
		QuarantinedFor string `toml:"quarantined_for"`
		New            string
		Further        string
		Ignored        string
		Tally          string
		SetAside       string `toml:"set_aside"`
		Waiting        string
		LeftAlone      string `toml:"left_alone"`
		NotRead        string `toml:"not_read"`
	} `toml:"hand_in"`
	Site struct {
		AskName string `toml:"ask_name"`
		Good    string
		Assumed string
	}
	Key struct {
		Again         string
		Lines         string
		Opens         string
		Readable      string
		NewPassphrase string `toml:"new_passphrase"`
	}
	Practice struct {
		Readings      datafile.Plural
		Bench         string
		Scenario      string
		Settles       string
		Course        string
		EnterBegins   string `toml:"enter_begins"`
		Kept          string
		None          string
		Line          string
		NotMet        string `toml:"not_met"`
		Family        string
		Standing      string
		Next          string
		NoName        string          `toml:"no_name"`
		NothingWrong  string          `toml:"nothing_wrong"`
		WrongReadings datafile.Plural `toml:"wrong_readings"`
		Right         string
		NotRight      string `toml:"not_right"`
		Good          string
		NotCounted    string `toml:"not_counted"`
		Drawing       string
		AnswersRight  string `toml:"answers_right"`
	}
	Review struct {
		DoesNotCount string `toml:"does_not_count"`
		NotChecked   string `toml:"not_checked"`
		Analysed     datafile.Plural
	}
	Verify struct {
		Reviews     string
		Journal     string
		Verified    string
		LineEnds    string `toml:"line_ends"`
		Visit       string
		Head        string
		NoNames     string `toml:"no_names"`
		Signed      string
		NotValid    string `toml:"not_valid"`
		By          string
		Step        string
		NotSigned   string `toml:"not_signed"`
		NotAccepted string `toml:"not_accepted"`
		GoneOn      string `toml:"gone_on"`
	}
	Man struct {
		Changed     string
		Revision    string
		FromSource  string `toml:"from_source"`
		Written     string
		Name        string
		Synopsis    string
		Description string
		Options     string
		Example     string
		SeeAlso     string `toml:"see_also"`
	}
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("cmd/ampwalk/words.toml", wordsFile) })
