package summary

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose"
	"ampwalk/diagnose/procedure"
)

// What was mended stands in the summary, with the reading before and after it.
func TestMendedAndProved(t *testing.T) {
	v := visit(t, [2]string{"array_a", "0"})
	require.NoError(t, v.Give(diagnose.Answer{Step: "mended", Kind: diagnose.Did, Word: procedure.ActDone, Labels: []string{"the fuse is renewed"}, At: start}))
	amps := 4.4
	require.NoError(t, v.Give(diagnose.Answer{Step: "array_a", Kind: diagnose.Took, Reading: "array_a", Number: &amps, Repeats: true, At: start}))
	text := OfVisit(v).Text()
	assert.Contains(t, text, "Mend it now: the fuse is renewed")
	assert.Regexp(t, `Array current +0.00 A +4.40 A`, text)
	assert.Zero(t, v.Input().Readings.Numbers["array_a"])
}
