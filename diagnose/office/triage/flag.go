package triage

import (
	_ "embed"
	"slices"
	"strings"
	"sync"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// A Kind is a reason why a visit needs a supervisor's eyes.
type Kind string

// The kinds; words.toml says how much each weighs and how it is told.
const (
	Isolated    Kind = "isolated"    // something was left open
	Precaution  Kind = "precaution"  // a precaution was not confirmed
	Uncertain   Kind = "uncertain"   // the readings do not decide what it is
	Unconcluded Kind = "unconcluded" // the visit ended and kept no conclusion
	Suspect     Kind = "suspect"     // a reading that is probably wrong was kept
	Late        Kind = "late"        // answers were changed long after they were given
	Fast        Kind = "fast"        // readings follow each other faster than anyone measures
	Differs     Kind = "differs"     // looked at again, the same answers lead to something else
	Clock       Kind = "clock"       // the machine's clock was wrong
	Overdue     Kind = "overdue"     // work that it left to be done was due before today
)

// A Flag is one such reason.
type Flag struct {
	Kind Kind
	What []string // ids of steps or readings, or words of the visit, as they stand in it
	P    float64  // of the leading condition, for Uncertain and Differs
	By   string   `json:",omitempty"` // who looked at it again, and when, for Differs
}

// Level is how much it weighs, 1 to 3.
func (f Flag) Level() int { return words().Flag[f.Kind].Level }

// Text is the reason in one sentence, safe to show.
func (f Flag) Text() string {
	title := func(w string) string { return w }
	switch f.Kind {
	case Precaution, Late, Fast:
		title = procedure.StepTitle
	case Clock:
		title = func(w string) string { return words().Clock[w] }
	case Suspect:
		title = func(w string) string { return procedure.TitleOf(reading.Key(w)) }
	}
	what := make([]string, len(f.What))
	for i, w := range f.What {
		what[i] = plaintext.Clean(title(w))
	}
	return strings.NewReplacer("{what}", strings.Join(what, "; "), "{percent}", quantity.Percent(f.P), "{by}", plaintext.Clean(f.By)).Replace(words().Flag[f.Kind].Text)
}

// When an answer is late, and when readings are too fast (judgement).
const (
	lateAfter  = 20 * time.Minute // from the first answer to a step to the change of it
	fastWithin = 4 * time.Second  // to set the meter, probe, read and type
	fastFrom   = 3                // readings, one of which may be a slip of the thumb
	sureFrom   = 0.8              // of the leading condition
)

// flags are the reasons why a visit needs attention, the most urgent first.
func flags(entries []visiting.Entry, d *Digest, now time.Time) []Flag {
	var list []Flag
	add := func(k Kind, what []string) {
		if len(what) > 0 {
			list = append(list, Flag{Kind: k, What: what})
		}
	}
	if c := d.Conclusion; c != nil {
		add(Isolated, c.NotBack)
		add(Precaution, c.Skipped)
		if l := c.Leader(); l.ID != "" && l.Probability < sureFrom {
			list = append(list, Flag{Kind: Uncertain, What: []string{condition.Of(l.ID).Title}, P: float64(l.Probability)})
		}
		var wrong []string
		for _, s := range c.Suspect {
			wrong = append(wrong, string(s.Reading))
		}
		add(Suspect, wrong)
	} else if d.Finished {
		list = append(list, Flag{Kind: Unconcluded})
	}
	add(Clock, clock(entries, now))
	late, fast := pace(entries)
	add(Late, late)
	if len(fast) >= fastFrom {
		add(Fast, fast)
	}
	return Sorted(list)
}

// pace finds the steps whose answers were changed late, and the readings that
// followed on the answer before faster than they can be taken.
func pace(entries []visiting.Entry) (late, fast []string) {
	first := map[string]time.Time{}
	var before time.Time
	for _, e := range entries {
		a := e.Answer
		if a == nil || a.Kind == visiting.Note {
			continue
		}
		given, again := first[a.Step]
		if !again {
			first[a.Step] = a.At
		}
		if again && !a.Repeats && !a.Again && a.At.Sub(given) >= lateAfter && !slices.Contains(late, a.Step) {
			late = append(late, a.Step)
		}
		if a.Kind == visiting.Took && a.Number != nil && !before.IsZero() && a.At.Sub(before) < fastWithin {
			fast = append(fast, a.Step)
		}
		before = a.At
	}
	return late, fast
}

// What no right clock shows, as the flag has it; words.toml tells it.
const (
	ahead = "ahead" // later than now
	old   = "old"   // before there was such a program
	back  = "back"  // earlier than what was done before
)

// How far a clock may be out without being called wrong (judgement).
const (
	aheadBy = 24 * time.Hour   // a zone that was set wrong, and some
	backBy  = 10 * time.Minute // a clock that was set right on the way
)

// firstDay is years before any visit that this program led.
var firstDay = time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)

// LastRight is the latest time that a clock which is not wrong may show now.
func LastRight(now time.Time) time.Time { return now.Add(aheadBy) }

// clock finds what the times of a visit say of the clock.
func clock(entries []visiting.Entry, now time.Time) (wrong []string) {
	found := map[string]bool{}
	var before time.Time
	for i, e := range entries {
		at := before
		switch {
		case e.Head != nil:
			at = e.Head.StartedAt
		case e.Answer != nil:
			at = e.Answer.At
		}
		found[ahead] = found[ahead] || at.After(LastRight(now))
		found[old] = found[old] || at.Before(firstDay)
		found[back] = found[back] || i > 0 && at.Before(before.Add(-backBy))
		before = at
	}
	for _, w := range []string{ahead, old, back} {
		if found[w] {
			wrong = append(wrong, w)
		}
	}
	return wrong
}

//go:embed words.toml
var wordsTOML string

// words are this room's texts.
var words = sync.OnceValue(func() (w struct {
	Flag map[Kind]struct {
		Level int
		Text  string
	}
	Clock   map[string]string
	Measure map[Quantity]struct{ Title, Unit string }
}) {
	if err := datafile.Decode("diagnose/office/triage/words.toml", []byte(wordsTOML), &w); err != nil {
		panic(err.Error()) // the file is part of the program
	}
	return w
})
