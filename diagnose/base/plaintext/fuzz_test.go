package plaintext_test

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/plaintext"
)

// No letter is lost by breaking a text into lines, and no line is wider than asked for.
func FuzzWrap(f *testing.F) {
	f.Add("the array circuit is open, 12.6 V", 11)
	f.Add("e\u0301e\u0301 \u202e電池\u00a0x \x1b[31mred", 2)
	f.Fuzz(func(t *testing.T, text string, w int) {
		w = max(2, w%300)
		bare := func(text string) string { return strings.ReplaceAll(text, " ", "") }
		lines := plaintext.Wrap(text, w)
		require.Equal(t, bare(plaintext.Clean(text)), bare(strings.Join(lines, "")))
		for _, l := range lines {
			require.LessOrEqual(t, ansi.StringWidth(l), w)
		}
		plaintext.WrapIndented(text, w)
	})
}

// No cell begins a formula, and nothing of the text is lost.
func FuzzCell(f *testing.F) {
	for _, text := range []string{"=1+1", "+1", "-2", "@x", "\t=1", " \u3000=1", "＝1", "A-1", "", "\u00a0\r=x"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		cell := plaintext.Cell(text)
		require.Equal(t, text, strings.TrimPrefix(cell, strings.TrimSuffix(cell, text)))
		rest := strings.TrimLeft(cell, " \u3000\u00a0")
		require.False(t, strings.IndexAny(rest, "=+-@＝＋－＠\t\r\n") == 0, "%q", cell)
	})
}
