package outlook

import (
	_ "embed"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/physics/condition"
)

//go:embed words.toml
var wordsFile []byte

// graded is what is said from a probability on, with that probability or, against, the rest.
type graded struct {
	From    float64
	Text    string
	Against bool
}

// wordList is the file of words.
type wordList struct {
	Lamps  []string
	Months []string
	And    string
	Clock  struct{ Near, Far string }
	Now    struct {
		Gives, Held, Dark, Takes, Spare, Lacks, Gains, Loses, Even, Load, Idle string

		LoadOn string `toml:"load_on"`
		Free   []graded
	}
	Tonight struct {
		From, Night, Unfed, Morning, Until, Long, Half, Takes, None, Alone, Sunrise string

		MorningLikely string `toml:"morning_likely"`
		MorningOrNot  string `toml:"morning_or_not"`
		UntilAlready  string `toml:"until_already"`
		HalfAlready   string `toml:"half_already"`
		HalfSoon      string `toml:"half_soon"`
		IfFed         string `toml:"if_fed"`
		OffBy         string `toml:"off_by"`
		OffNow        string `toml:"off_now"`
		OffNone       string `toml:"off_none"`
		OffAll        string `toml:"off_all"`
		OffOne        string `toml:"off_one"`
		HalfMorning   string `toml:"half_morning"`
		TakesNot      string `toml:"takes_not"`
		NoSun         string `toml:"no_sun"`
		NoCut         string `toml:"no_cut"`
	}
	Plan struct {
		Line, Array, Battery, Not, First, Unsure, Use, Evening, Noon, Always string

		NotRest  string `toml:"not_rest"`
		NoSun    string `toml:"no_sun"`
		AllHours string `toml:"all_hours"`
	}
	Fault map[condition.ID]string
	Ahead struct {
		Need, Week, Level, Apart, Cut, Worst, Depth, Life, Light, Guess string

		CutEmpty string `toml:"cut_empty"`
		NoLoads  string `toml:"no_loads"`
		NoHours  string `toml:"no_hours"`
		NoMonth  string `toml:"no_month"`
	}
	Small struct{ Sure, Likely, Array, Sun, Battery string }
	Check map[string]struct {
		Title, Rule, Source, Bad string
		Form                     string // of the value, scaled
		Value                    string // in its place where there is no figure
		Scale                    float64
	}
	Verdict struct{ Good, Bad, Look string }
	Help    map[string]string
	Helps   struct {
		Intro, Item, None string
		NoHelp            string `toml:"no_help"`
	}
	Paper struct {
		Tonight, Heavy, Year string

		HeavyNone string `toml:"heavy_none"`
		YearDark  string `toml:"year_dark"`
	}
}

var words = sync.OnceValue(func() *wordList {
	w := datafile.Read[wordList]("diagnose/inference/outlook/words.toml", wordsFile)
	return &w
})
