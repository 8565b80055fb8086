package summary

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
)

// Who sees to what is open, and by when, stands with its actions; where nobody
// was named there is room for a name.
func TestAgreedWork(t *testing.T) {
	v := visit(t, [2]string{"array_a", "0"}, [2]string{"array_v", "20"}, [2]string{"battery_v", "12.4"})
	require.True(t, v.Learn(v.Seq(), arrayOpen()))
	assert.Contains(t, strings.Join(strings.Fields(OfVisit(v).Text()), " "), "Name: ____")
	p, ok := v.Procedure().Step("open-work")
	require.True(t, ok)
	a, err := v.Read(visiting.Prompt{Step: p}, "A. Mechanic, Friday")
	require.NoError(t, err)
	a.At = start
	require.NoError(t, v.Give(a))
	require.True(t, v.Learn(v.Seq(), arrayOpen()))
	text := strings.Join(strings.Fields(OfVisit(v).Text()), " ")
	assert.Contains(t, text, "By when: Friday (27 Nov 2026). Name: A. Mechanic")
	assert.NotContains(t, text, "Name: ____")
	assert.Contains(t, text, "Who will do it: A. Mechanic, Friday")
}

// What was mended stands in the summary, with the reading before and after it.
func TestRepairedAndProved(t *testing.T) {
	v := visit(t, [2]string{"array_a", "0"})
	require.NoError(t, v.Give(visiting.Answer{Step: "mended", Kind: visiting.Did, Word: procedure.ActDone, Chosen: []string{"array-open/fuse"}, Labels: []string{"the fuse is replaced"}, At: start}))
	amps := 4.4
	require.NoError(t, v.Give(visiting.Answer{Step: "array_a", Kind: visiting.Took, Reading: "array_a", Number: &amps, Repeats: true, At: start}))
	text := OfVisit(v).Text()
	assert.Contains(t, text, "Repair now: the fuse is replaced")
	assert.Regexp(t, `Array current +0.00 A +4.40 A`, text)
	assert.Zero(t, v.FoundInput().Readings.Numbers["array_a"])
	assert.InDelta(t, 4.4, v.Input().Readings.Numbers["array_a"], 0)
}

// What was assumed of the site stands beside what was read off it.
func TestAssumedFiguresAreNamed(t *testing.T) {
	assert.NotContains(t, OfVisit(visit(t)).Text(), "Assumed")
	toml := strings.Replace(string(site.DemoTOML()), "capacity_ah = 80 ", "capacity_ah = 80 # assumed, give or take 20 %; ", 1)
	v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: toml, StartedAt: start}, nowhere{})
	require.NoError(t, err)
	assert.Contains(t, OfVisit(v).Text(), "Assumed         Capacity: 80 Ah\n")
}
