package procedure

import (
	_ "embed"
	"fmt"
	"slices"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

//go:embed steps.toml
var stepsTOML []byte

//go:embed dangers.toml
var dangersTOML []byte

// A catalogue is steps.toml: every step of every site, its texts as templates
// over [facts].
type catalogue struct {
	Whys      whys                      `toml:"why"`
	Skips     skips                     `toml:"skip"`
	Flags     map[Flag]string           `toml:"flag"`
	Limits    map[string]string         `toml:"limit"`
	Chemistry map[site.Chemistry]string `toml:"chemistry"`
	Parts     map[string]string         `toml:"part"`
	SeenTitle string                    `toml:"seen_title"`
	Rungs     []rungData                `toml:"rung"`
	Sheets    []Sheet                   `toml:"sheet"`
	Dangers   []dangerData              `toml:"danger"`
	Steps     []stepData                `toml:"step"`
}

// whys say in one sentence why a step comes now; {for} is the step it leads to.
type whys struct {
	Before       string `toml:"before"`
	Always       string `toml:"always"`
	Confirm      string `toml:"confirm"`
	Setup        string `toml:"setup"`
	First        string `toml:"first"`
	Take         string `toml:"take"`
	Undo         string `toml:"undo"`
	Restore      string `toml:"restore"`
	Check        string `toml:"check"`
	Stopped      string `toml:"stopped"`
	Danger       string `toml:"danger"`
	Emergency    string `toml:"emergency"`
	Aim          string `toml:"aim"`
	Leave        string `toml:"leave"`
	Ended        string `toml:"ended"`
	NoReason     string `toml:"no_reason"`
	NoInstrument string `toml:"no_instrument"`
	Skipped      string `toml:"skipped"`
	Unproven     string `toml:"unproven"`
	NoLonger     string `toml:"no_longer"`
}

// skips say who may leave a step out, and what follows.
type skips struct {
	Confirm string `toml:"confirm"`
	Take    string `toml:"take"`
	Act     string `toml:"act"`
	Restore string `toml:"restore"`
	Leave   string `toml:"leave"`
}

func (s skips) of(d stepData) string {
	switch {
	case d.Rung == Leave:
		return s.Leave
	case d.Rung == Restore || len(d.undone()) > 0:
		return s.Restore
	case d.Kind == Confirm:
		return s.Confirm
	case d.Kind == Act:
		return s.Act
	default:
		return s.Take
	}
}

type rungData struct {
	Name    Rung    `toml:"name"`
	Title   string  `toml:"title"`
	Codes   string  `toml:"codes"`
	Reasons Choices `toml:"reasons"`
}

// A stepData is one [[step]].
type stepData struct {
	ID        string              `toml:"id"`
	Rung      Rung                `toml:"rung"`
	Sheet     string              `toml:"sheet"` // id of the sheet that it is asked on
	Kind      Kind                `toml:"kind"`
	Reading   reading.Key         `toml:"reading"`
	If        []string            `toml:"if"`       // what the site must have, see siteHas
	Unless    []string            `toml:"unless"`   // what the site must not have
	Touches   circuit             `toml:"touches"`  // left out where its voltage is above the limit
	Each      string              `toml:"each"`     // "lamp", "inverter-lamp": one step per lamp
	Notes     reading.Key         `toml:"notes"`    // of a Choose: the reading that it makes
	LeftOut   []string            `toml:"left_out"` // depths of visit that leave it out
	Begins    []string            `toml:"begins"`   // depths of visit that begin with it
	Holds     Hold                `toml:"holds"`
	When      when                `toml:"when"`  // asked only then
	Opens     []string            `toml:"opens"` // rungs and steps that need this confirmation
	Requires  []Flag              `toml:"requires"`
	Forbids   []Flag              `toml:"forbids"`
	Sets      []Flag              `toml:"sets"`
	Clears    []Flag              `toml:"clears"`
	Good      string              `toml:"good"`
	Choices   []option            `toml:"choices"`
	Checks    Choices             `toml:"checks"`  // all must hold
	Renews    []string            `toml:"renews"`  // steps that are asked again, if needed, once this is done
	Compare   []reading.Key       `toml:"compare"` // readings as found to compare with
	Place     placeName           `toml:"place"`
	Normal    string              `toml:"normal"` // {range} is the computed range
	Source    string              `toml:"source"`
	First     []string            `toml:"first"`
	After     []string            `toml:"after"`
	Always    bool                `toml:"always"`
	Skips     map[string][]string `toml:"skips"`   // word to steps not asked after it
	Lacking   []string            `toml:"lacking"` // steps not asked where there is no instrument for this one
	Words     map[string][]Flag   `toml:"words"`   // word to what it sets; any other word clears that
	Dark      bool                `toml:"dark"`    // an array without light need not be isolated for it
	Repairs   string              `toml:"mends"`   // the part whose repairs it asks about
	Stops     bool                `toml:"stops"`
	StopAbove float64             `toml:"stop_above"`
	StopText  string              `toml:"stop_text"`
	Minutes   float64             `toml:"minutes"`
	Title     string              `toml:"title"`
	Purpose   string              `toml:"purpose"`
	Do        string              `toml:"do"`
	Meter     string              `toml:"meter"`
	Probes    string              `toml:"probes"`
	Surprise  string              `toml:"surprise"`
	Caution   string              `toml:"caution"`
	Who       string              `toml:"who"`
	Red       string              `toml:"red"`
	Black     string              `toml:"black"`
	Clamp     string              `toml:"clamp"`

	base string // the id in steps.toml of a step for each node
}

// A when is a moment that a step waits for.
type when string

const (
	anytime     when = ""
	stopped     when = "stopped"      // the probing was ended
	stoppedOpen when = "stopped-open" // it was, and something is open
	left        when = "left"         // something stays open
	probed      when = "probed"       // a reading was taken with probes
	measuring   when = "measuring"    // the probing was not ended
	byVisit     when = "by-visit"     // the visit itself asks, by what is believed
	danger      when = "danger"       // it makes a danger safe; see dangers.toml
	emergency   when = "emergency"    // a danger ended the probing, and its card was not read
)

// A placeName is where a step is done; between places one walks.
type placeName string

// embedded is steps.toml, read once. A mistake in it is the programmer's.
var embedded = sync.OnceValue(func() catalogue {
	c, err := parseCatalogue(stepsTOML, dangersTOML)
	if err != nil {
		panic(fmt.Sprintf("procedure: steps.toml, dangers.toml: %v", err))
	}
	return c
})

func parseCatalogue(texts ...[]byte) (catalogue, error) {
	var c catalogue
	for _, text := range texts {
		if err := datafile.Decode("diagnose/field/procedure", text, &c); err != nil {
			return c, err
		}
	}
	for _, s := range c.Steps {
		for _, list := range [][]Flag{s.Requires, s.Forbids, s.Sets, s.Clears} {
			for _, f := range list {
				if !slices.Contains(flags, f) {
					return c, fmt.Errorf("step %s: flag %q unknown", s.ID, f)
				}
			}
		}
	}
	return c, nil
}
