package tui

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed desk.toml
var deskFile []byte

// deskWordList is desk.toml.
type deskWordList struct {
	List struct {
		Title, Begun, Due, Site, State, Found, None, By string
		NoneLeft                                        string `toml:"none_left"`
		ByDue                                           string `toml:"by_due"`
		Names, Forms                                    string
	}
	Visit struct {
		Title, By       string
		NotInferred     string `toml:"not_inferred"`
		Analysing, Said string
		NothingSaid     string `toml:"nothing_said"`
		Steps           datafile.Plural
		Step, Comment   string
		Diagnosis       string
	}
	Sign struct {
		Comment         string
		SendBack        string `toml:"send_back"`
		Accept          string
		OnVisit         string `toml:"on_visit"`
		OnStep          string `toml:"on_step"`
		Accepts, More   string
		Passphrase      string
		Confirm, Signed string
		NothingTyped    string `toml:"nothing_typed"`
	}
	Trends  struct{ Title, None string }
	Results struct {
		Title string
		OfAll string `toml:"of_all"`
		Of    string
	}
}

var deskWords = sync.OnceValue(func() deskWordList { return datafile.Read[deskWordList]("tui/desk.toml", deskFile) })
