package record

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
)

// All that whole visits of old versions say in words has an id, and their bytes stay.
func TestOldWordsHaveIDs(t *testing.T) {
	names, err := filepath.Glob(filepath.Join("..", "..", "..", "testdata", "journals", "version-[12]", "*"+Suffix))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		c, err := Parse(data)
		require.NoError(t, err)
		assert.Equal(t, data, c.Bytes)
		for _, e := range c.Entries {
			if a := e.Answer; a != nil && len(a.Labels) > 0 {
				assert.True(t, a.About != "" || len(a.Chosen) >= len(a.Labels), "%s: %v", name, a)
				assert.NotContains(t, a.Chosen, "", "%s: %v", name, a.Labels)
			}
		}
	}
}

// A visit that an older program began keeps ids from where it is continued.
func TestOldVisitGoneOnWith(t *testing.T) {
	dir := t.TempDir()
	data, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "journals", "version-2", "left"+Suffix))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path(dir, "left"), data, 0o600))
	j, before, damage, err := Open(dir, "left")
	require.NoError(t, err)
	require.Nil(t, damage)
	given := visiting.Answer{Step: "labels", Kind: visiting.Did, Chosen: []string{"all"}, Labels: []string{"said in other words"}}
	require.NoError(t, j.Append(visiting.Entry{Answer: &given}))
	require.NoError(t, j.Close())
	after, err := os.ReadFile(path(dir, "left"))
	require.NoError(t, err)
	assert.Equal(t, data, after[:len(data)], "what was written stays")
	entries, _, err := Read(path(dir, "left"))
	require.NoError(t, err)
	require.Len(t, entries, len(before)+1)
	assert.Equal(t, given, *entries[len(before)].Answer)
}

func TestOldWords(t *testing.T) {
	for _, tt := range []struct{ given, want visiting.Answer }{
		{visiting.Answer{Step: "permission", Labels: []string{"yes: measure, but the loads stay on"}}, visiting.Answer{Chosen: []string{"loads-stay"}}},
		{visiting.Answer{Step: "site", Labels: []string{"system 24 V; battery 200 Ah, gel"}}, visiting.Answer{Chosen: []string{"battery"}}},
		{visiting.Answer{Step: "loads-on", Labels: []string{"radio"}}, visiting.Answer{Chosen: []string{"radio"}}},
		{visiting.Answer{Step: "open-work", Labels: []string{"Dirt on the glass"}}, visiting.Answer{About: "array-soiled"}},
		{visiting.Answer{Step: "mended-battery", Labels: []string{"the fuse is renewed"}}, visiting.Answer{Chosen: []string{"array-open/fuse", "battery-open/fuse", "load-open/fuse"}}},
		{visiting.Answer{Step: "air_c", Kind: visiting.Cannot, Reason: "no instrument"}, visiting.Answer{Why: "no-instrument"}},
		{visiting.Answer{Step: "air_c", Kind: visiting.Note, Reason: "no instrument"}, visiting.Answer{}},
		{visiting.Answer{Step: "sky", Labels: []string{"blue"}}, visiting.Answer{Chosen: []string{""}}},
		{visiting.Answer{Step: "sky", Chosen: []string{"kept"}, Labels: []string{"blue"}}, visiting.Answer{Chosen: []string{"kept"}}},
	} {
		got := tt.given
		old().name(&got)
		assert.Equal(t, tt.want, visiting.Answer{Chosen: got.Chosen, About: got.About, Why: got.Why}, "%v", tt.given)
		assert.Equal(t, tt.given.Labels, got.Labels, "the words stay")
	}
}

func TestAlike(t *testing.T) {
	for _, tt := range []struct {
		like, text string
		want       bool
	}{
		{"a * c", "a b c", true}, {"a * c", "a c", false}, {"a * c * e", "a b c d e", true}, {"a * c * e", "a b e", false},
		{"a", "a", false}, {"*", "anything", true}, {"a *", "b", false},
	} {
		assert.Equal(t, tt.want, alike(tt.like, tt.text), "%s %s", tt.like, tt.text)
	}
}
