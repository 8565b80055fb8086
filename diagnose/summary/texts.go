package summary

import (
	"bytes"
	_ "embed"
	"sync"

	"github.com/pelletier/go-toml/v2"

	"ampwalk/diagnose/site"
)

//go:embed texts.toml
var textsFile []byte

type textList struct {
	Title   string
	Heading struct {
		Visit, Equipment, Found, State, Why, Do, Energy, Readings, Checks, Seen, Closed, Suspect, Missing, Notes, Open, Cautions, Signatures string
	}
	Fact struct {
		Site, By, Nobody, Taken, Begun, Last, Visit, Finished, Unfinished string

		System, Array, Controller, Battery, Loads, On string

		NoneOn string `toml:"none_on"`
	}
	Equipment  struct{ Array, Controller, Battery, Load string }
	Controller map[site.Kind]string
	Chemistry  map[site.Chemistry]string

	Table    struct{ Reading, Found, Expected, Verdict, Step, Answer, Seen string }
	Verdict  struct{ Expected, Surprising, Suspect, Noted string }
	Sentence struct {
		Decided, Together, Undecided, Others, Other, Separate string

		NothingFound string `toml:"nothing_found"`
		NoBelief     string `toml:"no_belief"`
		NotFound     string `toml:"not_found"`
		Who          string
		Proof        string
		Caution      string
		MayBeWrong   string `toml:"may_be_wrong"`
		Doubted      string
		NothingOpen  string `toml:"nothing_open"`
		StillOpen    string `toml:"still_open"`
		LeftOpen     string `toml:"left_open"`
		DecidedBy    string `toml:"decided_by"`
		Closed       string
		Stopped      string
		ByHand       string `toml:"by_hand"`
	}
	Signature struct{ Lines []string }
}

var texts = sync.OnceValue(func() textList {
	var t textList
	if err := toml.NewDecoder(bytes.NewReader(textsFile)).DisallowUnknownFields().Decode(&t); err != nil {
		panic("summary: texts.toml: " + err.Error()) // the file is part of the program
	}
	return t
})
