package ledger

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	NotAside         string `toml:"not_aside"`
	NotOpened        string `toml:"not_opened"`
	Newer            string
	Older            string
	NotALedger       string `toml:"not_a_ledger"`
	Corrupt          string
	ReadOnly         string `toml:"read_only"`
	CannotOpen       string `toml:"cannot_open"`
	Full             string
	Overtaken        string
	TooLarge         string `toml:"too_large"`
	Stays            string
	Empty            string
	NoVisit          string `toml:"no_visit"`
	OtherReviews     string `toml:"other_reviews"`
	OtherVisit       string `toml:"other_visit"`
	AsideNotOpened   string `toml:"aside_not_opened"`
	GoneOn           string `toml:"gone_on"`
	ReviewedFirst    string `toml:"reviewed_first"`
	Refused          string
	InLedger         string `toml:"in_ledger"`
	DamagedRow       string `toml:"damaged_row"`
	NoSuchVisit      string `toml:"no_such_visit"`
	JournalNotOpened string `toml:"journal_not_opened"`
	JournalInLedger  string `toml:"journal_in_ledger"`
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/office/ledger/words.toml", wordsFile) })
