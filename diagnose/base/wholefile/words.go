package wholefile

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	NotRegular string `toml:"not_regular"`
	TooLarge   string `toml:"too_large"`
	Kilobytes  string
	Megabytes  string
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/base/wholefile/words.toml", wordsFile) })
