package visiting

import (
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// An Inferrer is the inference that a visit is led by; belief.Infer is one.
type Inferrer func(belief.Input) (*belief.Result, error)

// A Head is what a visit starts from. The site travels inside the visit as
// the text of its file.
type Head struct {
	ID          string                                `json:"id"`
	SiteName    string                                `json:"site_name"`
	SiteTOML    string                                `json:"site_toml"`
	Who         string                                `json:"who,omitempty"`
	StartedAt   time.Time                             `json:"started_at"`
	Depth       Depth                                 `json:"depth,omitempty"`
	Instruments map[reading.Meter]quantity.Instrument `json:"instruments,omitempty"` // nil: reading.DefaultInstruments
	Earlier     *Earlier                              `json:"earlier,omitempty"`     // nil: nothing is known of the site
}

// An Entry is one thing that a journal keeps: exactly one of its fields is set.
type Entry struct {
	Head       *Head       `json:"head,omitempty"`
	Answer     *Answer     `json:"answer,omitempty"`
	End        *End        `json:"end,omitempty"`
	Conclusion *Conclusion `json:"conclusion,omitempty"`
}

// An End follows the answer that left nothing to do. A later correction may
// open the visit again.
type End struct {
	At time.Time `json:"at"`
}

// A Journal keeps each entry durably before Append returns.
type Journal interface {
	Append(Entry) error
}

// An AnswerKind says how a step was answered.
type AnswerKind string

// The kinds of answer.
const (
	Took   AnswerKind = "took"   // a reading, a word or a choice
	Did    AnswerKind = "did"    // a confirmation or action done
	Cannot AnswerKind = "cannot" // with a reason
	Note   AnswerKind = "note"   // free words on a step; answers nothing
	Stop   AnswerKind = "stop"   // a stop rule or the wish to end; leads to putting back
)

// An Answer is one entry of a visit; a later answer to the same step replaces
// the earlier one and both stay in the journal.
type Answer struct {
	Step    string      `json:"step"`
	Kind    AnswerKind  `json:"kind"`
	Reading reading.Key `json:"reading,omitempty"`
	Typed   string      `json:"typed,omitempty"`  // as typed
	Number  *float64    `json:"number,omitempty"` // in the unit and with the sign of the readings file
	Word    string      `json:"word,omitempty"`
	List    []float64   `json:"list,omitempty"`
	Chosen  []string    `json:"chosen,omitempty"` // ids of the choices made, of the checks marked
	Labels  []string    `json:"labels,omitempty"` // their words as they were read
	About   string      `json:"about,omitempty"`  // the condition that agreed work is on
	Action  string      `json:"action,omitempty"` // the repair that the answer is about: "array-open/fuse"
	Doubted bool        `json:"doubted,omitempty"`
	Repeats bool        `json:"repeats,omitempty"` // to a reading asked for once more; the value before it stays, beside one taken
	Again   bool        `json:"again,omitempty"`   // the step was asked again: not a correction
	Why     string      `json:"why,omitempty"`     // for cannot and stop: the id of a reason that was offered
	Reason  string      `json:"reason,omitempty"`  // likewise, in words; the text of a note
	Held    bool        `json:"held,omitempty"`    // of an earlier visit, and said to be so still
	At      time.Time   `json:"at"`

	void bool // held, and said not to be so after all
}

// Choose makes the choices, or marks the checks.
func (a *Answer) Choose(list procedure.Choices) {
	a.Chosen, a.Labels = append([]string{}, list.IDs()...), append([]string{}, list.Texts()...)
}

// CannotFor is an answer to p that it cannot be done, for one of the reasons it offers,
// or in words of one's own.
func CannotFor(p Prompt, why procedure.Choice) Answer {
	return Answer{Step: p.Step.ID, Kind: Cannot, Reading: p.Step.Reading, Why: why.ID, Reason: why.Text, Repeats: p.Once}
}

// A Prompt is what the person is asked now.
type Prompt struct {
	Step     procedure.Step
	Spec     reading.Spec  // for Take
	Expected *belief.Range // for numbers, by the present belief
	Normal   string        // what is normal at this site now, a sentence
	AsFound  string        // what was read before anything was touched, to compare with
	Hint     string        // example of an answer, "13.1 or 13,1 V"
	Given    *Answer       // the present answer, when an earlier step is shown again
	Why      string        // why this step now, one sentence
	Action   string        // the repair that is asked about: "array-open/fuse"
	Once     bool          // it was taken, Given, and is asked for once more; both values are kept
	Done     bool          // nothing is left to do; Step is empty
}

// A Doubt says that a value lies outside what the site or the instrument could
// show. Asked once; [Visit.ReadAnyway] keeps the value as doubted.
type Doubt struct {
	Typed  string
	Reason string // one sentence: what is doubtful and what is plausible
}

func (d *Doubt) Error() string { return d.Reason }

// ErrNoTime says that an answer came without the time it was given at.
var ErrNoTime = datafile.Error(func() string { return words().Problem.NoTime })

// A Visit is one visit under way. It is not safe for use by several
// goroutines; [Visit.Input] is what a goroutine may take away.
type Visit struct {
	head    Head
	site    *site.Site
	course  *procedure.Procedure
	journal Journal

	history       []Answer // every answer and note, as given
	state         procedure.State
	readings      *reading.Set
	latest        *belief.Result
	before        *belief.Result
	asFoundBelief *belief.Result // in the plant as found, once something was mended

	concluded int // Seq of the last conclusion, or when the visit was taken up again
}
