package quantity

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Expected string
	NotKnown string `toml:"not_known"`
	Without  string
	In       string
	Say      struct {
		Percent, Below, Above string
		Hours, Days           datafile.Plural
	}
	Example map[string]string
	Err     struct {
		Empty     string
		NotNumber string `toml:"not_number"`
		Letter    string
		Separator string
		Ambiguous string
		Several   string
		Unit      string
		TooLarge  string `toml:"too_large"`
	}
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/physics/quantity/words.toml", wordsFile) })
