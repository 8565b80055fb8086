package main

import (
	"encoding/json"
	"io"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/plain"
)

// A scene is a whole visit to a simulated plant: what is wrong, what the person types
// otherwise than usual, and which repair helps.
type scene struct {
	hour    float64 // by the sun; 0: noon
	sky     string  // "": clear
	toml    string  // "": the demo site
	depth   visiting.Depth
	fault   condition.ID
	at      func(u *plant.Unknowns)
	option  int
	answers map[string][]string // as typed line by line, by step, one for each time it is asked; the last one stays
	helps   int                 // which repair takes the fault away, from 1; 0: none does
	leave   bool                // the person goes, by an answer leaves: the visit is not done
	keep    visiting.Journal    // nil: the visit is kept nowhere
}

// A player is the person of a scene. It keeps which steps were asked.
type player struct {
	*person
	scene
	visit    *visiting.Visit
	u        plant.Unknowns
	asked    []string
	nth      map[string]int
	repairs  int
	answered int // length of the history at the last question
	sure     int // how often in turn the same answer was doubted
}

// lines is the player at the line by line mode.
type lines struct{ *player }

func (l lines) Read(b []byte) (int, error) {
	typed, ok := l.types(l.visit.Prompt().Step)
	if !ok {
		return 0, io.EOF
	}
	return copy(b, typed+"\n"), nil
}

// What a person does in place of an answer.
const (
	leaves = "\x00" // goes in the middle of a visit
	sure   = "yes"  // keeps what the program doubts
)

// types is what is answered to the step that is asked now; false where the person goes.
func (p *player) types(s procedure.Step) (typed string, ok bool) {
	doubted := len(p.asked) > 0 && p.asked[len(p.asked)-1] == s.ID && p.answered == len(p.visit.History())
	p.answered = len(p.visit.History())
	if doubted {
		p.sure++
		return sure, p.sure == 1
	}
	if len(p.asked) > maxSteps {
		return "", false
	}
	p.sure = 0
	p.asked = append(p.asked, s.ID)
	typed = p.answerTo(s)
	return typed, typed != leaves
}

func (p *player) answerTo(s procedure.Step) string {
	n := p.nth[s.ID]
	p.nth[s.ID]++
	if own := p.scene.answers[s.ID]; len(own) > 0 {
		if text := own[min(n, len(own)-1)]; text != "" {
			p.mend(s, text)
			return text
		}
	}
	switch {
	case s.ID == "repair":
		return "2" // yes, now
	case strings.HasPrefix(s.ID, "mended"):
		p.mend(s, "2")
		return "2" // it is done
	default:
		return p.answer(s)
	}
}

// mend takes the fault away once the repair that helps is done.
func (p *player) mend(s procedure.Step, typed string) {
	if !strings.HasPrefix(s.ID, "mended") || typed != "2" {
		return
	}
	if p.repairs++; p.repairs == p.helps {
		p.u.Fault = plant.Fault{}
		plant.New(p.site, restMinutes).Solve(&p.u, &p.out)
	}
}

// A played visit is what became of a scene.
type played struct {
	*visiting.Visit
	*player
}

// A face is how the program meets the person. It plays a visit and reports whether it
// is done.
type face struct {
	name string
	play func(t *testing.T, p *player, now func() time.Time) (done bool)
}

var faces = []face{{"line", lineByLine}, {"screen", onScreen}}

func lineByLine(t *testing.T, p *player, now func() time.Time) (done bool) {
	t.Helper()
	var text strings.Builder
	done, err := plain.Run(plain.Options{
		Visit: p.visit, Infer: inferOnce, Now: now, Summary: func() string { return "" }, In: lines{p}, Out: &text,
	})
	require.NoError(t, err)
	if d, ok := p.visit.Procedure().Unsafe(p.visit.State()); ok && !done { // who goes is told
		for _, told := range append([]string{d.Title}, d.Card...) {
			assert.Contains(t, flat(text.String()), told)
		}
	}
	return done
}

// beliefs are those of all scenes by what is known, each a function that infers once.
var beliefs sync.Map

// inferOnce is the inference. Many scenes begin with the same answers, and on both faces
// they are the same to the end, so that the second takes hardly any time.
func inferOnce(in belief.Input) (*belief.Result, error) {
	known, err := json.Marshal(in)
	if err != nil {
		return nil, err
	}
	once, _ := beliefs.LoadOrStore(string(known), sync.OnceValues(func() (*belief.Result, error) { return belief.Infer(in) }))
	return once.(func() (*belief.Result, error))()
}

// play plays the scene on every face and has each visit checked.
func (sc scene) play(t *testing.T, check func(t *testing.T, v played)) {
	t.Helper()
	if testing.Short() {
		t.Skip("whole visits take a while")
	}
	t.Parallel()
	for _, f := range faces {
		t.Run(f.name, func(t *testing.T) { check(t, sc.on(t, f)) })
	}
}

// person is who plays the scene, before the visit.
func (sc scene) person(t *testing.T) *player {
	t.Helper()
	if sc.hour == 0 {
		sc.hour = 12.2
	}
	if sc.sky == "" {
		sc.sky = "clear"
	}
	if sc.toml == "" {
		sc.toml = string(site.DemoTOML())
	}
	s, err := site.Parse("scene.site.toml", []byte(sc.toml))
	require.NoError(t, err)
	sit := situation{hour: sc.hour, sky: sc.sky, fault: sc.fault}
	p := &player{scene: sc, nth: map[string]int{}, u: plant.Typical()}
	p.person = &person{situation: sit, site: s, steps: procedure.For(s).Steps, loads: "all"}
	p.u.LoadW, p.u.SoC = s.AllListedW(), 0.5
	if sc.at != nil {
		sc.at(&p.u)
	}
	if p.runW = p.u.RunW; p.u.LoadW == 0 {
		p.loads = "none"
	}
	condition.Disturb(sc.fault, s, &p.u, 0.5, 0.5, sc.option)
	plant.New(s, restMinutes).Solve(&p.u, &p.out)
	return p
}

// on plays the scene on one face.
func (sc scene) on(t *testing.T, f face) played {
	t.Helper()
	p := sc.person(t)
	sc = p.scene
	now := p.begin()
	if sc.keep == nil {
		sc.keep = nowhere{}
	}
	v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: sc.toml, StartedAt: now, Depth: sc.depth}, sc.keep)
	require.NoError(t, err)
	p.visit = v
	done := f.play(t, p, func() time.Time { now = now.Add(30 * time.Second); return now })
	require.Equal(t, !sc.leave, done, "after %d questions: %v", len(p.asked), p.asked)
	t.Log(p.asked)
	if r := v.Belief(); r != nil {
		t.Log(r.Leader().ID, r.Leader().P)
	}
	return played{v, p}
}

// first is the place of the step among those asked, -1 where it was not.
func (p played) first(step string) int { return slices.Index(p.asked, step) }

// order requires that each of the steps was asked, and first in this order.
func (p played) order(t *testing.T, steps ...string) {
	t.Helper()
	for i, s := range steps {
		require.Contains(t, p.asked, s)
		if i > 0 {
			require.Less(t, p.first(steps[i-1]), p.first(s), "%s comes before %s: %v", steps[i-1], s, p.asked)
		}
	}
}

// none requires that none of the steps was asked.
func (p played) none(t *testing.T, steps ...string) {
	t.Helper()
	for _, s := range steps {
		require.NotContains(t, p.asked, s)
	}
}

// before are the steps asked before the first of these; all where none was.
func (p played) before(steps ...string) []string {
	if i := slices.IndexFunc(p.asked, func(s string) bool { return slices.Contains(steps, s) }); i >= 0 {
		return p.asked[:i]
	}
	return p.asked
}

// dangers are those found or believed at the end, by their ids.
func (p played) dangers() []string {
	var ids []string
	for _, d := range p.Procedure().Dangers(p.State()) {
		ids = append(ids, d.ID)
	}
	return ids
}

// A headingList is the headings of both papers, from their own texts.
type headingList struct {
	Heading   map[string]string `toml:"heading"`
	Caretaker struct {
		Heading map[string]string `toml:"heading"`
	} `toml:"caretaker"`
}

func headings(t *testing.T) headingList {
	t.Helper()
	var h headingList
	b, err := os.ReadFile("../../diagnose/field/summary/texts.toml")
	require.NoError(t, err)
	require.NoError(t, toml.Unmarshal(b, &h))
	return h
}

func sections(d document.Document) []string {
	var list []string
	for _, s := range d.Sections {
		list = append(list, s.Heading)
	}
	return list
}

// papers are the headings of the sections of the two papers.
func (p played) papers() (staff, caretaker []string) {
	return sections(summary.ForStaff(p.Visit, summary.Beside{})), sections(summary.ForCaretaker(p.Visit, summary.Beside{}))
}

// cardFirst requires that both papers begin with the card of what to do now.
func (p played) cardFirst(t *testing.T) {
	t.Helper()
	h := headings(t)
	staff, caretaker := p.papers()
	require.Equal(t, h.Heading["danger"], staff[0])
	require.Equal(t, h.Caretaker.Heading["danger"], caretaker[0])
}
