package site_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/site"
)

func TestPriors(t *testing.T) {
	with := func(lines string) []byte { return append(site.DemoTOML(), []byte("\n[priors]\n"+lines)...) }
	s, err := site.Parse("x.site.toml", with("array-soiled = 3\nbattery-worn = 0.5\n"))
	require.NoError(t, err)
	assert.Equal(t, map[string]float64{"array-soiled": 3, "battery-worn": 0.5}, s.Priors)
	assert.Nil(t, site.Demo().Priors)
	for lines, says := range map[string]string{
		"array-soild = 3\n":     "priors.array-soild: unknown key; did you mean array-soiled?",
		"array-soiled = 0\n":    "priors.array-soiled: 0 is out of range; expected 0.01 to 100 times as common as elsewhere",
		"array-soiled = true\n": "priors.array-soiled: ",
	} {
		_, err := site.Parse("x.site.toml", with(lines))
		assert.ErrorContains(t, err, says)
		assert.Regexp(t, `^x\.site\.toml:\d+: `, err.Error())
	}
}
