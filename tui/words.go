package tui

import (
	"bytes"
	_ "embed"
	"sync"

	"github.com/pelletier/go-toml/v2"

	"ampwalk/diagnose/procedure"
)

//go:embed words.toml
var wordsFile []byte

// wordList is words.toml.
type wordList struct {
	Stop         procedure.Choices
	Cannot       procedure.Choices
	Do           map[doing]string
	HelpPractice []string `toml:"help_practice"`
	HelpDesk     []string `toml:"help_desk"`

	Help     []string
	HelpSite []string `toml:"help_site"`

	NoShell string `toml:"no_shell"`
}

var wordsOf = sync.OnceValue(func() wordList {
	var w wordList
	if err := toml.NewDecoder(bytes.NewReader(wordsFile)).DisallowUnknownFields().Decode(&w); err != nil {
		panic("tui: words.toml: " + err.Error()) // the file is part of the program
	}
	return w
})
