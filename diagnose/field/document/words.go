package document

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Paper string
	NoPdf string `toml:"no_pdf"`
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/field/document/words.toml", wordsFile) })
