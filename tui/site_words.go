package tui

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
)

//go:embed site.toml
var siteFile []byte

// siteWordList is site.toml.
type siteWordList struct {
	FileUnwritten string `toml:"file_unwritten"`

	Describe struct{ Title, Question, Kept, Copied, Incomplete, Agrees, Anyway string }
	Said     map[string]string
	State    struct {
		Left, Wrong, Complete, Assumed, Described, None string
		IsWrong                                         string `toml:"is_wrong"`
		IsAssumed                                       string `toml:"is_assumed"`
		IsLeft                                          string `toml:"is_left"`
	}
	Label struct {
		Note, Where, Against, Empty, Usual string
		SoFar                              string `toml:"so_far"`
	}
	Naming struct {
		New, Copy, Ask, Hint string
		NothingTyped         string `toml:"nothing_typed"`
	}
	Path struct {
		Title, Ask, Hint string
		NothingTyped     string `toml:"nothing_typed"`
	}
	Wrong struct{ Title, Advice string }
	About struct {
		Equipment, Installed string
		Loads                datafile.Plural
		LastVisit            string `toml:"last_visit"`
		NoVisit              string `toml:"no_visit"`
		By                   string
		NotFinished          string `toml:"not_finished"`
		Finished, Found      string
		Repaired             string
		NotBack              string `toml:"not_back"`
		Open, Action         string
		NoAction             string `toml:"no_action"`
		Advised, Assumed     string
		Rests, Remark        string
	}
}

var siteWords = sync.OnceValue(func() siteWordList { return datafile.Read[siteWordList]("tui/site.toml", siteFile) })
