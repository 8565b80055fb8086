package record

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
)

func welcome([]visiting.Entry) error { return nil }

// file puts text into a file of its own.
func file(t *testing.T, text string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "carried"+Suffix)
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	return name
}

// A visit carried from one folder to another is the same, byte for byte.
func TestCarried(t *testing.T) {
	dir, id, data := write(t, entries())
	var out bytes.Buffer
	damage, err := Export(path(dir, id), &out)
	require.NoError(t, err)
	require.Nil(t, damage)
	assert.Equal(t, data, out.Bytes())

	to := filepath.Join(t.TempDir(), "other")
	got, taken, damage, err := Import(to, file(t, out.String()), welcome)
	require.NoError(t, err)
	require.Nil(t, damage)
	assert.Equal(t, "x", got, "the id that stands in it")
	assert.Equal(t, TakenNew, taken)
	there, err := os.ReadFile(path(to, "x"))
	require.NoError(t, err)
	assert.Equal(t, data, there)
}

func TestImportBesideAVisit(t *testing.T) {
	l := asText(t, entries())
	changed := entries()
	changed[2].Answer.Typed = "12 V"
	other := asText(t, changed)
	all := func(lines []string) string { return strings.Join(lines, "") }
	tests := []struct {
		name, here, file string
		want             Taken
		after            string
	}{
		{"same", all(l), all(l), TakenSame, all(l)},
		{"goes on", all(l[:3]), all(l), TakenFurther, all(l)},
		{"older", all(l), all(l[:3]), TakenOlder, all(l)},
		{"torn here, whole there", all(l[:3]) + l[3][:20], all(l), TakenFurther, all(l)},
		{"another story", all(l), all(other), 0, all(l)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			require.NoError(t, os.WriteFile(path(dir, "x"), []byte(tt.here), 0o600))
			_, taken, _, err := Import(dir, file(t, tt.file), welcome)
			if tt.want == 0 {
				require.ErrorIs(t, err, ErrDiffers)
			} else {
				require.NoError(t, err)
			}
			assert.Equal(t, tt.want, taken)
			now, err := os.ReadFile(path(dir, "x"))
			require.NoError(t, err)
			assert.Equal(t, tt.after, string(now))
		})
	}
}

// Mail programs change the ends of lines; that alone is no damage. Anything else is.
func TestImportByMail(t *testing.T) {
	_, _, data := write(t, entries())
	mailed := "\ufeff" + strings.ReplaceAll(string(data), "\n", "\r\n")
	dir := t.TempDir()
	_, taken, damage, err := Import(dir, file(t, mailed), welcome)
	require.NoError(t, err)
	assert.Nil(t, damage)
	assert.Equal(t, TakenNew, taken)
	now, err := os.ReadFile(path(dir, "x"))
	require.NoError(t, err)
	assert.Equal(t, string(data), string(now))

	_, taken, damage, err = Import(t.TempDir(), file(t, string(data[:len(data)-9])), welcome)
	require.NoError(t, err)
	assert.Equal(t, TakenNew, taken)
	assert.ErrorIs(t, damage, errTorn)
}

// A stranger's file names no path and brings nothing in that is no visit.
func TestImportRefuses(t *testing.T) {
	for _, id := range []string{"../../up", "/etc/passwd", "a/b", `a\b`, "", "A", "x\x00"} {
		list := entries()
		list[0].Head.ID = id
		dir := t.TempDir()
		_, _, _, err := Import(dir, file(t, strings.Join(asText(t, list), "")), welcome)
		require.ErrorIs(t, err, ErrID, "%q", id)
		left, err := os.ReadDir(dir)
		require.NoError(t, err)
		assert.Empty(t, left)
	}
	_, _, _, err := Import(t.TempDir(), file(t, "name = 1\n"), welcome)
	require.ErrorIs(t, err, ErrUnreadable)
	dir := t.TempDir()
	_, _, _, err = Import(dir, file(t, asText(t, entries())[0]), func([]visiting.Entry) error { return visiting.ErrNoHead })
	require.ErrorIs(t, err, visiting.ErrNoHead)
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
}

func TestImportKeepsOffAVisitUnderWay(t *testing.T) {
	dir, id, data := write(t, entries())
	require.NoError(t, os.Rename(path(dir, id), path(dir, "x")))
	j, _, _, err := Open(dir, "x")
	require.NoError(t, err)
	_, _, _, err = Import(dir, file(t, string(data)), welcome)
	require.ErrorIs(t, err, ErrLocked)
	require.NoError(t, j.Close())
}

// A journal of version 1, kept as it was written: every later program must read it.
func TestVersion1IsRead(t *testing.T) {
	name := filepath.Join("testdata", "version-1"+Suffix)
	got, damage, err := Read(name)
	require.NoError(t, err)
	require.Nil(t, damage)
	require.Equal(t, asText(t, entries()), asText(t, got))
	hash, err := Fingerprint(name)
	require.NoError(t, err)
	// sed 's/.*"sha256":"\([0-9a-f]*\).*/\1/' FILE | tail -1
	assert.Equal(t, "46f1faca9ca22e660446a897484ad4199d571eda21212c9851db4c39c6a2aa2b", hash)
	for v := 1; v <= version; v++ {
		assert.Contains(t, readers, v)
	}
}

// A visit begun by the program before goes on as that one can read it.
func TestVersion1GoesOnAsItBegan(t *testing.T) {
	dir := t.TempDir()
	data, err := os.ReadFile(filepath.Join("testdata", "version-1"+Suffix))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path(dir, "x"), data, 0o600))
	j, _, _, err := Open(dir, "x")
	require.NoError(t, err)
	require.NoError(t, j.Append(visiting.Entry{Conclusion: &visiting.Conclusion{At: start}}))
	more := visiting.Entry{End: &visiting.End{At: start}}
	require.NoError(t, j.Append(more))
	require.NoError(t, j.Close())
	got, damage, err := Read(path(dir, "x"))
	require.NoError(t, err)
	require.Nil(t, damage)
	assert.Equal(t, asText(t, append(entries(), more)), asText(t, got))
}
