package scenarios

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"
)

// Whatever a scenario file says, it is a case that can be played or what is wrong is named.
func FuzzParse(f *testing.F) {
	files, err := filepath.Glob("cases/*" + Suffix)
	require.NoError(f, err)
	for _, file := range files[:4] {
		text, err := os.ReadFile(file)
		require.NoError(f, err)
		f.Add(text)
	}
	f.Add([]byte("site = \"../../etc/passwd\"\n[moment]\n[[condition]]\nid = \"\u202e\"\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		sc, err := Parse("x", "x", data, func(site string) ([]byte, error) { return SiteText(site) })
		if err != nil {
			shown(t, err.Error())
			return
		}
		s := NewSession(sc, "", cheap)
		for _, l := range s.State() {
			shown(t, l)
		}
	})
}

// Whatever is typed at the bench, the answer can be shown, and a closed case stays closed.
func FuzzSession(f *testing.F) {
	f.Add("help\nstate\nmeter v\nprobe array+ array-\nwait 1\nhint\nconditions")
	f.Add("array off\nclamp array\nrange 40\nzero\nlight\nwarm battery\nacid\nloads all\nfuse array out\nshort")
	f.Add("believe array-open 0.7\nweigh\ndata\nname array-open\nanswer 1\ndo array-open/fuse\nhistory")
	f.Add("meter \x1b[31m\u202e\nprobe 1 2 3 4 5 6 7 8 9\nwait -1e308\nwait 1e9 h\nbelieve x NaN\nname =x()")
	f.Fuzz(func(t *testing.T, typed string) {
		sc, ok := ByID(Embedded()[0].ID)
		require.True(t, ok)
		s := NewSession(sc, "", cheap)
		lines := strings.Split(typed, "\n")
		for _, line := range lines[:min(len(lines), 20)] {
			ended := s.Ended()
			said, err := s.Do(line)
			if err != nil {
				said = append(said, err.Error())
			}
			for _, l := range said {
				shown(t, l)
			}
			require.True(t, !ended || s.Ended())
		}
	})
}

// shown requires that a text can be shown on a terminal.
func shown(t *testing.T, text string) {
	t.Helper()
	for _, r := range text {
		require.True(t, r == '\n' || unicode.IsPrint(r) || r == '\u200c' || r == '\u200d' || r == '\u00a0', "%q", text)
	}
}
