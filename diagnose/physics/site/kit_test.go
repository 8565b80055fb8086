package site

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A closed kit needs no word of its inside, and has nothing beside it.
func TestKitFile(t *testing.T) {
	text, err := os.ReadFile("../../../testdata/plants/lantern-kit.site.toml")
	require.NoError(t, err)
	s, err := Parse("kit.site.toml", text)
	require.NoError(t, err)
	assert.Equal(t, Kit{USB: 2, Locks: true}, *s.Kit)
	assert.True(t, s.Controller.LoadOutput, "its outputs are its load output")
	assert.Positive(t, s.Battery.CableM)
	for change, want := range map[string]string{
		"\n[earthing]\npole = \"none\"\n":                "earthing: stands beside a closed kit",
		"\n[load_wiring]\nfuse_a = \"x\"\n":              "load_wiring.fuse_a",
		"nominal_v = 3 => nominal_v = 48":                "48 V is not a voltage of a closed kit; expected 3",
		"[kit] => [nothing]":                             "expected a table [kit], as only a closed kit has such a voltage",
		"chemistry = \"lfp\" => chemistry = \"flooded\"": "expected agm, gel or lfp",
		"usb = 2 => usb = 0":                             "kit.usb",
	} {
		changed := string(text) + change
		if from, to, ok := strings.Cut(change, " => "); ok {
			changed = strings.Replace(string(text), from, to, 1)
		}
		_, err := Parse("kit.site.toml", []byte(changed))
		require.Error(t, err, change)
		assert.Contains(t, err.Error(), want, change)
	}
}
