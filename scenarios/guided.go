package scenarios

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

// Guided is a guided practice: the ordinary visit, with the bench in place of
// the plant. The trainee takes each reading at the bench and answers with it; a
// wrong reading is not kept but talked about. What a step has done is done at
// the bench when it is answered.
type Guided struct {
	*visiting.Visit
	bench   *Session
	who     string
	found   string // what was wrong with the answer last read
	caught  int
	right   int
	claimed int                  // readings that were never taken at the bench
	made    int                  // things made ready that a step asked for
	unmade  int                  // and those that were only said to be
	faults  []fault              // what is still wrong
	used    map[string]int       // how often a place was measured before its last answer
	real    map[reading.Key]bool // taken at the bench
	doubted map[string]bool      // steps at which a reading was talked about
	rows    []guidedRow
}

// NewGuided begins a guided practice of who.
func NewGuided(s *Scenario, who string, infer visiting.Inferrer) (*Guided, error) {
	session := NewSession(s, who, infer)
	session.guided = true
	v, err := visiting.New(visiting.Head{
		ID: s.ID, SiteTOML: string(s.SiteTOML), Who: who, StartedAt: s.At, Instruments: session.b.Instruments(),
	}, nowhere{})
	return &Guided{Visit: v, bench: session, who: who, doubted: map[string]bool{}, used: map[string]int{}, real: map[reading.Key]bool{}, faults: slices.Clone(s.truth)}, err
}

// Now is the time at the bench.
func (g *Guided) Now() time.Time { return g.bench.b.Now() }

// Scenario is what is practised.
func (g *Guided) Scenario() *Scenario { return g.bench.sc }

// Meters say how the multimeter and the clamp are set.
func (g *Guided) Meters() (multimeter, clamp string) {
	s := g.bench.State()
	return s[1], s[2]
}

// Bench is the site that is worked at.
func (g *Guided) Bench() *virtualsite.Bench { return g.bench.b }

// atBench are the commands that serve a guided practice: setting meters, reading
// them, looking.
var atBench = []string{"look", "meter", "probe", "zero", "range", "clamp", "light", "warm", "acid", "outputs", "state", "wear", "ask", "ready"}

// atTests are those that an active test needs besides.
var atTests = []string{"loads", "shade"}

// Measure does what was typed at the bench; done is false where it is nothing
// that is done there.
func (g *Guided) Measure(typed string) (lines []string, done bool) {
	word, _, _ := strings.Cut(strings.ToLower(strings.TrimSpace(typed)), " ")
	if word == "bench" {
		return benchHelp(), true
	}
	testing := activeTests[g.Visit.Prompt().Step.ID] != nil
	if !slices.Contains(atBench, word) && !(testing && slices.Contains(atTests, word)) {
		return nil, false
	}
	lines, err := g.bench.Do(typed)
	if err != nil {
		return []string{"Problem: " + err.Error() + "."}, true
	}
	return lines, true
}

func benchHelp() []string {
	lines := []string{words().Session.Commands}
	for _, h := range words().Help {
		for name := range strings.SplitSeq(h.Type, ";") {
			if f := strings.Fields(name); len(f) > 0 && slices.Contains(atBench, f[0]) {
				lines = append(lines, fmt.Sprintf("  %s: %s", h.Type, h.Does))
				break
			}
		}
	}
	return lines
}

// Read is [visiting.Visit.Read] with the bench at hand: an answer that a right
// measurement would hardly give is a [visiting.Doubt] that says what may have
// gone wrong. Who stays with it has it kept by [visiting.Visit.ReadAnyway].
func (g *Guided) Read(p visiting.Prompt, typed string) (visiting.Answer, error) {
	a, err := g.Visit.Read(p, typed)
	doubt := (*visiting.Doubt)(nil)
	if errors.As(err, &doubt) { // what the bench says of it comes first
		if sure, failed := g.Visit.ReadAnyway(p, typed); failed == nil {
			a = sure
		}
	} else if err != nil {
		return a, err
	}
	if g.found = g.wrong(a); g.found != "" {
		return a, &visiting.Doubt{Typed: typed, Reason: g.found}
	}
	return a, err
}

// Understand reads what is typed so far, without a word of whether it is right.
func (g *Guided) Understand(p visiting.Prompt, typed string) (visiting.Answer, error) {
	return g.Visit.Read(p, typed)
}

// Caught is told of a doubt that the trainee was shown. One that is the site's,
// not the bench's, catches nobody: a faulty plant has unusual readings.
func (g *Guided) Caught(step string) {
	if g.found == "" {
		return
	}
	g.caught++
	g.doubted[step] = true
}

// drift is by how much light and loads may have moved between reading and
// typing (judgement).
const drift = 0.03

// wrong says what is wrong with an answer, "" if nothing.
func (g *Guided) wrong(a visiting.Answer) string {
	if a.Step == loadsOnStep && a.Kind == visiting.Took && !g.bench.b.AreOn(a.Chosen) {
		return words().Guided.Loads
	}
	if a.Kind != visiting.Took || a.Reading == "" || a.Reading == reading.Minutes {
		return ""
	}
	t, b := words().Guided, g.bench.b
	if saw, ok := b.Sees(a.Reading); ok {
		if a.Word == saw {
			return ""
		}
		return t.Look
	}
	x, limit, ok := b.Right(a.Reading)
	if !ok || a.Number == nil {
		return ""
	}
	y := *a.Number
	near := func(v float64) bool { return math.Abs(v-x) <= 1.1*limit+drift*math.Abs(x)+0.02 }
	spec, _ := reading.SpecOf(a.Reading)
	switch {
	case near(y):
		return ""
	case near(-y) && spec.Meter == reading.Clamp:
		return t.Turned
	case near(-y):
		return t.Exchanged
	case spec.Meter == reading.Clamp && !b.Clamp().Zeroed:
		return t.NotZeroed
	case near(y / 10), near(y * 10), near(y / 1000), near(y * 1000):
		return t.Decimal
	case spec.Meter == reading.Voltmeter && b.Meter().Function != virtualsite.DCVolts:
		return t.Function
	case !g.took(a.Reading):
		return t.NotTaken
	}
	return t.Off
}

// Prompt is the question of the visit; where it asks for something to be made ready, it
// says how that is done at the bench.
func (g *Guided) Prompt() visiting.Prompt {
	p := g.Visit.Prompt()
	if activeTests[p.Step.ID] != nil {
		p.Step.Do = strings.TrimSpace(p.Step.Do + " " + words().Guided.Test)
	}
	if r := virtualsite.ReadyFor(p.Step.ID); r != "" && !g.bench.b.IsReady(r) {
		p.Step.Do = strings.TrimSpace(p.Step.Do + " " + fmt.Sprintf(words().Guided.Ready, r))
	}
	return p
}

// Give keeps an answer and does at the bench what the step asked for.
func (g *Guided) Give(a visiting.Answer) error {
	if err := g.Visit.Give(a); err != nil {
		return err
	}
	g.Given(a)
	return nil
}

// Given does at the bench what a step that was answered asked for.
func (g *Guided) Given(a visiting.Answer) {
	g.follow(a)
	g.count(a)
	g.mend(a)
	if step, ok := g.Visit.Procedure().Step(a.Step); ok {
		follow(g.bench.b, step, a)
	}
}

// count counts what was really done: a reading taken at the bench, something made ready
// there. What was only claimed counts against it.
func (g *Guided) count(a visiting.Answer) {
	b := g.bench.b
	defer func() { g.used[placeOf(a.Reading)] = b.Times(placeOf(a.Reading)) }()
	_, _, between := a.Reading.Node() // the bench has no places between two parts
	switch r := virtualsite.ReadyFor(a.Step); {
	case activeTests[a.Step] != nil && a.Kind == visiting.Did && a.Word == procedure.ActDone:
		// Before and after: the clamp was read twice at least, and what was changed is put back.
		wire := clampOf[a.Step]
		if g.bench.b.Times(wire)-g.used[wire] >= 2 && g.bench.b.Put() {
			g.made++
		} else {
			g.unmade++
		}
		g.used[wire] = g.bench.b.Times(wire)
	case r != "" && a.Kind == visiting.Did && b.IsReady(r):
		g.made++
	case r != "" && a.Kind == visiting.Did:
		g.unmade++
	case a.Kind != visiting.Took || a.Reading == "" || a.Reading == reading.Minutes || a.Reading == reading.Visit || between:
	case !g.took(a.Reading):
		g.claimed++
	default:
		g.real[a.Reading] = true
		if !g.doubted[a.Step] {
			g.right++
		}
	}
}

// took reports whether a reading was taken at the bench: as what it is called, or at its
// place since the last answer from there. At night a battery rests with the array
// connected, which the bench knows by another name.
func (g *Guided) took(k reading.Key) bool {
	return g.bench.b.Took(k) || g.bench.b.Times(placeOf(k)) > g.used[placeOf(k)]
}

// clampOf is the wire that each active test watches.
var clampOf = map[string]string{"test-load-up": "array-wire", "test-shade": "array-wire", "test-one-load": "load-wire"}

// placeOf is the pair of points or the wire at which a reading is taken, "" for another.
func placeOf(k reading.Key) string {
	if wire, ok := wireOf[k]; ok {
		return wire
	}
	return pairOf[k]
}

// mend does a repair at the bench: the right part changed takes its fault away, a wrong one
// leaves it.
func (g *Guided) mend(a visiting.Answer) {
	if a.Action == "" || a.Kind != visiting.Did || a.Word != procedure.ActDone || !strings.HasPrefix(a.Step, "mended") {
		return
	}
	left := slices.DeleteFunc(slices.Clone(g.faults), func(f fault) bool { return g.bench.sc.mends(f.id) == a.Action })
	if len(left) < len(g.faults) {
		g.faults = left
		g.bench.b.Mend(g.bench.sc.faulty(left))
	}
}

// mends is the action that takes a condition away in this scenario, by its key: which part
// is broken is drawn, the likelier ones more often.
func (s *Scenario) mends(id condition.ID) string {
	var list []condition.Action
	total := 0.0
	for _, a := range condition.OfSite(id, s.Site).ActionsFor(s.Site.Battery.Chemistry) {
		if a.Done != "" {
			list = append(list, a)
			total += a.Helps
		}
	}
	x := chance("mends "+string(id), s.seed).Float64() * total
	for _, a := range list {
		if x -= a.Helps; x < 0 {
			return string(id) + "/" + a.ID
		}
	}
	return ""
}

// faulty is what acts on the plant where only these faults are left.
func (s *Scenario) faulty(left []fault) plant.Fault {
	u := plant.Typical()
	for _, f := range left {
		condition.Disturb(f.id, s.Site, &u, f.a, f.b, f.way)
	}
	return u.Fault
}
