package plain

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

// A wordList is words.toml.
type wordList struct {
	Taken, Noted, Problem, Doubt, Answer            string
	Found, Belief, Standing, Up, Down, State, Ahead string
	Together, Picture, Settles                      string

	Sheet, Step, Given, Once, Caution, Purpose, Do, Meter, Probes, Clamp, Place, Who, Minutes, Before, Expected, Normal, Choice string
	Needs, Changes, Skip, Codes, Source                                                                                         string

	Why, Surprise, Shows, If, Reason string
	Past                             string
	Commands, Command                string

	Comment    string
	CameHome   string `toml:"came_home"`
	AnswerHome string `toml:"answer_home"`
	StepOf     string `toml:"step_of"`
	NothingYet string `toml:"nothing_yet"`
	PastNote   string `toml:"past_note"`
	WhyCannot  string `toml:"why_cannot"`
	WhyStop    string `toml:"why_stop"`
	WhatNote   string `toml:"what_note"`
	ToRepair   string `toml:"to_repair"`
	Unkept     string
	LongLine   string `toml:"long_line"`
	OpenNow    string `toml:"open_now"`
	StillOpen  string `toml:"still_open"`
	Danger     string

	Help []struct{ Name, Does string }

	Practice struct{ Begin, Ask, Answer, Action, Left string }
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("tui/plain/words.toml", wordsFile) })
