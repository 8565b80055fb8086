package desk

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	UnderWay          string `toml:"under_way"`
	NoStep            string `toml:"no_step"`
	NoFilter          string `toml:"no_filter"`
	NoOrder           string `toml:"no_order"`
	NoDay             string `toml:"no_day"`
	SeveralConditions string `toml:"several_conditions"`
	NoCondition       string `toml:"no_condition"`
	NoName            string `toml:"no_name"`
	NoState           string `toml:"no_state"`
	Order             struct{ Urgent, Newest, Oldest, Due string }
	Again             struct {
		Unseen       datafile.Plural
		UnseenMany   string `toml:"unseen_many"`
		None         string
		ThisVersion  string `toml:"this_version"`
		OtherVersion string `toml:"other_version"`
		Problem      string
		NoConclusion string `toml:"no_conclusion"`
		Differs      string
		Same         string
	}
	Say struct {
		NoConclusion   string `toml:"no_conclusion"`
		Found          string
		NeedsAttention string `toml:"needs_attention"`
		ToDo           string `toml:"to_do"`
		By             string
		AgreedFor      string `toml:"agreed_for"`
		Due            string
		GoneOn         string `toml:"gone_on"`
		Overtaken      string
	}
	Row struct {
		Due      string
		Note     string
		On       string
		Named    string
		NotNamed string `toml:"not_named"`
		Practice datafile.Plural
		Quiz     string
		Unsafe   string
		Change   string
	}
	Filter struct {
		Forms     []string
		All       string
		Site      string
		Staff     string
		From      string
		Before    string
		Condition string
		Attention string
		Differs   string
	}
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/office/desk/words.toml", wordsFile) })
