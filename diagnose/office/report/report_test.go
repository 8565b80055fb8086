package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"iter"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/triage"
	"ampwalk/diagnose/physics/condition"
)

var day = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

// visit is a finished one so many days before day.
func visit(id, site string, days int, c condition.ID, p float64) ledger.Row {
	at := day.AddDate(0, 0, -days)
	return ledger.Row{State: review.HandedIn, Digest: ledger.Digest{ID: id, Site: site, Staff: "A. Visitor", StartedAt: at, LastAt: at.Add(time.Hour), Finished: true, Condition: c, P: p}}
}

func rows(list ...ledger.Row) Visits {
	return func(yield func(ledger.Row, error) bool) {
		for _, r := range list {
			if !yield(r, nil) {
				return
			}
		}
	}
}

// evil are texts that would act if anything let them. The formulae are those of
// OWASP's page on CSV injection, from memory.
var evil = []string{
	`=HYPERLINK("http://example.org?"&A1,"see")`, "+1+cmd|' /C calc'!A0", "-2+3", "@SUM(1)", "\t=1+1", "\r=1+1", "\n=1+1", "＝1+1", "  =1", "\u00a0=1",
	"\x1b]0;owned\x07\x1b[2J", "\u009b31m", "\u202eevil", "a\x00b", `</style></svg><script>alert(1)</script><img src=x onerror="alert(1)">`, "x\",\"=1", "\x1b[0m=1",
}

func TestNothingActs(t *testing.T) {
	text := rapid.OneOf(rapid.SampledFrom(evil), rapid.String())
	rapid.Check(t, func(t *rapid.T) {
		r := visit("a-visit", text.Draw(t, "site"), 3, condition.ID(text.Draw(t, "condition")), 0.9)
		r.Digest.Staff = text.Draw(t, "staff")
		r.Digest.Flags = []triage.Flag{{Kind: triage.Isolated, What: []string{text.Draw(t, "what")}}}
		r.Digest.Left = []visiting.Outstanding{{Condition: condition.ID(text.Draw(t, "left")), Who: text.Draw(t, "who"), Due: text.Draw(t, "due")}}
		r.Digest.Battery.Installed = text.Draw(t, "installed")
		var table, lines bytes.Buffer
		if err := errors.Join(CSV(&table, rows(r), day), JSONLines(&lines, rows(r), day)); err != nil {
			t.Fatal(err)
		}
		read, err := csv.NewReader(&table).ReadAll()
		if err != nil || len(read) != 2 {
			t.Fatalf("%v, %d rows", err, len(read))
		}
		for _, cell := range read[1] {
			noFormula(t, cell)
			quiet(t, cell)
		}
		quiet(t, strings.TrimSuffix(lines.String(), "\n"))
		d, err := Overview(rows(r), day)
		if err != nil {
			t.Fatal(err)
		}
		inert(t, d.HTML(document.A4))
	})
}

// noFormula wants no cell that begins, behind blanks, as a formula does.
func noFormula(t *rapid.T, cell string) {
	if c := strings.TrimSpace(cell); c != "" && strings.ContainsAny(c[:1], "=+-@") || strings.HasPrefix(c, "＝") {
		t.Fatalf("%q is a formula", cell)
	}
}

func quiet(t *rapid.T, text string) {
	for _, r := range text {
		if r < ' ' || r >= 0x7f && r < 0xa0 || r >= 0x202a && r <= 0x202e {
			t.Fatalf("%q acts on a terminal", text)
		}
	}
}

var (
	quoted = regexp.MustCompile(`"[^"]*"`)
	acting = regexp.MustCompile(`(?i)<(script|img|iframe|link|object|embed|a|base|form)[\s>/]|<[a-z][^>]*\s(on[a-z]+|href|src)=`)
)

// inert wants tags that neither fetch nor run, and no attribute that does. What a
// visit says has its quotes and angle brackets written as entities, so those left
// are the page's own.
func inert(t *rapid.T, page string) {
	if acts := acting.FindString(quoted.ReplaceAllString(page, `""`)); acts != "" {
		t.Fatalf("%q acts in a browser", acts)
	}
}

func TestCSV(t *testing.T) {
	r := visit("a-visit", "Dry Ridge", 3, condition.LoadJoint, 0.97)
	r.Digest.Left = []visiting.Outstanding{{Condition: condition.LoadJoint, Who: "A. Mechanic; B. Helper", Due: "2026-12-01"}, {Condition: condition.ArraySoiled, Due: "2026-12-24"}, {Condition: condition.LoadOpen}}
	r.Again = ledger.Again{Engine: "engine two", At: day, Condition: condition.Sound, P: 0.9, Differs: true}
	r.Digest.Measures = []triage.Measure{{Quantity: triage.RestVoltage, Value: 12.7}}
	var out bytes.Buffer
	require.NoError(t, CSV(&out, rows(r, visit("b-visit", "-5 Lane", 2, "", 0)), day))
	read, err := csv.NewReader(&out).ReadAll()
	require.NoError(t, err)
	require.Len(t, read, 3)
	cell := func(row int, name string) string {
		for i, h := range read[0] {
			if h == name {
				return read[row][i]
			}
		}
		t.Fatalf("no column %q in %q", name, read[0])
		return ""
	}
	assert.Equal(t, "2026-11-22T09:00:00Z", cell(1, "started"))
	assert.Equal(t, "handed in", cell(1, "state"))
	assert.Equal(t, condition.Of(condition.LoadJoint).Title, cell(1, "condition"))
	assert.Equal(t, "0.97", cell(1, "probability"))
	assert.Equal(t, condition.Of(condition.LoadJoint).Title+"; "+condition.Of(condition.ArraySoiled).Title+"; "+condition.Of(condition.LoadOpen).Title, cell(1, "to be done"))
	assert.Equal(t, "A. Mechanic, B. Helper; –; –", cell(1, "who"))
	assert.Equal(t, "2026-12-01; 2026-12-24; –", cell(1, "due"))
	assert.Equal(t, "Another version of the program gives another result: "+condition.Of(condition.Sound).Title+" (90 %), by engine two, 2026-11-25.", cell(1, "needs attention because"))
	assert.Equal(t, "12.7", cell(1, triage.RestVoltage.Title()+" ["+triage.RestVoltage.Unit()+"]"))
	assert.Equal(t, "'-5 Lane", cell(2, "site"))
	assert.Empty(t, cell(2, "probability"), "none was concluded")
	assert.Empty(t, cell(2, "who"))
}

func TestJSONLines(t *testing.T) {
	r := visit("a-visit", "Dry Ridge", 3, condition.LoadJoint, 0.97)
	var out bytes.Buffer
	require.NoError(t, JSONLines(&out, rows(r, r), day))
	lines := strings.Split(strings.TrimSuffix(out.String(), "\n"), "\n")
	require.Len(t, lines, 2)
	var got map[string]any
	require.NoError(t, json.Unmarshal([]byte(lines[0]), &got))
	assert.Equal(t, "Dry Ridge", got["site"])
	assert.InDelta(t, 0.97, got["probability"], 1e-9)
	assert.Equal(t, []any{}, got["attention"])
}

// A ledger that breaks off is told, not taken for a short one.
func TestBrokenOff(t *testing.T) {
	broken := errors.New("the line is dead")
	var visits Visits = iter.Seq2[ledger.Row, error](func(yield func(ledger.Row, error) bool) {
		_ = yield(visit("a", "A", 1, condition.Sound, 1), nil) && yield(ledger.Row{}, broken)
	})
	require.ErrorIs(t, CSV(&bytes.Buffer{}, visits, day), broken)
	require.ErrorIs(t, JSONLines(&bytes.Buffer{}, visits, day), broken)
	_, err := Overview(visits, day)
	require.ErrorIs(t, err, broken)
}

// Counted by hand.
func TestOverview(t *testing.T) {
	worn := visit("1", "A", 40, condition.BatteryWorn, 0.9)
	worn.Digest.Left = []visiting.Outstanding{{Condition: condition.BatteryWorn, Due: "2026-11-01"}}
	soiled := visit("2", "A", 10, condition.ArraySoiled, 0.8) // takes over what the first left
	soiled.Digest.Left = []visiting.Outstanding{{Condition: condition.ArraySoiled, Due: "2026-11-28"}}
	soiled.Digest.Battery.Installed, soiled.State = "2021-11", review.Accepted // four or five years: 4 to 6
	old := visit("3", "B", 5, condition.BatteryWorn, 0.95)
	old.Digest.Battery.Installed = "2016-01"
	old.Digest.Left = []visiting.Outstanding{{Condition: condition.BatteryWorn, Due: "2026-11-20"}, {Condition: condition.BatteryJoint, Due: "soon"}}
	doubt := visit("4", "C", 3, condition.ArrayOpen, 0.4)
	begun := visit("5", "C", 1, "", 0)
	begun.Digest.Finished, begun.State = false, review.UnderWay
	d, err := Overview(rows(worn, soiled, old, doubt, begun), day)
	require.NoError(t, err)
	told := map[string][]string{}
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if p, ok := b.(document.Picture); ok {
				told[s.Heading] = p.Words
			}
		}
	}
	w := texts()
	assert.Subset(t, told[w.Sites.Heading], []string{"costs energy: 2.", "not decided: 1.", "all works as designed: 0."})
	assert.Subset(t, told[w.Sites.Review], []string{"under way: 1.", "handed in: 1.", "accepted: 1."})
	assert.Subset(t, told[w.Open.Heading], []string{"overdue: 1.", "within a week: 1.", "without a date: 1."})
	assert.Subset(t, told[w.Conditions.Heading], []string{"2026-10: 1 (battery 1).", "2026-11: 2 (array 1, battery 1).", "2026-09: 0."})
	assert.Subset(t, told[w.Batteries.Heading], []string{"4 to 6 years: 1 (well 1).", "8 years and older: 1 (worn 1).", "age not known: 1 (not decided 1)."})
	text := d.Text()
	assert.Contains(t, text, "5 visits to 3 sites by 1 person")

	none, err := Overview(rows(), day)
	require.NoError(t, err)
	assert.Contains(t, none.Text(), w.Nothing)
}
