package plaintext_test

import (
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/base/plaintext"
)

func TestClean(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"plain", "ward lamps, 18 W", "ward lamps, 18 W"},
		{"other scripts", "wüst 25 °C Ω 診療所 देवी \u0646\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645", "wüst 25 °C Ω 診療所 देवी \u0646\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645"},
		{"lines and tabs", "a\r\nb\tc\u2028d\u00a0e", "a  b c d e"},
		{"colour", "\x1b[1;31mred\x1b[0m", "red"},
		{"title", "a\x1b]0;title\x07b\x1b]2;t\x1b\\c", "abc"},
		{"title without end", "a\x1b]0;title", "a0;title"},
		{"reset and alternate characters", "a\x1bcb\x1b(0c", "abc"},
		{"escape alone", "a\x1b", "a"},
		{"device control", "a\x1bPq#0\x1b\\b", "ab"},
		{"C0 and DEL", "a\x00\x07\x08\x7fb", "ab"},
		{"C1", "a\u009b31mb\u0085c", "a31mb c"},
		{"writing direction", "a\u202egpj.exe\u2066b\u200f\u061c", "agpj.exeb"},
		{"invisible", "a\u200b\ufeff\U000e0041\u00adb", "ab"},
		{"not UTF-8", "a\x9b\xffb", "a\ufffdb"},
		{"nested", "\x1b\x1b[31m[31mx", "[31mx"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, plaintext.Clean(tt.text))
		})
	}
}

func TestCleanLines(t *testing.T) {
	assert.Equal(t, "a\n\n b \n", plaintext.CleanLines("\x1b[1ma\n\n\tb\r\n"))
}

func FuzzClean(f *testing.F) {
	for _, text := range []string{"", "plain", "\x1b[31mred", "\x1b]0;x\x07", "\u009b2J", "\u202eabc", "\xff\xfe", "\x1b\x1b[mx"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		clean := plaintext.Clean(text)
		assert.True(t, utf8.ValidString(clean))
		for _, r := range clean {
			assert.True(t, unicode.IsPrint(r) || r == '\u200c' || r == '\u200d', "%U", r)
		}
		assert.Equal(t, clean, plaintext.Clean(clean))
	})
}
