package record

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
)

// glanced is a visit as a shelf gives it, of a folder that holds no other.
func glanced(t *testing.T, dir string) Item {
	t.Helper()
	items, err := NewShelf(dir).Glance()
	require.NoError(t, err)
	require.Len(t, items, 1)
	return items[0]
}

// uncounted is an item as a shelf may give it.
func uncounted(it Item) Item {
	it.Answers = 0
	if it.Damage != nil {
		it.Damage = fmt.Errorf("%s", it.Damage)
	}
	return it
}

// At every line at which a visit can have been left, both ends tell what all of it does.
func TestGlanceIsTheListWithoutCounting(t *testing.T) {
	data, _ := whole(t)
	dir := t.TempDir()
	name := path(dir, "x")
	for i, c := range data {
		if c != '\n' {
			continue
		}
		require.NoError(t, os.WriteFile(name, data[:i+1], 0o600))
		want, got := Look(dir, "x"), glanced(t, dir)
		assert.Zero(t, got.Answers)
		assert.Equal(t, uncounted(want), got, "%d bytes", i+1)
	}
}

// A visit that breaks off is read whole.
func TestGlanceAtWhatIsTorn(t *testing.T) {
	_, _, data := write(t, entries())
	dir := t.TempDir()
	name := path(dir, "x")
	for n := range data {
		require.NoError(t, os.WriteFile(name, data[:n], 0o600))
		assert.Equal(t, uncounted(Look(dir, "x")), uncounted(glanced(t, dir)), "%d bytes", n)
	}
}

// A changed byte is seen by its line, or hidden between both ends, where it changes nothing.
func TestGlanceAtWhatIsChanged(t *testing.T) {
	_, _, data := write(t, entries())
	dir := t.TempDir()
	name := path(dir, "x")
	require.NoError(t, os.WriteFile(name, data, 0o600))
	sound := uncounted(Look(dir, "x"))
	head, last := strings.Index(string(data), "\n"), strings.LastIndex(strings.TrimSpace(string(data)), "\n")
	for i := range data {
		changed := append([]byte{}, data...)
		changed[i] ^= 1
		require.NoError(t, os.WriteFile(name, changed, 0o600))
		seen, got := uncounted(Look(dir, "x")), uncounted(glanced(t, dir))
		if i <= head || i > last {
			assert.Equal(t, seen, got, "byte %d", i)
			continue
		}
		assert.Contains(t, []Item{seen, sound}, got, "byte %d", i)
	}
}

// A head or notes that are longer than what is read first.
func TestGlanceAtLongLines(t *testing.T) {
	long := strings.Repeat("# long\n", headBytes/6)
	volts := 13.1
	at := func(min int) time.Time { return start.Add(time.Duration(min) * time.Minute) }
	answer := visiting.Answer{Step: "battery_v", Kind: visiting.Took, Reading: "battery_v", Number: &volts, At: at(1)}
	note := visiting.Answer{Kind: visiting.Note, Reason: long, At: at(3)}
	for name, list := range map[string][]visiting.Entry{
		"head":      {{Head: &visiting.Head{ID: "x", SiteName: "S", SiteTOML: long, StartedAt: start}}, {Answer: &answer}},
		"notes":     {{Head: &visiting.Head{ID: "x", SiteName: "S", StartedAt: start}}, {Answer: &answer}, {End: &visiting.End{At: at(2)}}, {Answer: &note}, {Answer: &note}},
		"no more":   {{Head: &visiting.Head{ID: "x", SiteName: "S", StartedAt: start}}},
		"no answer": {{Head: &visiting.Head{ID: "x", SiteName: "S", StartedAt: start}}, {Answer: &note}},
	} {
		t.Run(name, func(t *testing.T) {
			dir, id, _ := write(t, list)
			assert.Equal(t, uncounted(Look(dir, id)), uncounted(glanced(t, dir)))
		})
	}
}

// The start screen of an office that has had many visits.
func BenchmarkFolder(b *testing.B) {
	data, err := os.ReadFile(filepath.Join("testdata", "whole"+Suffix))
	require.NoError(b, err)
	dir := b.TempDir()
	for i := range 300 {
		require.NoError(b, os.WriteFile(path(dir, fmt.Sprintf("v%d", i)), data, 0o600))
	}
	list := func(b *testing.B, list func() ([]Item, error)) {
		for b.Loop() {
			items, err := list()
			require.NoError(b, err)
			require.Len(b, items, 300)
		}
	}
	b.Run("list", func(b *testing.B) { list(b, func() ([]Item, error) { return List(dir) }) })
	b.Run("glance", func(b *testing.B) { list(b, func() ([]Item, error) { return NewShelf(dir).Glance() }) })
	shelf := NewShelf(dir)
	b.Run("again", func(b *testing.B) { list(b, shelf.Glance) })
}

// What was seen before is opened again if it has changed.
func TestShelfSeesChanges(t *testing.T) {
	dir, id, data := write(t, entries())
	shelf := NewShelf(dir)
	glance := func() Item {
		items, err := shelf.Glance()
		require.NoError(t, err)
		require.Len(t, items, 1)
		return items[0]
	}
	first := glance()
	assert.True(t, first.Finished)
	assert.Equal(t, first, glance())
	j, _, damage, err := Open(dir, id)
	require.NoError(t, err)
	require.Nil(t, damage)
	answer := *entries()[2].Answer
	answer.At = answer.At.Add(time.Hour)
	require.NoError(t, j.Append(visiting.Entry{Answer: &answer}))
	require.NoError(t, j.Close())
	assert.False(t, glance().Finished)
	assert.True(t, answer.At.Equal(glance().LastAt))

	// As many bytes as before, of another time.
	require.NoError(t, os.WriteFile(path(dir, id), data, 0o600))
	later := time.Now().Add(time.Minute)
	glance()
	require.NoError(t, os.WriteFile(path(dir, id), []byte(strings.Repeat("x", len(data))), 0o600))
	require.NoError(t, os.Chtimes(path(dir, id), later, later))
	assert.ErrorIs(t, glance().Damage, ErrUnreadable)
	require.NoError(t, os.Remove(path(dir, id)))
	items, err := shelf.Glance()
	require.NoError(t, err)
	assert.Empty(t, items)
}
