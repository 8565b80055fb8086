package review

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Incomplete   string
	Version      string
	Unreadable   string
	Damaged      string
	Torn         string
	Others       string
	Doubt        string
	OtherVisit   string `toml:"other_visit"`
	OtherJournal string `toml:"other_journal"`
	Missing      struct {
		Visit string
		Who   string
		When  string
		Text  string
		Found string
	}
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/office/review/words.toml", wordsFile) })
