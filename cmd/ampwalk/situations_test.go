package main

import (
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/plain"
)

// A pipe is a person who answers the line mode, one line for each Read.
type pipe struct {
	*person
	visit *visiting.Visit
	asked int
}

func (p *pipe) Read(b []byte) (int, error) {
	if p.asked++; p.asked > maxSteps {
		return 0, io.EOF
	}
	return copy(b, p.answer(p.visit.Prompt().Step)+"\n"), nil
}

// maxSteps is more than any visit to the demo site asks.
const maxSteps = 150

// Each situation line by line at the demo site, from the first question to the
// summary.
func TestSituationsLineByLine(t *testing.T) {
	if testing.Short() {
		t.Skip("whole visits take a while")
	}
	for _, sit := range met() {
		t.Run(sit.name, func(t *testing.T) {
			t.Parallel()
			v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: sit.begin()}, nowhere{})
			require.NoError(t, err)
			var text strings.Builder
			done, err := plain.Run(plain.Options{
				Visit: v, Infer: belief.Infer, Now: func() time.Time { return sit.begin() },
				Summary: func() string { return summary.OfVisit(v).Text() },
				In:      &pipe{person: sit.person(), visit: v}, Out: &text,
			})
			require.NoError(t, err)
			require.True(t, done, "%s", text.String()[max(0, text.Len()-2000):])
			_, end, found := strings.Cut(text.String(), "VISIT SUMMARY")
			require.True(t, found)
			t.Logf("%d readings, %s %.2f", len(v.Input().Readings.Numbers)+len(v.Input().Readings.Words), v.Belief().Leader().ID, v.Belief().Leader().P)
			sit.check(t, end)
		})
	}
}

// check looks for what the summary of the visit must say.
func (sit situation) check(t *testing.T, summary string) {
	t.Helper()
	words := strings.Join(strings.Fields(summary), " ")
	_, found, _ := strings.Cut(words, "WHAT WAS FOUND ")
	found, _, _ = strings.Cut(found, " STATE OF THE SYSTEM")
	first, at := condition.ID(""), len(found)
	for _, c := range condition.All() {
		if i := strings.Index(found, c.Title+" ("); i >= 0 && i < at {
			first, at = c.ID, i
		}
	}
	assert.Equal(t, sit.fault, first, found)
	for _, s := range sit.says {
		assert.Contains(t, words, s, summary)
	}
}
