package tui

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed visit.toml
var visitFile []byte

// leaving is what is asked where something under way is left.
type leaving struct{ Title, Text string }

// visitWordList is visit.toml.
type visitWordList struct {
	Ahead         string
	NoBelief      string `toml:"no_belief"`
	CanBe         string `toml:"can_be"`
	CanBeChanged  string `toml:"can_be_changed"`
	FoundChanged  string `toml:"found_changed"`
	SystemNow     string `toml:"system_now"`
	State         string
	Together      string
	Why           string
	Notes         string
	Answers       string
	AnswersSoFar  string `toml:"answers_so_far"`
	MoreAnswers   string `toml:"more_answers"`
	RestF4        string `toml:"rest_f4"`
	RestF6        string `toml:"rest_f6"`
	By            string
	Practice      string
	WiringOf      string `toml:"wiring_of"`
	Count         string
	OnceMore      string `toml:"once_more"`
	Again         string
	Noted         string
	ToRepair      string `toml:"to_repair"`
	NotPutBack    string `toml:"not_put_back"`
	AboutMinutes  string `toml:"about_minutes"`
	AnswerNow     string `toml:"answer_now"`
	TakenBefore   string `toml:"taken_before"`
	Type          string
	ReadAtBench   string `toml:"read_at_bench"`
	TypedOver     string `toml:"typed_over"`
	Unusual       string
	NotYet        string `toml:"not_yet"`
	Expected      string
	Unexpected    string
	Doubt         string
	NothingMarked string `toml:"nothing_marked"`
	NothingChosen string `toml:"nothing_chosen"`
	NothingTyped  string `toml:"nothing_typed"`

	Label struct {
		Do, Meter, Expected, Clamp, Probes, Place string
		AsFound                                   string `toml:"as_found"`
		Normal, Surprise                          string
		WhyNow                                    string `toml:"why_now"`
		Purpose, Caution, Comment, Open, Damaged  string
		Noted, Who, Time, Needs, Changes, Skip    string
		Codes, Source, Now, Doubtful              string
	}
	Weight struct{ Little, For, Against, Somewhat, Clearly, Strongly string }
	WhatIf struct {
		Title, Ask, Type  string
		NothingKnown      string `toml:"nothing_known"`
		If                string
		NotInferred       string `toml:"not_inferred"`
		Shows, Curve      string
		EachReading       string `toml:"each_reading"`
		NoReading         string `toml:"no_reading"`
		Compared, Suspect string
	} `toml:"what_if"`
	Note struct {
		Title, Hint, Saved string
		NothingTyped       string `toml:"nothing_typed"`
	}
	Reason  struct{ Cannot, Stop, Stopping string }
	Leaving struct {
		Title, Still, Advice, Labelled string
		Visit, Site, Case              leaving
	}
	Home  struct{ Title, Answer string }
	Bench struct {
		Title   string
		NotHere string `toml:"not_here"`
	}
}

var visitWords = sync.OnceValue(func() visitWordList { return datafile.Read[visitWordList]("tui/visit.toml", visitFile) })
