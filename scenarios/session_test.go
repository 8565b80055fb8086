package scenarios

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/exp/golden"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// cheap is a belief that knows nothing.
func cheap(in belief.Input) (*belief.Result, error) {
	r := &belief.Result{}
	for _, c := range condition.Applicable(in.Site) {
		r.Conditions = append(r.Conditions, belief.Posterior{ID: c.ID, P: c.Prior})
	}
	for _, s := range reading.Specs {
		if !in.Readings.Has(s.Key) {
			r.Gains = append(r.Gains, belief.Gain{Reading: s.Key, Bits: 1})
		}
	}
	return r, nil
}

// say does each line and gives all that was said.
func say(t *testing.T, s *Session, lines ...string) string {
	t.Helper()
	var out strings.Builder
	for _, l := range lines {
		said, err := s.Do(l)
		if err != nil {
			fmt.Fprintln(&out, "Problem:", err)
		}
		fmt.Fprintln(&out, strings.Join(said, "\n"))
	}
	return out.String()
}

func embeddedSession(t *testing.T, id string, infer func(belief.Input) (*belief.Result, error)) *Session {
	t.Helper()
	sc, ok := ByID(id)
	require.True(t, ok)
	return NewSession(sc, "A. Trainee", infer)
}

// answerStanding answers the standing questions that are open with their first answer.
func answerStanding(t *testing.T, s *Session) (out string) {
	t.Helper()
	for s.Questioned() {
		out += say(t, s, "1")
	}
	return out
}

func TestAWholeSession(t *testing.T) {
	if testing.Short() {
		t.Skip("some dozen inferences")
	}
	s := embeddedSession(t, "no-charge-since-storm", belief.Infer)
	out := say(t, s, "look array", "look controller", "look battery", "zero", "clamp array-wire", "meter dc-volts 20 V", "probe array", "believe array-joint 10 sound 90")
	assert.Contains(t, out, "Your readings make this unlikely: Everything works as designed")
	assert.Contains(t, out, "You gave a low percentage to what your readings support: The array circuit is open")
	out = say(t, s, "hint", "data", "meter dc-volts 200", "probe module")
	assert.Contains(t, out, "What does this show?")
	require.True(t, s.Questioned())
	out += say(t, s, "look loads", fmt.Sprint(s.question.right[0]+1), "believe array-open 95 battery-worn 5", "name array-open")
	require.True(t, s.Questioned(), "the standing questions come before the work")
	out += answerStanding(t, s)
	assert.Contains(t, out, "First answer the question.")
	assert.Contains(t, out, "Correct. Your readings show this.")
	assert.Contains(t, out, "Hint 1 of 3 (costs 2 points): Does any current come from the array?")
	assert.Contains(t, out, "The array circuit is open: ")
	assert.Contains(t, out, "What must be done first?")
	assert.Nil(t, s.Debrief())
	_, ended := s.Result(time.Time{})
	assert.False(t, ended)
	n := 0
	for i, a := range s.actions {
		if a.key == "array-open/close" {
			n = i + 1
		}
	}
	require.Positive(t, n)
	say(t, s, fmt.Sprint(n))
	d := s.Debrief()
	require.NotNil(t, d)
	out = strings.Join(d.Lines(78), "\n")
	assert.True(t, d.Right)
	assert.True(t, d.ActionRight)
	assert.Len(t, d.Rows, s.Readings())
	assert.Equal(t, 30., d.Score.Safety)
	assert.Greater(t, d.Score.Findings, 35.)
	assert.Equal(t, -2., d.Score.Hints)
	assert.Greater(t, d.Score.Total, 60.)
	for _, part := range []string{"What it was: The array circuit is open", "before:", "after:", "an informed order would have read here:", "The probabilities in percent", "  array-open ", "An informed order needed", "What to learn: In sun"} {
		assert.Contains(t, out, part)
	}
	r, ended := s.Result(s.sc.At)
	require.True(t, ended)
	line, err := r.JSONLine()
	require.NoError(t, err)
	back, err := practicelog.Read(bytes.NewReader(line))
	require.NoError(t, err)
	assert.Equal(t, "A. Trainee", back[0].Who)
	assert.Equal(t, r.Score, back[0].Score)
	assert.Contains(t, say(t, s, "look array"), "This case is closed.")
}

// Who wants to be told what the readings imply says first what it could be, and
// copying what was told is no finding.
func TestToldAfterOnesOwnBelief(t *testing.T) {
	s := embeddedSession(t, "morning-round", cheap)
	assert.Contains(t, say(t, s, "data"), "You have not read anything yet.")
	assert.Contains(t, say(t, s, "look array", "data"), "First give your estimate")
	out := say(t, s, "believe array-open 60", "data")
	assert.Contains(t, out, "What your readings imply so far:")
	assert.Contains(t, out, "counts only after one more reading")
	say(t, s, "believe sound 90", "data")
	assert.InDelta(t, 0.6, s.found()[condition.ArrayOpen], 1e-9)
	say(t, s, "look controller")
	assert.InDelta(t, 0.9, s.found()[condition.Sound], 1e-9)
}

// What is typed wrongly is refused with what is expected, and costs nothing.
func TestWrongCommands(t *testing.T) {
	s := embeddedSession(t, "morning-round", cheap)
	for typed, says := range map[string]string{
		"": "nothing was typed", "dance": `"dance"`, "look": "array, controller", "meter dc-volts 50": "2, 20, 200 or 600",
		"meter volts": "dc-volts", "meter dc-volts 20 B": "V, A", "probe here there": `"here"`, "clamp post+": "array-wire",
		"clamp array-wire round": "turned", "range 5": "20 or 200", "loads": "as-found", "loads 9": "from 1 to 3", "array up": "open, close",
		"fuse roof out": "battery", "fuse load": "out, in", "short": "on, off", "wait 0": "1 to 1440", "warm sun": "air",
		"believe sound": "pairs", "believe nothing 30": "not a condition", "believe sound 130": "0 to 100", "believe sound 80 array-open 60": "100 at most",
		"name": "one condition", "name sound sound": "twice", "do 1": "first name", "answer 1": "no question",
	} {
		_, err := s.Do(typed)
		assert.ErrorContains(t, err, says, typed)
	}
	assert.Zero(t, s.Readings())
	assert.Equal(t, s.sc.At, s.b.Now())
	assert.Empty(t, s.b.Breaches())
}

// Every command of the help is understood.
func TestHelpNamesTheCommands(t *testing.T) {
	text := strings.Join(help(), "\n")
	for name := range commands {
		if name == "do" || name == "answer" || name == "?" || name == "help" { // numbers do; help is at hand
			continue
		}
		assert.Contains(t, text, name)
	}
}

// quiet is a site at a moment at which some faults act on nothing: at night, and
// by day while the battery is far from full.
func quiet(night bool, truth ...fault) *Scenario {
	sc, _ := ByID("by-night")
	s := *sc
	if !night {
		s.At, s.charge = s.At.Add(-10*time.Hour), 0.3
	}
	s.ID, s.truth = "case", truth
	return &s
}

// quietFaults act on no reading there, by night or not: nothing is held back, and
// in the dark the array has nothing to give.
var quietFaults = map[bool][]condition.ID{
	false: {condition.SetPointHigh, condition.ChargePathStuck},
	true: {
		condition.SetPointHigh, condition.SetPointLow, condition.ChargePathStuck, condition.ArrayAged, condition.StringOpen, condition.BypassShort,
	},
}

var everything = []string{
	"look array", "look controller", "look battery", "look loads", "ask", "wear", "conditions", "state", "data",
	"zero", "clamp array-wire", "clamp battery-wire", "clamp load-wire turned", "clamp both-load-wires", "meter dc-volts 200 V",
	"probe array", "probe module", "probe post", "probe controller-battery", "probe load", "probe load-end", "probe post+ array+",
	"meter ac-volts 20", "probe array", "meter ohms", "probe post", "meter dc-volts 20", "light", "warm air", "warm module", "warm battery",
	"hint", "hint", "hint", "loads none", "array open", "clamp battery-wire turned", "probe array-side", "wait 40", "probe post", "acid", "data",
	"loads 1", "probe post", "clamp battery-wire turned", "loads none", "fuse battery out", "fuse battery in", "array close", "loads as-found",
	"wait 60", "look controller", "probe post", "believe sound 50 array-open 30", "history", "data", "name sound",
}

// Nothing that a trainee can see before the end leaks what is wrong: faults that
// act on no reading at the moment give the same session to the last letter. The
// belief is given the readings only, whichever it is.
// Hints are the only texts written for the answer; they are those of a generated
// scenario here.
func TestNothingLeaks(t *testing.T) {
	play := func(night bool, truth ...fault) string {
		s := quiet(night, truth...)
		s.hints = nil
		session := NewSession(s, "A", cheap)
		answered := func(l string) string {
			out := say(t, session, l)
			return out + answerStanding(t, session)
		}
		var out strings.Builder
		fmt.Fprintln(&out, s.Title, s.Story, s.Site.Name, s.At)
		for _, l := range everything {
			out.WriteString(answered(l))
			fmt.Fprintln(&out, session.State(), session.Menu())
		}
		return out.String()
	}
	for night, faults := range quietFaults {
		sound := play(night)
		assert.NotContains(t, sound, "Problem:")
		for _, id := range faults {
			assert.Equal(t, sound, play(night, fault{id, 1, 1, 0}), id)
		}
	}
}

// Nor does a guided practice: the wizard asks and says the same.
func TestGuideLeaksNothing(t *testing.T) {
	play := func(night bool, truth ...fault) string {
		g, err := NewGuided(quiet(night, truth...), "A", cheap)
		require.NoError(t, err)
		var out strings.Builder
		for range 200 {
			p := g.Prompt()
			if p.Done {
				break
			}
			a := answered(g.Bench(), g.Visit, p)
			a.At = g.Now()
			fmt.Fprintln(&out, p.Step.ID, p.Why, p.Hint, p.Normal, a.Text(), g.wrong(a))
			require.NoError(t, g.Give(a))
			r, err := cheap(g.Input())
			require.NoError(t, err)
			g.Learn(g.Seq(), r)
		}
		return out.String()
	}
	for night, faults := range quietFaults {
		sound := play(night)
		assert.Contains(t, sound, "rest_v")
		for _, id := range faults {
			assert.Equal(t, sound, play(night, fault{id, 1, 1, 0}), id)
		}
	}
}

// The quadratic score is proper: who believes p does best by saying p.
func TestScoreIsProper(t *testing.T) {
	could := []condition.ID{condition.Sound, condition.ArrayOpen, condition.CellShort, condition.LoadJoint}
	rapid.Check(t, func(rt *rapid.T) {
		draw := func(name string) map[condition.ID]float64 {
			w, sum := map[condition.ID]float64{}, 0.0
			for _, id := range could {
				w[id] = rapid.Float64Range(0.01, 1).Draw(rt, name+string(id))
				sum += w[id]
			}
			for id := range w {
				w[id] /= sum
			}
			return w
		}
		p, q := draw("believed "), draw("said ")
		expect := func(said map[condition.ID]float64) (sum float64) {
			for _, id := range could {
				sum += p[id] * Brier(said, could, []condition.ID{id})
			}
			return sum
		}
		if expect(q) < expect(p)-1e-12 {
			rt.Fatalf("saying %v is better than %v", q, p)
		}
	})
	assert.InDelta(t, 0, Brier(map[condition.ID]float64{condition.Sound: 1}, could, could[:1]), 1e-12)
	assert.InDelta(t, 1, Brier(map[condition.ID]float64{condition.ArrayOpen: 1}, could, could[:1]), 1e-12)
	doubt := Brier(map[condition.ID]float64{condition.Sound: 0.5, condition.ArrayOpen: 0.5}, could, could[:1])
	assert.InDelta(t, 0.25, doubt, 1e-12, "honest doubt lies between")
	assert.InDelta(t, 0, Brier(map[condition.ID]float64{condition.Sound: 0.5, condition.ArrayOpen: 0.5}, could, could[:2]), 1e-12, "two at once")
}

// A generated scenario is the same every time, and its fault acts.
func TestGenerated(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of scenarios; TestGeneratedElsewhere has some")
	}
	faults := map[condition.ID]bool{}
	sites := map[string]bool{}
	for level := 1; level <= Levels; level++ {
		for seed := range uint64(160) {
			a, b := Generate(level, seed), Generate(level, seed)
			require.Equal(t, a.truth, b.truth)
			require.Equal(t, a.unknowns(), b.unknowns())
			require.Equal(t, a.setup, b.setup)
			require.NotEmpty(t, a.Story)
			require.True(t, len(a.truth) == 0 || a.acts(), a.ID)
			sites[a.Site.Name] = true
			for _, id := range a.Truth() {
				faults[id] = true
			}
			for _, f := range a.truth {
				require.Empty(t, Impossible(f.id, a.Site))
			}
		}
	}
	drawn := slices.DeleteFunc(SiteNames(), func(name string) bool { s, _ := siteOf(name); return s.Kit != nil })
	assert.Len(t, sites, len(drawn), "all but the closed kit, whose cases are written by hand")
	for _, c := range condition.All() {
		assert.True(t, faults[c.ID], "%s never comes up", c.ID)
	}
}

// Any condition can be on any site that can have it, at the bench with all that
// can be done there.
func TestAnyConditionOnAnySite(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of sessions; TestNothingLeaks has some")
	}
	for _, name := range SiteNames() {
		s, text := siteOf(name)
		for _, c := range condition.Applicable(s)[1:] {
			sc := *Generate(1, 3)
			sc.Site, sc.SiteTOML, sc.truth = s, text, []fault{{c.ID, 0.7, 0.7, 0}}
			sc.setup.LoadsOn, sc.setup.Quirks = []string{s.Loads[0].Label}, nil
			session := NewSession(&sc, "A", cheap)
			for _, l := range everything {
				_, err := session.Do(l)
				missing := err != nil && (strings.Contains(err.Error(), "there is no point") ||
					s.Kit != nil && strings.Contains(err.Error(), "there is no ")) // in a kit neither wires nor fuses can be reached
				if !missing {
					require.NoError(t, err, "%s at %s: %s", c.ID, name, l)
				}
				answerStanding(t, session)
			}
			for _, e := range session.events {
				require.False(t, math.IsNaN(e.display.Reads) || math.IsInf(e.display.Reads, 0))
			}
		}
	}
}

func TestParseProblems(t *testing.T) {
	good := `title = "A case"
story = "It is dim."
level = 1
seed = 1
solvable = true
learn = "Look."
hints = ["a", "b", "c"]
site = "stone-bridge"
[moment]
at = 2026-07-12T12:10:00+02:00
charge = 0.5
light = 1
air_c = 20
loads_on = []
`
	_, err := Parse("x", "x", []byte(good), SiteText)
	require.NoError(t, err)
	find := func(name string) ([]byte, error) {
		if name != "no-float" {
			return SiteText(name)
		}
		text, err := SiteText("stone-bridge")
		return bytes.Replace(text, []byte("float_v = 13.8"), []byte("float_v = 14.1"), 1), err
	}
	tests := []struct{ name, from, to, says string }{
		{"level", "level = 1", "level = 4", "x:3: level: 4 is out of range"},
		{"key", "seed = 1", "sed = 1", "x:4: sed: unknown key; did you mean seed?"},
		{"site", `"stone-bridge"`, `"moon"`, "x:8: site: \"moon\" cannot be used"},
		{"load", "loads_on = []", `loads_on = ["pump"]`, "x:14: moment.loads_on: \"pump\" is not a load of this site"},
		{"hints", `["a", "b", "c"]`, `["a"]`, "x:7: hints: has 1; expected 3"},
		{"one string", "loads_on = []\n", "loads_on = []\n[[condition]]\nid = \"string-open\"\n", "x:16: condition.id: \"string-open\" cannot be at Stone Bridge home: it has 1 string in parallel. If its only string is open, the condition is array-open"},
		{"lead-acid", "loads_on = []\n", "loads_on = []\n[[condition]]\nid = \"battery-off\"\n", "only an lfp pack switches itself off, and its battery is gel"},
		{"way", "loads_on = []\n", "loads_on = []\n[[condition]]\nid = \"array-open\"\nway = 3\n", "x:17: condition.way: 3 is out of range; expected 1 to 2, the ways in which array-open can act"},
		{"severity of a break", "loads_on = []\n", "loads_on = []\n[[condition]]\nid = \"array-open\"\nseverity = 0.3\n", "x:17: condition.severity: array-open is there or not"},
		{"second severity", "loads_on = []\n", "loads_on = []\n[[condition]]\nid = \"array-soiled\"\nsecond_severity = 0.3\n", "x:17: condition.second_severity: array-soiled has no second severity"},
		{"float without its stage", "site = \"stone-bridge\"\n[moment]\n", "site = \"no-float\"\n[moment]\nfloat = true\n", "x:10: moment.float: cannot be true at Stone Bridge home: its controller has no float stage"},
		{"float while empty", "charge = 0.5", "charge = 0.5\nfloat = true", "x:12: moment.float: cannot be true at a charge of 0.5: a controller comes to it near full, 0.9 or more"},
		{"cut without an output", "site = \"stone-bridge\"\n[moment]\n", "site = \"pine-ridge\"\n[moment]\ncut_before = true\n", "x:10: moment.cut_before: cannot be true at Pine Ridge"},
		{"load twice", "loads_on = []", "loads_on = [\"room lamps\", \"room lamps\"]", "x:14: moment.loads_on: \"room lamps\" is given twice"},
		{"no such lamp", "loads_on = []\n", "loads_on = []\n[[misleading]]\nreading = \"lamps.red eye\"\nlook = \"lit\"\n", "x:16: misleading.reading: \"red eye\" is not an indicator of this site; expected one of [\"charge dot\" \"battery dot\"]"},
		{"no such look", "loads_on = []\n", "loads_on = []\n[[misleading]]\nreading = \"lamps.charge dot\"\nlook = \"pink\"\n", "x:17: misleading.look: \"pink\" is not a look of the indicator \"charge dot\"; expected one of"},
		{"twice", "loads_on = []\n", "loads_on = []\n[[condition]]\nid = \"array-open\"\n[[condition]]\nid = \"array-open\"\n", "given twice"},
		{"misleading", "loads_on = []\n", "loads_on = []\n[[misleading]]\nreading = \"array_v\"\n", "does not mislead"},
		{"sound", "loads_on = []\n", "loads_on = []\n[[condition]]\nid = \"sound\"\n", "means a scenario without"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			require.Contains(t, good, tt.from)
			_, err := Parse("x", "x", []byte(strings.Replace(good, tt.from, tt.to, 1)), find)
			require.Error(t, err)
			assert.Contains(t, err.Error(), tt.says)
		})
	}
}

func TestProgress(t *testing.T) {
	did := func(id string, level int, truth condition.ID, total float64) practicelog.Result {
		return practicelog.Result{Who: "A", Mode: practicelog.OnOnesOwn, Scenario: id, Level: level, Truth: []condition.ID{truth}, Score: practicelog.Score{Total: total}}
	}
	list := []practicelog.Result{did("morning-round", 1, condition.Sound, 90), did("no-charge-since-storm", 1, condition.ArrayOpen, 80), did("quiet-lamps", 1, condition.LoadOpen, 20)}
	assert.Equal(t, 1, LevelOf(list, "A"))
	assert.Equal(t, 1, LevelOf(nil, "A"))
	next := Next(list, "A")
	assert.Equal(t, condition.Battery, next.part(), "never met comes first")
	list = append(list, did(next.ID, 1, condition.BatteryOpen, 70), did("dark-controller", 1, condition.ControllerDead, 70))
	assert.Equal(t, condition.Load, Families(list, "A")[0].Part, "the weakest")
	list = append(list, did("young-tree", 1, condition.ArrayShaded, 70))
	assert.Equal(t, 2, LevelOf(list, "A"))
	assert.Equal(t, 2, Next(list, "A").Level)
	assert.Equal(t, 1, LevelOf(list, "B"), "another's results do not count")

	for _, name := range []string{"=cmd()", "+1", "-1", "@sum", "\t=1", "\n=1"} { // what spreadsheets take for formulae (common practice)
		var out bytes.Buffer
		r := did(name, 1, condition.Sound, 50)
		r.Who = name
		require.NoError(t, practicelog.WriteCSV(&out, []practicelog.Result{r}))
		rows, err := csv.NewReader(&out).ReadAll()
		require.NoError(t, err)
		shown := strings.NewReplacer("\t", " ", "\n", " ").Replace(name) // a cell is one line of plain text
		assert.Equal(t, []string{"'" + shown, "0001-01-01T00:00:00Z", "free", "'" + shown, "1", "sound", "", "false", "0.0"}, rows[1][:9])
	}
	_, err := practicelog.Read(strings.NewReader("{}\nnonsense\n\n{}\n"))
	assert.ErrorContains(t, err, "line 2")
}

func TestQuestion(t *testing.T) {
	p := func(a, b, c float64) *belief.Result {
		return &belief.Result{Conditions: []belief.Posterior{{ID: condition.Sound, P: a}, {ID: condition.ArrayOpen, P: b}, {ID: condition.CellShort, P: c}}}
	}
	q := ask("array_v 0 V", p(0.6, 0.3, 0.1), p(0.2, 0.75, 0.05))
	require.Len(t, q.choices, 6, "three conditions, two states, hardly anything")
	assert.Equal(t, []int{1}, q.right)
	assert.Equal(t, []float64{0, 1, 0, 0, 0, 0}, q.points)
	assert.Equal(t, []int{5}, ask("x", p(0.6, 0.3, 0.1), p(0.62, 0.29, 0.09)).right, "hardly anything")
	assert.Equal(t, []int{1, 2}, ask("x", p(0.8, 0.1, 0.1), p(0.2, 0.42, 0.38)).right, "two rose alike")
}

// Whatever can be chosen can be typed, and is understood.
func TestMenuIsUnderstood(t *testing.T) {
	s := embeddedSession(t, "morning-round", cheap)
	var walk func(list []Choice)
	n := 0
	walk = func(list []Choice) {
		for _, c := range list {
			assert.NotEmpty(t, c.Label)
			if walk(c.Sub); c.Do == "" {
				assert.NotEmpty(t, c.Sub, c.Label)
				continue
			}
			n++
			fresh := embeddedSession(t, "morning-round", cheap)
			_, err := fresh.Do(c.Do)
			assert.NoError(t, err, c.Do)
		}
	}
	walk(s.Menu())
	assert.Greater(t, n, 300)
	say(t, s, "weigh array-open 60", "weigh sound 30", "weigh cell-short 50")
	assert.InDelta(t, 1, s.weights[condition.ArrayOpen]+s.weights[condition.Sound]+s.weights[condition.CellShort], 1e-9)
	assert.InDelta(t, 0.5, s.weights[condition.CellShort], 1e-9)
	say(t, s, "name sound")
	answerStanding(t, s)
	require.True(t, s.Naming())
	assert.Equal(t, "do 1", s.Menu()[0].Do)
}

// The example of the format's description is a good scenario.
func TestFormatExample(t *testing.T) {
	text, err := os.ReadFile("FORMAT.md")
	require.NoError(t, err)
	_, example, found := strings.Cut(string(text), "```toml\n")
	require.True(t, found)
	example, _, _ = strings.Cut(example, "```")
	s, err := Parse("example", "example", []byte(example), SiteText)
	require.NoError(t, err)
	assert.Equal(t, []condition.ID{condition.LoadJoint}, s.Truth())
	assert.True(t, s.acts())
	assert.Equal(t, "clean", s.setup.Looks[reading.Glass])
}

// Outside of the package nothing names what is wrong but the debrief and what is
// kept after it: the screens cannot show what they cannot ask for.
func TestScreensCannotAsk(t *testing.T) {
	allowed := regexp.MustCompile(`\b(Truth|Right|Prove|Debrief|Result)\b`)
	for _, dir := range []string{"../tui", "../tui/plain", "../tui/wiring"} {
		names, err := filepath.Glob(filepath.Join(dir, "*.go"))
		require.NoError(t, err)
		require.NotEmpty(t, names)
		for _, name := range names {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			if strings.HasSuffix(name, "_test.go") || !strings.Contains(string(text), "ampwalk/scenarios") {
				continue
			}
			for i, l := range strings.Split(string(text), "\n") {
				if m := allowed.FindString(l); m != "" {
					assert.Equal(t, "Debrief", m, "%s:%d: %s", name, i+1, l)
				}
			}
		}
	}
	public := reflect.TypeFor[Scenario]()
	for i := range public.NumField() {
		if f := public.Field(i); f.IsExported() {
			assert.Contains(t, []string{"ID", "Title", "Story", "Level", "Site", "SiteTOML", "At", "Solvable"}, f.Name)
		}
	}
	s := embeddedSession(t, "morning-round", cheap)
	assert.Nil(t, s.Debrief(), "there is none before the end")
}

// The bench knows no condition by name.
func TestBenchKnowsNoConditions(t *testing.T) {
	names, err := filepath.Glob("bench/*.go")
	require.NoError(t, err)
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.NotContains(t, string(text), "diagnose/physics/condition", name)
		for _, c := range condition.All()[1:] {
			assert.NotContains(t, string(text), `"`+string(c.ID)+`"`, name)
		}
	}
}

// Generated scenarios are the same on every machine: what these seeds give was
// written down once, to the last digit that a display shows. .ci/run plays it on
// a processor too that fuses multiply and add.
func TestGeneratedElsewhere(t *testing.T) {
	var out strings.Builder
	for _, seed := range []uint64{1, 2, 3, 11, 500} {
		for level := 1; level <= Levels; level++ {
			s := Generate(level, seed)
			b := s.Bench()
			fmt.Fprintf(&out, "%s %s %s %s", s.ID, strings.Trim(fmt.Sprint(s.Truth()), "[]"), s.Site.Name, s.At.Format(time.RFC3339))
			seen, measured := takeable(s)
			for _, k := range slices.Concat(seen, measured) {
				fmt.Fprintf(&out, " %s=%s", k, take(b, k).Text)
			}
			b.Wait(3 * time.Hour)
			fmt.Fprint(&out, " later")
			for _, k := range measured {
				fmt.Fprintf(&out, " %s=%s", k, take(b, k).Text)
			}
			fmt.Fprintln(&out)
		}
	}
	golden.RequireEqual(t, []byte(out.String()))
}
