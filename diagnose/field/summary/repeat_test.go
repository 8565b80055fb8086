package summary

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
)

// A reading taken once more stands in the summary with both values.
func TestRepeatedReading(t *testing.T) {
	v := visit(t, [2]string{"post_v", "12.2"})
	volts := 12.4
	require.NoError(t, v.Give(visiting.Answer{Step: "post_v", Kind: visiting.Took, Reading: "post_v", Number: &volts, Repeats: true, At: start}))
	assert.Contains(t, OfVisit(v).Text(), "12.20 V, then 12.40 V")
}
