package plain

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed desk.toml
var deskFile []byte

// deskWords is desk.toml.
type deskWords struct {
	List, None, Row, Reason, More, End, Top, Number string
	NoneLeft                                        string `toml:"none_left"`
	AskList                                         string `toml:"ask_list"`
	AskVisit                                        string `toml:"ask_visit"`

	Visit, Where, Finding, Said, Step, Comment, Diagnosis, Standing, State, Last, First, Trends string

	NothingSaid string `toml:"nothing_said"`
	NotInferred string `toml:"not_inferred"`
	NoTrends    string `toml:"no_trends"`

	WhatComment  string `toml:"what_comment"`
	WhatQuestion string `toml:"what_question"`
	NotAccepted  string `toml:"not_accepted"`
	NoStep       string `toml:"no_step"`
	NoCommand    string `toml:"no_command"`

	Unseen, Seen string
	LookedAt     string `toml:"looked_at"`
	HowMany      string `toml:"how_many"`

	Accepts, Sure, Signed, Problem, Practice, Names, Command string

	NoPractice    string     `toml:"no_practice"`
	MorePractice  string     `toml:"more_practice"`
	CommandsList  string     `toml:"commands_list"`
	CommandsVisit string     `toml:"commands_visit"`
	ListHelp      []helpLine `toml:"list_help"`
	VisitHelp     []helpLine `toml:"visit_help"`
}

type helpLine struct{ Name, Does string }

var wordsAtDesk = sync.OnceValue(func() deskWords { return datafile.Read[deskWords]("tui/plain/desk.toml", deskFile) })
