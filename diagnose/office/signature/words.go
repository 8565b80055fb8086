package signature

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Passphrase    string
	NoPassphrase  string `toml:"no_passphrase"`
	Key           string
	Signature     string
	ExpectedKey   string `toml:"expected_key"`
	Until         string
	Reason        string
	KeyTwice      string `toml:"key_twice"`
	Unknown       string
	OtherName     string `toml:"other_name"`
	NotYet        string `toml:"not_yet"`
	NoLonger      string `toml:"no_longer"`
	Revoked       string
	RevokedBefore string `toml:"revoked_before"`
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/office/signature/words.toml", wordsFile) })
