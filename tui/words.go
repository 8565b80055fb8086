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
	Help         []string
	HelpSite     []string `toml:"help_site"`
	HelpPractice []string `toml:"help_practice"`
	HelpDesk     []string `toml:"help_desk"`
	HelpQuiz     []string `toml:"help_quiz"`

	Working     string
	Problem     string
	ProblemLine string `toml:"problem_line"`
	Check       string
	None        string
	NoneYet     string `toml:"none_yet"`
	NoShell     string `toml:"no_shell"`
	NoState     string `toml:"no_state"`

	Theme struct {
		Unsaved string
		Named   map[string]string
	}
	Small struct {
		Size        string
		BeginLines  string `toml:"begin_lines"`
		ByLine      string `toml:"by_line"`
		NothingLost string `toml:"nothing_lost"`
	}
	Scroll struct {
		Below, Both, Above string
		ListAbove          string `toml:"list_above"`
		ListBelow          string `toml:"list_below"`
		NoneMarked         string `toml:"none_marked"`
		Marked             string
	}
	Start struct {
		About, Continue, Begin, Other    string
		Answers, Actions                 datafile.Plural
		Damaged, Demo, Incomplete, Wrong string
		FromVisits                       string `toml:"from_visits"`
		LastVisit                        string `toml:"last_visit"`
		NotFinished                      string `toml:"not_finished"`
		NotBack                          string `toml:"not_back"`
		NoAction                         string `toml:"no_action"`
		NotPutBack                       string `toml:"not_put_back"`
	}
	Standard struct{ Title, Settle string }
	Who      struct{ Ask, Hint string }
	Summary  struct{ Title, Written, And, Unwritten, Printing string }
	Practice struct{ Head, Ask, First, Type string }
}

var wordsOf = sync.OnceValue(func() wordList { return datafile.Read[wordList]("tui/words.toml", wordsFile) })

//go:embed keys.toml
var keysFile []byte

// keyWords is keys.toml: what keys do and the titles of groups of them, by their ids.
var keyWords = sync.OnceValue(func() (list struct{ Key, Group map[string]string }) {
	return datafile.Read[struct{ Key, Group map[string]string }]("tui/keys.toml", keysFile)
})
