package scenarios

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

// wordList is words.toml.
type wordList struct {
	Problem    problemWords
	Impossible struct {
		StringOpen     string `toml:"string_open"`
		BypassShort    string `toml:"bypass_short"`
		LoadOutputOpen string `toml:"load_output_open"`
		BatteryOff     string `toml:"battery_off"`
		Loads          string
		Float          string
		FloatEmpty     string `toml:"float_empty"`
		Cut            string
		OneBlock       string `toml:"one_block"`
		OneString      string `toml:"one_string"`
		NoAcid         string `toml:"no_acid"`
		Kit            string
		Locked         string
		Inverter       string
		Charger        string
		Earthing       string
	}
	Generated struct {
		Title string
		Story map[string]string
		Learn string
		Hints []string
	}
	Session struct {
		Zeroed, Meter, Shows, Asked, Worn, Clock, Open, Resting, Conditions, Commands, Unsafe, Question, Believed, Fits, Implied, Together, Hint string

		Standing, Sure, Likely string
		CannotTell             string            `toml:"cannot_tell"`
		TellsState             map[string]string `toml:"tells_state"`

		ClampRange   string `toml:"clamp_range"`
		MeterRange   string `toml:"meter_range"`
		LoadsOn      string `toml:"loads_on"`
		LoadsOff     string `toml:"loads_off"`
		NothingOpen  string `toml:"nothing_open"`
		ArrayOpen    string `toml:"array_open"`
		ArrayShorted string `toml:"array_shorted"`
		ArrayFuse    string `toml:"array_fuse"`
		ByHand       string `toml:"by_hand"`
		BatteryFuse  string `toml:"battery_fuse"`
		LoadFuse     string `toml:"load_fuse"`
		NewMoment    string `toml:"new_moment"`
		NothingRead  string `toml:"nothing_read"`
		IsOver       string `toml:"is_over"`
		AnswerFirst  string `toml:"answer_first"`
		QuestionHow  string `toml:"question_how"`
		TellsFor     string `toml:"tells_for"`
		TellsLittle  string `toml:"tells_little"`
		GoodAnswer   string `toml:"good_answer"`
		BadAnswer    string `toml:"bad_answer"`
		AgainstIt    string `toml:"against_it"`
		ForIt        string `toml:"for_it"`
		NoMoreHints  string `toml:"no_more_hints"`
		NoNext       string `toml:"no_next"`
		WhatToDo     string `toml:"what_to_do"`
		ToldNow      string `toml:"told_now"`
		BelieveFirst string `toml:"believe_first"`
		InverterOn   string `toml:"inverter_on"`
		InverterOff  string `toml:"inverter_off"`
		ChargerOn    string `toml:"charger_on"`
		ChargerOff   string `toml:"charger_off"`
	}
	Debrief struct {
		Head, Truth, Named, Right, Wrong, Action, Score, Safety, Findings, Economy, Method, Hints, Total, Breach, Replay, Before, After, Tells, Next, Same, Question, Better, Picture, After0, Learn string

		Informed datafile.Plural

		State, Stands, Real string

		ByReadings string `toml:"by_readings"`

		ActionRight string `toml:"action_right"`
		ActionWrong string `toml:"action_wrong"`
		InformedEnd string `toml:"informed_end"`
	}
	Guided struct {
		Look, Loads, Turned, Exchanged, Decimal, Function, Off, Caught, Claimed, Ready, Test, Passed, Nothing string

		NotPassed string `toml:"not_passed"`
		CameTo    string `toml:"came_to"`
		NotZeroed string `toml:"not_zeroed"`
		NotTaken  string `toml:"not_taken"`
	}
	Menu struct {
		Look, Probe, Meter, Clamp, Others, Ready, Switch, Wait, Believe, Ask, Name, Data, Hint, History, Conditions, Light, Warm, Acid, Outputs, Wear, Pair, Red, Range, Function, Socket, Zero, Turned, Loads, And string

		Minutes datafile.Plural

		Arrow map[string]string

		NameAnew    string `toml:"name_anew"`
		TwoPoints   string `toml:"two_points"`
		AskPeople   string `toml:"ask_people"`
		LoadsNone   string `toml:"loads_none"`
		LoadsFound  string `toml:"loads_found"`
		LoadsAll    string `toml:"loads_all"`
		LoadOnly    string `toml:"load_only"`
		ArrayOpen   string `toml:"array_open"`
		ArrayClose  string `toml:"array_close"`
		FuseOut     string `toml:"fuse_out"`
		FuseIn      string `toml:"fuse_in"`
		ShortOn     string `toml:"short_on"`
		ShortOff    string `toml:"short_off"`
		Shade       string
		ShadeOn     string `toml:"shade_on"`
		ShadeOff    string `toml:"shade_off"`
		InverterOn  string `toml:"inverter_on"`
		InverterOff string `toml:"inverter_off"`
		ChargerOn   string `toml:"charger_on"`
		ChargerOff  string `toml:"charger_off"`
		OnlyThis    string `toml:"only_this"`
	}
	Check struct {
		Clear, Doubt, Unsolved datafile.Plural
		Others, Spent, Told    string

		NoMore   string `toml:"no_more"`
		NoEffect string `toml:"no_effect"`
	}
	Help []struct{ Type, Does string }
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("scenarios/words.toml", wordsFile) })

type problemWords struct {
	NotUnderstood string `toml:"not_understood"`
	NothingTyped  string `toml:"nothing_typed"`
	NoCommand     string `toml:"no_command"`
	OneOf         string `toml:"one_of"`
	NoFuse        string `toml:"no_fuse"`
	MeterRange    string `toml:"meter_range"`
	ClampRange    string `toml:"clamp_range"`
	Turned        string
	Loads         string
	NoLoad        string `toml:"no_load"`
	Minutes       string
	Module        string
	Conditions    string
	Twice         string
	NameFirst     string `toml:"name_first"`
	Number        string
	Percentage    string
	NoQuestion    string `toml:"no_question"`
	NoAnswer      string `toml:"no_answer"`
	NoCondition   string `toml:"no_condition"`
	Pairs         string
	Sum           string
	NoPercentage  string `toml:"no_percentage"`
	NoSite        string `toml:"no_site"`
	CannotBeSeen  string `toml:"cannot_be_seen"`
	NoEnd         string `toml:"no_end"`
	NoPart        string `toml:"no_part"`
	File          struct {
		ClearSky      string `toml:"clear_sky"`
		Hints         string
		Faults        string
		Site          string
		TrueAt        string `toml:"true_at"`
		TrueAtCharge  string `toml:"true_at_charge"`
		LoadTwice     string `toml:"load_twice"`
		NoLoad        string `toml:"no_load"`
		Healthy       string
		FaultTwice    string `toml:"fault_twice"`
		Impossible    string
		Way           string
		NoSeverity    string `toml:"no_severity"`
		NoSecond      string `toml:"no_second"`
		NoLamp        string `toml:"no_lamp"`
		NoLook        string `toml:"no_look"`
		NoReading     string `toml:"no_reading"`
		NotMisleading string `toml:"not_misleading"`
		InverterOff   string `toml:"inverter_off"`
	}
	Players struct {
		Head      string
		Player    string
		Named     string
		Quadratic string
		Score     string
		Readings  string
	}
}
