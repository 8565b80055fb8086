package main

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
)

// The test binary started with these rewords all texts, by that seed, and writes what
// the visits came to into that file.
const (
	rewordBy = "AMPWALK_TEST_REWORD"
	tellInto = "AMPWALK_TEST_TELL"
)

// ids are the keys of the files of texts whose strings are ids and stay, by file. A
// pattern stands for all keys that fit it. What is not named here is for people.
var ids = map[string][]string{
	"diagnose/field/halfsplit/parts.toml": {"part.id", "node.id", "node.red", "node.black", "node.place"},
	"diagnose/field/visiting/words.toml":  {"question.id", "dead_load.who"},
	"diagnose/field/visiting/together.toml": {
		"pattern.id", "pattern.all", "pattern.needs", "pattern.facts", "indicator.*", "fact.*.of", "fact.*.less", "fact.*.word",
	},
	"diagnose/field/summary/texts.toml": {
		"caretaker.question.id", "caretaker.*.chemistries",
	},
	"diagnose/field/procedure": { // steps.toml and dangers.toml
		"rung.name", "rung.reasons.id", "step.notes", "step.choices.sign", "step.id", "step.rung", "step.kind", "step.if", "step.choices.id", "step.choices.skips",
		"step.choices.danger", "step.choices.needs", "step.choices.who", "step.checks.id", "step.opens", "step.good", "step.when",
		"step.sets", "step.place", "step.renews", "step.forbids", "step.reading", "step.skips.*", "step.words.*", "step.each",
		"step.lacking", "step.clamp", "step.touches", "step.red", "step.black", "step.first", "step.requires", "step.clears",
		"step.mends", "step.compare", "step.after", "step.unless",
		"danger.id", "danger.closes", "danger.reading", "danger.until_safe", "danger.make_safe", "danger.safe", "danger.above", "danger.conditions", "danger.unless",
	},
	"diagnose/inference/outlook/words.toml": {"lamps", "clock.near", "clock.far"},
	"diagnose/office/triage/words.toml":     {"measure.*.unit"},
	"diagnose/physics/condition/signs.toml": {"sign.list", "sign.id", "sign.shows"},
	"diagnose/physics/condition/conditions.toml": {
		"condition.id", "condition.action.id", "condition.action.same", "condition.action.proof.reading", "condition.part",
		"condition.urgency", "condition.ages", "condition.action.at", "condition.action.chemistries", "condition.action.after",
		"condition.action.who",
	},
	"diagnose/physics/condition/kits.toml": {
		"condition.id", "condition.action.id", "condition.action.proof.reading", "condition.action.at", "condition.action.after", "condition.action.who",
	},
	"diagnose/physics/condition/advice.toml":   {"tip.id", "tip.chemistries"},
	"diagnose/physics/condition/cautions.toml": {"caution.id", "caution.parts", "caution.chemistries"},
	"diagnose/base/day/words.toml":             {"*"}, // what people type, not what they read
	"diagnose/field/siteform/questions.toml": {
		"first", "together.key", "together.form", "together.of", "together.each", "together.choices",
		"part.*.key", "part.*.form", "part.*.unit", "part.*.choices", "part.ask.typical.*", "part.ask.short", "part.each", "part.one", "part.*.after", "part.after",
		"part.inner.each", "part.inner.ask.for", "part.ask.kit",
	},
	"tui/words.toml":                        {"stop.id", "cannot.id"},
	"tui/plain/words.toml":                  {"help.name"},
	"tui/plain/describe.toml":               {"help.name"},
	"tui/plain/desk.toml":                   {"list_help.name", "visit_help.name"},
	"scenarios/virtualsite/bench.toml":      {"breach.id"},
	"scenarios/course.toml":                 {"lesson.id", "lesson.guided", "lesson.own"},
	"scenarios/quiz.toml":                   {"row.meter.key"},
	"diagnose/field/visiting/tests.toml":    {"test.step", "test.asks", "test.all", "test.needs", "test.again", "test.like", "test.shows.*.state"},
	"scenarios/standing.toml":               {"question.id", "question.answer.id"},
	"scenarios/sheet.toml":                  {"want.id", "want.truth", "want.part", "want.answers.*"},
	"diagnose/field/visiting/standard.toml": {"picture.id", "picture.condition"},
	"tui/wiring/words.toml":                 {"part_of.*"},
}

// slots are what a text leaves room for: of a template, a name in braces, a verb of Printf.
var slots = regexp.MustCompile(`\{\{[^}]*\}\}|\{[a-z_]+\}|%[-+#0]*[0-9]*(\.[0-9]+)?[a-zA-Z]`)

// A rewording puts other words of the same length for all words.
type rewording struct{ seed uint64 }

func (r rewording) file(name string, text []byte) []byte {
	var tree map[string]any
	if err := toml.Unmarshal(text, &tree); err != nil {
		panic(err)
	}
	r.change(name, "", tree)
	out, err := toml.Marshal(tree)
	if err != nil {
		panic(err)
	}
	return out
}

// change rewords all strings below a key that are no ids.
func (r rewording) change(file, key string, x any) any {
	switch x := x.(type) {
	case map[string]any:
		for k, v := range x {
			x[k] = r.change(file, strings.TrimPrefix(key+"."+k, "."), v)
		}
	case []any:
		for i, v := range x {
			x[i] = r.change(file, key, v)
		}
	case string:
		if !slices.ContainsFunc(ids[file], func(like string) bool { fits, _ := filepath.Match(like, key); return fits }) {
			return r.text(x)
		}
	}
	return x
}

func (r rewording) text(text string) string {
	var b strings.Builder
	at := 0
	for _, slot := range slots.FindAllStringIndex(text, -1) {
		b.WriteString(r.words(text[at:slot[0]]))
		b.WriteString(text[slot[0]:slot[1]])
		at = slot[1]
	}
	return b.String() + r.words(text[at:])
}

var letters = regexp.MustCompile(`[a-zA-Z]+`)

func (r rewording) words(text string) string { return letters.ReplaceAllStringFunc(text, r.word) }

// word is always the same for a word, so that what was alike stays alike.
func (r rewording) word(word string) string {
	sum := fnv.New64a()
	sum.Write([]byte(strings.ToLower(word)))
	rng := rand.New(rand.NewPCG(r.seed, sum.Sum64()))
	return strings.Map(func(c rune) rune {
		if unicode.IsUpper(c) {
			return 'A' + rng.Int32N(26)
		}
		return 'a' + rng.Int32N(26)
	}, word)
}

func mayReword() {
	if seed, err := strconv.ParseUint(os.Getenv(rewordBy), 10, 64); err == nil {
		datafile.Reword(rewording{seed}.file)
	}
}

// A tale is what a visit came to: what goes by ids, what is said in words, and the steps
// that were asked.
type tale struct {
	Facts, Words string
	Asked        []string
}

// masked hides all letters and all space, since lines may break elsewhere: words of the
// same length look alike.
func masked(text string) string {
	text = strings.Map(func(c rune) rune {
		switch {
		case unicode.IsSpace(c):
			return -1
		case unicode.IsLetter(c):
			return 'x'
		}
		return c
	}, text)
	return strings.ReplaceAll(text, ".", ".\n") // a difference is found more easily
}

// drawn are pictures, in which a text's place follows from its width.
var drawn = regexp.MustCompile(`(?s)<svg.*?</svg>|<style.*?</style>`)

func taleOf(t *testing.T, entries []visiting.Entry) tale {
	t.Helper()
	words := story(t, entries)
	v := resumed(t, entries)
	for _, d := range []document.Document{summary.ForStaff(v, summary.Beside{}), summary.ForCaretaker(v, summary.Beside{})} {
		words += drawn.ReplaceAllString(d.HTML(document.A4), "") // what is bold, too
	}
	return tale{Facts: facts(t, entries), Words: words}
}

// facts are all that goes by ids.
func facts(t *testing.T, entries []visiting.Entry) string {
	t.Helper()
	v := resumed(t, entries)
	var b strings.Builder
	tell := func(what string, x any) {
		text, err := json.Marshal(x)
		require.NoError(t, err)
		fmt.Fprintf(&b, "%s: %s\n", what, text)
	}
	st, course := v.State(), v.Procedure()
	for _, s := range course.Steps {
		tell("step "+s.ID, st.Mark(s.ID))
	}
	for _, a := range v.History() {
		tell("answer", []any{a.Step, a.Kind, a.Word, a.Chosen, a.Why, a.About, a.Action, a.Number, a.List, a.Again, a.Repeats})
	}
	for _, d := range course.Dangers(st) {
		tell("danger", []any{d.ID, d.Stops, d.Safe, d.Over})
	}
	for _, o := range course.Left(st) {
		tell("left open", o.Flag)
	}
	for _, f := range v.Findings() {
		tell("finding", f.Who)
	}
	for _, w := range v.OpenWork() {
		tell("open work", []any{w.Found.ID, w.Who, w.By})
		for _, a := range w.Actions {
			tell("action", a.ID)
		}
	}
	who, by := v.SeenBy()
	days, _, agreed := v.NextVisit()
	tell("agreed", []any{who, by, days, agreed})
	for _, r := range v.Repairs() {
		tell("repair", []any{r.Condition, r.Action.ID, r.Outcome})
	}
	p := v.Prompt()
	tell("next", []any{p.Done, p.Step.ID, p.Action, p.Step.Choices.IDs(), p.Step.Checks.IDs()})
	tell("readings", v.Input().Readings)
	tell("readings as found", v.FoundInput().Readings)
	for _, e := range entries {
		if c := e.Conclusion; c != nil {
			tell("concluded", []any{c.Conditions, c.Left, c.Skipped})
		}
	}
	return b.String()
}

// entriesOf keeps what a visit appends.
type entriesOf struct{ list *[]visiting.Entry }

func (e entriesOf) Append(entry visiting.Entry) error {
	*e.list = append(*e.list, entry)
	return nil
}

// playedAnew are the visits that are played again where all texts are reworded, on the
// faces that they are played on.
var playedAnew = map[string][]face{
	"repaired": faces[:1], "not-repaired": faces, "loads-stay-on": faces[:1], "no-instruments": faces[:1], "dangers": faces, "stopped": faces[:1], "smell": faces[:1],
}

func tales(t *testing.T) map[string]tale {
	t.Helper()
	all := map[string]tale{}
	names, err := filepath.Glob(filepath.Join("..", "..", "testdata", "journals", "*", "*"+record.Suffix))
	require.NoError(t, err)
	every := effort.Of(0, 3, 1) // third journal; all of them are read by TestOldVisits
	for i, name := range names {
		if i%every != 0 {
			continue
		}
		entries, _, err := record.Read(name)
		require.NoError(t, err)
		all[filepath.ToSlash(name)] = taleOf(t, entries)
	}
	for name, on := range playedAnew {
		for _, f := range on[:min(len(on), effort.Of(0, 1, len(on)))] {
			var kept []visiting.Entry
			sc := wholeVisits[name]
			sc.keep = entriesOf{&kept}
			p := sc.on(t, f)
			told := taleOf(t, kept)
			told.Asked = p.asked
			all[name+" on "+f.name] = told
		}
	}
	return all
}

// TestTellVisits is the other process of TestReworded.
func TestTellVisits(t *testing.T) {
	into := os.Getenv(tellInto)
	if into == "" {
		t.Skip("this is for TestReworded")
	}
	text, err := json.Marshal(tales(t))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(into, text, 0o600))
}

// No meaning hangs on words: with other words in every file of texts, visits of every
// version come to the same, new ones ask the same steps, and the papers differ in
// letters only.
func TestReworded(t *testing.T) {
	if testing.Short() {
		t.Skip("whole visits take a while")
	}
	t.Parallel()
	seed := effort.Seed
	t.Log("seed", seed)
	into := filepath.Join(t.TempDir(), "tales.json")
	other := exec.Command(os.Args[0], "-test.run", "^TestTellVisits$")
	other.Env = append(os.Environ(), rewordBy+"="+strconv.FormatUint(seed, 10), tellInto+"="+into)
	said := make(chan error, 1)
	var out []byte
	go func() {
		var err error
		out, err = other.CombinedOutput()
		said <- err
	}()
	want := tales(t)
	require.NoError(t, <-said, "%s", out)
	text, err := os.ReadFile(into)
	require.NoError(t, err)
	var got map[string]tale
	require.NoError(t, json.Unmarshal(text, &got))
	require.Len(t, got, len(want))
	for name, w := range want {
		g := got[name]
		assert.Equal(t, w.Asked, g.Asked, name)
		assert.Equal(t, w.Facts, g.Facts, name)
		assert.Equal(t, masked(w.Words), masked(g.Words), name)
		assert.NotEqual(t, w.Words, g.Words, "%s: nothing was reworded", name)
	}
}
