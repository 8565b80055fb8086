package visiting

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Problem    problemWords
	Likelihood []scaleWord
	Strength   []scaleWord
	Question   []question
	Answered   struct{ Sure, Unsure string }
	Dim        struct{ Sentence, Short string }
	Balance    struct {
		Elsewhere     string
		FromElsewhere string `toml:"from_elsewhere"`
	}
	Noted struct {
		None  string
		YesNo map[string]string `toml:"yes_no"`
	}
	Amount struct {
		Charge, Spare, Lasts string
		LastsLong            string `toml:"lasts_long"`
		ShortCharge          string `toml:"short_charge"`
	}
	Why struct {
		Plain, Agree, Outside, Together string
		Point, Shown                    string
		WithRange                       string `toml:"with_range"`
		AgainstSound                    string `toml:"against_sound"`
		ForLeader                       string `toml:"for_leader"`
	}
	Repair   struct{ Ask, At, Proof string }
	DeadLoad struct {
		Do  string
		Who condition.Who
	} `toml:"dead_load"`
	Work struct {
		Why, Found, Seen, Hint, Nobody, Day string
		Days                                map[string]int // until the next visit, by the choices of its step
	}
	Finding string
	Earlier struct{ Why, Found, Answer string }

	QuickLeft string `toml:"quick_left"`
	QuickDone string `toml:"quick_done"`

	Left    struct{ Decided, Undecided string }
	Suspect struct {
		Form    string
		Mistake map[string]string // by the name of the slip, some also by "name-instrument"
		Slip    map[string]string // by the instrument
	}
}

// A scaleWord holds from From upwards to the next one.
type scaleWord struct {
	From float64
	Word string
}

type question struct {
	ID, Yes, No, Unsure string
	ShortYes            string `toml:"short_yes"`
	ShortNo             string `toml:"short_no"`
	ShortUnsure         string `toml:"short_unsure"`
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/field/visiting/words.toml", wordsFile) })

// wordFor is the word of the first step of scale, highest first, that x reaches.
func wordFor(scale []scaleWord, x float64) string {
	i := slices.IndexFunc(scale, func(s scaleWord) bool { return x >= s.From })
	if i < 0 {
		return ""
	}
	return scale[i].Word
}

// Likelihood is a probability in words, "almost certain" to "very unlikely".
func Likelihood(p float64) string { return wordFor(words().Likelihood, p) }

// A Standing is how one condition stands after the last answer.
type Standing struct {
	ID     condition.ID
	Title  string
	P      float64
	Change float64 // since the answer before; 0 at first
}

// Leading are the most probable conditions of r, at least one and at most n,
// without those below floor. The belief before, where there is one, gives the changes.
func Leading(r, before *belief.Result, n int, floor float64) []Standing {
	var list []Standing
	for i, p := range r.Conditions {
		if i > 0 && (i >= n || p.P < floor) {
			break
		}
		s := Standing{ID: p.ID, Title: condition.Of(p.ID).Title, P: p.P}
		if before != nil {
			s.Change = p.P - before.Of(p.ID)
		}
		list = append(list, s)
	}
	return list
}

// Told is the belief r as people are told it: nil before anything of the set was measured,
// when it would be what is common, not what was found.
func Told(r *belief.Result, set *reading.Set) *belief.Result {
	if set.Measured() == 0 {
		return nil
	}
	return r
}

// sureEnough is the probability from which a question about the state is
// answered yes, or no from the other side.
const sureEnough = 0.8

// askedOf lists the questions that the site can be asked, with the probability of yes.
func askedOf(s *site.Site, st belief.State) (list []question, p []float64) {
	yes := map[string]float64{
		"daylight": st.Daylight, "charging": st.Charging, "regulating": st.Regulating,
		"loads_cut": st.LoadsCut, "as_designed": st.AsDesigned,
	}
	for _, q := range words().Question {
		if q.ID == "loads_cut" && !s.Controller.LoadOutput {
			continue
		}
		list, p = append(list, q), append(p, yes[q.ID])
	}
	return list, p
}

// StateSentences says the state of the system in plain sentences, each with how
// likely it is.
func StateSentences(s *site.Site, r *belief.Result) []string {
	asked, p := askedOf(s, r.State)
	var list []string
	for i, q := range asked {
		list = append(list, q.answer(p[i]))
	}
	if r.TooDim() {
		list = append(list, fmt.Sprintf(words().Dim.Sentence, float64(belief.BrightFrom)))
	}
	return append(list, amounts(r.State)...)
}

// StateLine says the state of the system in one short sentence.
func StateLine(s *site.Site, r *belief.Result) string {
	asked, p := askedOf(s, r.State)
	var list []string
	for i, q := range asked {
		if text := q.short(p[i]); text != "" {
			list = append(list, text)
		}
	}
	if r.TooDim() {
		list = append(list, words().Dim.Short)
	}
	list = append(list, interval(words().Amount.ShortCharge, r.State.ChargeLevel, quantity.Share))
	return strings.Join(list, "; ")
}

func (q question) short(p float64) string {
	switch {
	case p >= sureEnough:
		return q.ShortYes
	case p <= 1-sureEnough:
		return q.ShortNo
	default:
		return q.ShortUnsure
	}
}

func (q question) answer(p float64) string {
	text := q.Unsure
	switch {
	case p >= sureEnough:
		text = q.Yes
	case p <= 1-sureEnough:
		text, p = q.No, 1-p
	default:
		return fmt.Sprintf(words().Answered.Unsure, text, quantity.Percent(p))
	}
	return fmt.Sprintf(words().Answered.Sure, text, Likelihood(p), quantity.Percent(p))
}

func amounts(st belief.State) []string {
	w := words().Amount
	list := []string{interval(w.Charge, st.ChargeLevel, quantity.Share)}
	if st.Regulating > 1-sureEnough && st.SpareW.P95 >= 1 {
		list = append(list, interval(w.Spare, st.SpareW, func(x float64) string { return fmt.Sprintf("%.0f W", x) }))
	}
	if h := st.HoursToCut; h.Mean > 0 && !math.IsInf(h.P95, 0) && !math.IsNaN(h.P95) {
		if h.P05 >= longest {
			list = append(list, w.LastsLong+".")
		} else {
			list = append(list, interval(w.Lasts, h, quantity.Hours))
		}
	}
	return list
}

// longest is the most that is reckoned with, see [plant.Plant.HoursToCut] [h].
const longest = 240

func interval(text string, in belief.Interval, say func(float64) string) string {
	return fmt.Sprintf(text, say(in.Mean), say(in.P05), say(in.P95)) + "."
}

type problemWords struct {
	NoConclusion string `toml:"no_conclusion"`
	NoHead       string `toml:"no_head"`
	NoStep       string `toml:"no_step"`
	NotKept      string `toml:"not_kept"`
	EndNotKept   string `toml:"end_not_kept"`
	NoName       string `toml:"no_name"`
	CheckEach    string `toml:"check_each"`
	CheckThis    string `toml:"check_this"`
	Unchecked    string
	HowMany      datafile.Plural `toml:"how_many"`
	Empty        string
	NoAnswer     string `toml:"no_answer"`
	Several      string
	SomeOf       string `toml:"some_of"`
	NoTime       string `toml:"no_time"`
	Hint         struct {
		Checks  string
		Number  string
		YesOrNo string `toml:"yes_or_no"`
		Choose  string
		Word    string
		List    string
	}
}
