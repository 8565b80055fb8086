package conversation

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/procedure"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	NoReading   string `toml:"no_reading"`
	NotAReading string `toml:"not_a_reading"`
	First       string `toml:"first"`
	IfNumber    string `toml:"if_number"`
	NoAnswer    string `toml:"no_answer"`
	NoBelief    string `toml:"no_belief"`
	Stop        procedure.Choices
	Cannot      procedure.Choices
}

var words = sync.OnceValue(func() wordList {
	return datafile.Read[wordList]("diagnose/field/conversation/words.toml", wordsFile)
})

// A Problem is why something cannot be done now, in words for the person.
type Problem string

func (p Problem) Error() string { return string(p) }
