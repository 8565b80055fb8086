package tui

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

// wordList is words.toml.
type wordList struct {
	Do           map[doing]string
	HelpPractice []string `toml:"help_practice"`
	HelpDesk     []string `toml:"help_desk"`

	Help     []string
	HelpSite []string `toml:"help_site"`

	NoShell  string `toml:"no_shell"`
	Labelled string
}

var wordsOf = sync.OnceValue(func() wordList { return datafile.Read[wordList]("tui/words.toml", wordsFile) })
