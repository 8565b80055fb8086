package plaintext_test

import (
	"strconv"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/base/plaintext"
)

func TestWrap(t *testing.T) {
	tests := []struct {
		name, text string
		w          int
		want       []string
	}{
		{"nothing", "  ", 10, []string{""}},
		{"words", "the array circuit is open", 11, []string{"the array", "circuit is", "open"}},
		{"a number and its unit", "it shows 12.6 V now", 14, []string{"it shows", "12.6 V now"}},
		{"percent", "above about 99 % of it", 14, []string{"above about", "99 % of it"}},
		{"a unit is a word", "there are 2 Visits here", 13, []string{"there are 2", "Visits here"}},
		{"signs and days", "from -4 mV on 2026-11-27", 12, []string{"from -4 mV", "on", "2026-11-27"}},
		{"blanks within", "a  b", 10, []string{"a  b"}},
		{"blanks at the end of a line", "aaaa   bbbb", 5, []string{"aaaa", "bbbb"}},
		{"a long word", "see aaaaaaaaaaaa b", 8, []string{"see aaaa", "aaaaaaaa", "b"}},
		{"no blanks in the writing", "看: 电池没有充电", 8, []string{"看: 电池", "没有充电"}},
		{"combining", "e\u0301e\u0301e\u0301", 2, []string{"e\u0301e\u0301", "e\u0301"}},
		{"narrower than a letter", "电池", 1, []string{"电", "池"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, plaintext.Wrap(tt.text, tt.w))
		})
	}
	assert.Equal(t, []string{"  - one", "  two"}, plaintext.WrapIndented("  - one two", 8))
}

// The time of breaking a word grows with its length and not with the square of it: a
// name of a million letters would take minutes.
func BenchmarkWrapLongWord(b *testing.B) {
	for _, n := range []int{1000, 1_000_000} {
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			word := strings.Repeat("a", n)
			for b.Loop() {
				plaintext.Wrap(word, 78)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/letter")
		})
	}
}

func TestWrapHugeWord(t *testing.T) {
	lines := plaintext.Wrap(strings.Repeat("電", 1_000_000)+" "+strings.Repeat("e\u0301", 1_000_000), 78)
	assert.Len(t, lines, 1_000_000/39+1+1_000_000/78)
}

// Whatever a text is, no line is wider than asked for and no letter is lost.
func TestWrapKeepsAll(t *testing.T) {
	bare := func(text string) string { return strings.ReplaceAll(text, " ", "") }
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.OneOf(rapid.Rune(), rapid.RuneFrom([]rune("  1 V%ab-电\u0301")))).Draw(t, "text")
		w := rapid.IntRange(2, 30).Draw(t, "w")
		lines := plaintext.Wrap(text, w)
		assert.Equal(t, bare(plaintext.Clean(text)), bare(strings.Join(lines, "")))
		for _, l := range lines {
			assert.LessOrEqual(t, ansi.StringWidth(l), w, "%q", l)
		}
	})
}
