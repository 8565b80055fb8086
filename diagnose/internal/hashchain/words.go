package hashchain

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Changed string
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/internal/hashchain/words.toml", wordsFile) })
