package practicelog

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	BadLines string `toml:"bad_lines"`
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/office/practicelog/words.toml", wordsFile) })
