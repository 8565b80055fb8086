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
	"ampwalk/diagnose/internal/hashchain"
	"ampwalk/diagnose/physics/reading"
)

var start = time.Date(2026, 11, 20, 10, 30, 0, 0, time.FixedZone("", 7200))

// entries is a short visit: head, readings with every kind of value, a note, a
// refusal and the end.
func entries() []visiting.Entry {
	volts := 13.1
	at := func(min int) time.Time { return start.Add(time.Duration(min) * time.Minute) }
	answers := []visiting.Answer{
		{Step: "sky", Kind: visiting.Took, Reading: reading.Sky, Typed: "clear", Word: "clear", At: at(1)},
		{Step: "battery_v", Kind: visiting.Took, Reading: reading.BatteryV, Typed: "13,1 V", Number: &volts, At: at(2)},
		{Step: "gravity", Kind: visiting.Took, Reading: reading.Gravity, Typed: "1.26 1.25", List: []float64{1.26, 1.25}, Doubted: true, At: at(3)},
		{Step: "gravity", Kind: visiting.Note, Reason: "ligne 1\nπ \x1b[31m", At: at(4)},
		{Step: "post_v", Kind: visiting.Cannot, Reading: reading.PostV, Reason: "cover is locked", At: at(5)},
	}
	list := []visiting.Entry{{Head: &visiting.Head{ID: "x", SiteName: "Dry Ridge", SiteTOML: "name = \"Dry Ridge\"\n", Who: "A. B.", StartedAt: start}}}
	for _, a := range answers {
		list = append(list, visiting.Entry{Answer: &a})
	}
	return append(list, visiting.Entry{End: &visiting.End{At: at(6)}})
}

func headOf(siteName string) visiting.Head {
	return visiting.Head{SiteName: siteName, StartedAt: start}
}

// write keeps list in a new journal and gives its folder, id and bytes.
func write(t *testing.T, list []visiting.Entry) (dir, id string, data []byte) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "deep", "visits")
	j, err := Create(dir, headOf("Dry Ridge dispensary"))
	require.NoError(t, err)
	for _, e := range list {
		require.NoError(t, j.Append(e))
	}
	require.NoError(t, j.Close())
	data, err = os.ReadFile(path(dir, j.ID()))
	require.NoError(t, err)
	return dir, j.ID(), data
}

func asText(t *testing.T, list []visiting.Entry) []string {
	t.Helper()
	text := []string{}
	prev := ""
	for _, e := range list {
		line, hash, err := link(prev, e)
		require.NoError(t, err)
		text, prev = append(text, string(line)), hash
	}
	return text
}

func TestWhatIsAppendedComesBack(t *testing.T) {
	dir, id, data := write(t, entries())
	assert.Regexp(t, "^20261120-1030-dry-ridge-dispensary-[a-z2-7]{6}$", id)
	assert.Equal(t, strings.Join(asText(t, entries()), ""), string(data))

	j, got, damage, err := Open(dir, id)
	require.NoError(t, err)
	assert.Nil(t, damage)
	assert.Equal(t, asText(t, entries()), asText(t, got))

	more := visiting.Entry{Answer: &visiting.Answer{Step: "sky", Kind: visiting.Took, Word: "hazy", At: start}}
	require.NoError(t, j.Append(more))
	require.NoError(t, j.Close())
	assert.ErrorIs(t, j.Append(more), os.ErrClosed)

	got, damage, err = Read(path(dir, id))
	require.NoError(t, err)
	assert.Nil(t, damage)
	assert.Equal(t, asText(t, append(entries(), more)), asText(t, got))
}

// The first line by hand, so that the format cannot drift unseen: SHA-256 made
// with coreutils' sha256sum.
func TestFormatIsAsDocumented(t *testing.T) {
	line, _, err := link("", visiting.Entry{End: &visiting.End{At: time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC)}})
	require.NoError(t, err)
	// printf '%s' '"version":3,"end":{"at":"2026-01-02T03:04:05Z"}}' | sha256sum
	assert.Equal(t, `{"sha256":"cbb023052f59c3f21707095bef590eeec27cf419f176bda27ed25c221563ad23","version":3,"end":{"at":"2026-01-02T03:04:05Z"}}`+"\n", string(line))
}

// Every truncation is recovered up to its last whole line, and one inside a
// line is reported.
func TestTruncatedAtEveryByte(t *testing.T) {
	_, _, data := write(t, entries())
	want := asText(t, entries())
	for n := range data {
		k := check(data[:n])
		whole := strings.Count(string(data[:n]), "\n")
		require.Equal(t, want[:whole], asText(t, k.entries), "cut at %d", n)
		atBoundary := n == 0 || data[n-1] == '\n'
		require.Equal(t, atBoundary, k.damage == nil, "cut at %d", n)
		if !atBoundary {
			require.ErrorIs(t, k.damage, errTorn)
			require.Equal(t, whole+1, k.damage.Line)
		}
	}
}

// Every changed byte is found, and what lies before its line is recovered.
func TestEveryByteFlipped(t *testing.T) {
	_, _, data := write(t, entries())
	want := asText(t, entries())
	for i := range data {
		for bit := range 8 {
			bad := append([]byte(nil), data...)
			bad[i] ^= 1 << bit
			k := check(bad)
			whole := strings.Count(string(data[:i]), "\n")
			require.NotNil(t, k.damage, "byte %d bit %d", i, bit)
			require.Equal(t, want[:whole], asText(t, k.entries), "byte %d bit %d", i, bit)
		}
	}
}

// Lines moved, left out, doubled or brought in from another visit are found.
func TestChainBreaks(t *testing.T) {
	l := asText(t, entries())
	other := entries()
	other[0].Head.Who = "someone else"
	o := asText(t, other)
	tests := []struct {
		name  string
		lines []string
		whole int
	}{
		{"left out", []string{l[0], l[2], l[3]}, 1},
		{"exchanged", []string{l[0], l[2], l[1]}, 1},
		{"doubled", []string{l[0], l[1], l[1]}, 2},
		{"from another visit", []string{l[0], l[1], o[2]}, 2},
		{"second head", []string{l[0], l[0]}, 1},
		{"empty line", []string{l[0], "\n", l[1]}, 1},
		{"zeros after a power cut", []string{l[0], l[1], strings.Repeat("\x00", 512)}, 2},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			k := check([]byte(strings.Join(tt.lines, "")))
			require.NotNil(t, k.damage)
			assert.Equal(t, l[:tt.whole], asText(t, k.entries))
		})
	}
}

func TestHeadOfANewerProgram(t *testing.T) {
	line, _ := hashchain.Link("", fmt.Appendf(nil, `{"version":%d,"head":{"id":"x"}}`, version+1))
	k := check(append(line, '\n'))
	assert.ErrorIs(t, k.damage, errVersion)
	assert.Empty(t, k.entries)
}

func TestTornEndIsSetAsideBeforeItIsCut(t *testing.T) {
	dir, id, data := write(t, entries())
	name := path(dir, id)
	for round := range 2 {
		torn := append(append([]byte(nil), data...), fmt.Sprintf(`{"sha256":"torn %d`, round)...)
		require.NoError(t, os.WriteFile(name, torn, 0o600))

		_, damage, err := Read(name)
		require.NoError(t, err)
		require.NotNil(t, damage)
		assert.Empty(t, damage.Aside, "reading changes nothing")

		j, got, damage, err := Open(dir, id)
		require.NoError(t, err)
		require.NotNil(t, damage)
		assert.Len(t, got, len(entries()))
		aside, err := os.ReadFile(damage.Aside)
		require.NoError(t, err)
		assert.Equal(t, string(torn[len(data):]), string(aside))
		require.NoError(t, j.Close())
		now, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Equal(t, string(data), string(now))
	}
}

func TestNothingReadable(t *testing.T) {
	tests := []struct{ name, data string }{
		{"empty", ""},
		{"not a visit", "name = \"Dry Ridge\"\n"},
		{"first line damaged", strings.Replace(asText(t, entries())[0], "Dry", "Wet", 1)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(path(dir, "a"), []byte(tt.data), 0o600))
			_, _, _, err := Open(dir, "a")
			require.ErrorIs(t, err, ErrUnreadable)
			left, err := os.ReadFile(path(dir, "a"))
			require.NoError(t, err)
			assert.Equal(t, tt.data, string(left), "the file is left as it was")
		})
	}
}

func TestOneWriterAtATime(t *testing.T) {
	dir, id, _ := write(t, entries())
	j, _, _, err := Open(dir, id)
	require.NoError(t, err)
	_, _, _, err = Open(dir, id)
	require.ErrorIs(t, err, ErrLocked)
	_, _, err = Read(path(dir, id))
	require.NoError(t, err, "reading needs no lock")
	require.NoError(t, j.Close())
	j, _, _, err = Open(dir, id)
	require.NoError(t, err)
	require.NoError(t, j.Close())
}

func TestCreateNeverReusesAFile(t *testing.T) {
	dir := t.TempDir()
	ids := map[string]bool{}
	for range 3 {
		j, err := Create(dir, headOf("../../etc/Säule\x1b[2J"))
		require.NoError(t, err)
		defer j.Close()
		ids[j.ID()] = true
		assert.Regexp(t, idForm, j.ID())
	}
	assert.Len(t, ids, 3)
}

// On two machines nothing but the head tells two visits apart: whatever differs in it
// must differ in the id, also where the site's name has no letter of an id.
func TestIDsOfTwoMachines(t *testing.T) {
	id := func(h visiting.Head) string {
		j, err := Create(t.TempDir(), h)
		require.NoError(t, err)
		require.NoError(t, j.Close())
		return j.ID()
	}
	h := visiting.Head{SiteName: "مدرسة الوادي", SiteTOML: "a", Who: "A. Visitor", StartedAt: start}
	first := id(h)
	assert.Regexp(t, "^20261120-1030-site-", first)
	assert.Equal(t, first, id(h), "the same head gives the same")
	others := map[string]bool{first: true}
	for _, change := range []func(h *visiting.Head){
		func(h *visiting.Head) { h.SiteName = "水车站" },
		func(h *visiting.Head) { h.SiteTOML = "b" },
		func(h *visiting.Head) { h.Who = "B. Visitor" },
		func(h *visiting.Head) { h.StartedAt = h.StartedAt.Add(1) },
	} {
		other := h
		change(&other)
		others[id(other)] = true
	}
	assert.Len(t, others, 5)
}

func TestOpenRefusesPaths(t *testing.T) {
	for _, id := range []string{"", "../x", "a/b", `a\b`, "A", ".x", "a.b"} {
		_, _, _, err := Open(t.TempDir(), id)
		assert.ErrorIs(t, err, ErrID, "%q", id)
	}
	_, _, _, err := Open(t.TempDir(), "not-there")
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestDiscard(t *testing.T) {
	dir := t.TempDir()
	j, err := Create(dir, headOf("x"))
	require.NoError(t, err)
	require.NoError(t, j.Discard())
	items, err := List(dir)
	require.NoError(t, err)
	assert.Empty(t, items)

	j, err = Create(dir, headOf("a head alone"))
	require.NoError(t, err)
	all := entries()
	require.NoError(t, j.Append(all[0]))
	require.NoError(t, j.Discard(), "nobody has answered anything")
	j, err = Create(dir, headOf("answered"))
	require.NoError(t, err)
	require.NoError(t, j.Append(all[0]))
	require.NoError(t, j.Append(all[1]))
	require.Error(t, j.Discard())
	require.NoError(t, j.Close())
	items, err = List(dir)
	require.NoError(t, err)
	assert.Len(t, items, 1, "what was answered stays")
}

func TestList(t *testing.T) {
	dir := t.TempDir()
	keep := func(name string, list []visiting.Entry) {
		j, err := Create(dir, headOf(name))
		require.NoError(t, err)
		for _, e := range list {
			require.NoError(t, j.Append(e))
		}
		require.NoError(t, j.Close())
	}
	all := entries()
	keep("finished", all)
	keep("under way", all[:3])
	reopened := append(entries(), visiting.Entry{Answer: &visiting.Answer{Step: "sky", Kind: visiting.Took, At: start.Add(time.Hour)}})
	keep("reopened", reopened)
	require.NoError(t, os.WriteFile(path(dir, "broken"), []byte("{"), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "notes.txt"), nil, 0o600))

	items, err := List(dir)
	require.NoError(t, err)
	require.Len(t, items, 4)
	assert.Contains(t, items[0].ID, "20261120-1030-reopened")
	assert.False(t, items[0].Finished)
	assert.Equal(t, 5, items[0].Answers)
	assert.Contains(t, items[1].ID, "20261120-1030-finished")
	assert.True(t, items[1].Finished)
	assert.Equal(t, 4, items[1].Answers)
	assert.Equal(t, "Dry Ridge", items[1].SiteName)
	assert.Contains(t, items[2].ID, "20261120-1030-under-way")
	assert.False(t, items[2].Finished)
	assert.Equal(t, 2, items[2].Answers)
	assert.Equal(t, "broken", items[3].ID)
	assert.ErrorIs(t, items[3].Damage, ErrUnreadable)

	none, err := List(filepath.Join(dir, "missing"))
	require.NoError(t, err)
	assert.Empty(t, none)
}

func TestDir(t *testing.T) {
	tests := []struct {
		name, given, goos string
		env               map[string]string
		want              string
	}{
		{"option first", "here", "linux", map[string]string{"AMPWALK_DATA": "there"}, "here"},
		{"own variable", "", "linux", map[string]string{"AMPWALK_DATA": "there", "HOME": "/h"}, "there"},
		{"xdg", "", "linux", map[string]string{"XDG_DATA_HOME": "/x", "HOME": "/h"}, "/x/ampwalk"},
		{"xdg not absolute", "", "linux", map[string]string{"XDG_DATA_HOME": "x", "HOME": "/h"}, "/h/.local/share/ampwalk"},
		{"home", "", "freebsd", map[string]string{"HOME": "/h"}, "/h/.local/share/ampwalk"},
		{"mac", "", "darwin", map[string]string{"HOME": "/h", "XDG_DATA_HOME": "/x"}, "/h/Library/Application Support/ampwalk"},
		{"windows", "", "windows", map[string]string{"LocalAppData": "/l", "HOME": "/h"}, "/l/ampwalk"},
		{"nowhere", "", "linux", nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := Dir(tt.given, tt.goos, func(k string) string { return tt.env[k] })
			if tt.want == "" {
				require.ErrorIs(t, err, ErrNoDir)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, filepath.FromSlash(tt.want), got)
		})
	}
}
