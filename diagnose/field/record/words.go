package record

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	NoDir          string `toml:"no_dir"`
	LookCloser     string `toml:"look_closer"`
	Locked         string
	Id             string
	Unreadable     string
	TooLong        string `toml:"too_long"`
	EmptyFile      string `toml:"empty_file"`
	NotWritten     string `toml:"not_written"`
	NotEmpty       string `toml:"not_empty"`
	NotKept        string `toml:"not_kept"`
	Differs        string
	Replaced       string
	NotBeside      string `toml:"not_beside"`
	Beside         string
	MoveAway       string `toml:"move_away"`
	Damaged        string
	KeptIn         string `toml:"kept_in"`
	LineUnreadable string `toml:"line_unreadable"`
	Torn           string
	Version        string
	SeveralBegin   string `toml:"several_begin"`
	Several        string
	Place          string
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/field/record/words.toml", wordsFile) })
