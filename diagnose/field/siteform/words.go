package siteform

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	NoTypical      string `toml:"no_typical"`
	IsThere        string `toml:"is_there"`
	IsThereAnother string `toml:"is_there_another"`
	Empty          string
	NoWholeNumber  string `toml:"no_whole_number"`
	NoChoice       string `toml:"no_choice"`
	NothingChosen  string `toml:"nothing_chosen"`
	Figures        string
	NoPair         string `toml:"no_pair"`
	NoRow          string `toml:"no_row"`
	Row            string
	Doubt          string
	Assumed, Usual string
	GiveOrTake     string `toml:"give_or_take"`
	HalfAYear      string `toml:"half_a_year"`
	First          string
	NoUndo         string `toml:"no_undo"`
	NotAssumed     string `toml:"not_assumed"`
	NoRemove       string `toml:"no_remove"`
	NoNumber       string `toml:"no_number"`
	YesOrNo        string `toml:"yes_or_no"`
	AllShown       string `toml:"all_shown"`
	Want           struct {
		Number   string
		NumberIn string `toml:"number_in"`
		Whole    string
		List     string
		Choice   string
		Words    string
		Month    string
		YesOrNo  string `toml:"yes_or_no"`
		Text     string
		Pair     string
		Rows     string
	}
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/field/siteform/words.toml", wordsFile) })
