package tomlfile

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Unreadable  string
	TooMany     string `toml:"too_many"`
	TooLong     string `toml:"too_long"`
	NoKey       string `toml:"no_key"`
	DidYouMean  string `toml:"did_you_mean"`
	OneKey      string `toml:"one_key"`
	UnknownKey  string `toml:"unknown_key"`
	Missing     string
	Expected    string
	WrongType   string `toml:"wrong_type"`
	NotUsable   string `toml:"not_usable"`
	OutOfRange  string `toml:"out_of_range"`
	Entry       string
	EntryHead   string `toml:"entry_head"`
	Empty       string
	NotPlain    string `toml:"not_plain"`
	NotKnown    string `toml:"not_known"`
	EmptyList   string `toml:"empty_list"`
	Twice       string
	ByHand      string `toml:"by_hand"`
	NotANumber  string `toml:"not_a_number"`
	NotWritable string `toml:"not_writable"`
	Type        struct {
		Text          string
		Whole         string
		Number        string
		List          string
		Table         string
		DateTime      string `toml:"date_time"`
		LocalDateTime string `toml:"local_date_time"`
		Date          string
		TimeOfDay     string `toml:"time_of_day"`
	}
	Want struct {
		Range      string
		Number     string
		Numbers    string
		Whole      string
		Bool       string
		Text       string
		QuotedText string `toml:"quoted_text"`
		Texts      string
		OrList     string `toml:"or_list"`
		Nothing    string
		Or         string
		Time       string
		Table      string
		Tables     string
	}
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/base/tomlfile/words.toml", wordsFile) })
