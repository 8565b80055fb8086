package tui

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/require"
)

// Whatever keys are pressed and whatever is pasted, every frame fits the window and holds
// nothing that commands the terminal but what the program draws.
func FuzzKeysAndPastes(f *testing.F) {
	names := slices.Sorted(maps.Keys(special))
	names = slices.DeleteFunc(names, func(n string) bool { return n == "ctrl+c" || n == "f10" })
	key := func(name string) byte { return byte(128 + slices.Index(names, name)) }
	enter := key("enter")
	f.Add([]byte{'4', enter, enter, enter, '1', enter, key("f1"), key("esc"), key("f5")}, "12,6 V\n")
	f.Add([]byte{'4', enter, enter, enter, 'p', key("f2"), key("down"), enter, 'p'}, "\x1b]0;x\x07\x1b[2J\u202e=x()")
	f.Add([]byte{key("f3"), 'p', key("f4"), enter, key("f9"), '0', '9', key("left")}, strings.Repeat("電\u0301", 300))
	f.Add([]byte{1, '4', 2, enter, 3, enter, 4, enter, 'p'}, "\xff\x00</script>")
	widths := []int{80, 40, 1, 300, 0}
	f.Fuzz(func(t *testing.T, keys []byte, pasted string) {
		d := drive(nil, realVisits(&inMemory{}))
		w, h := 80, 24
		for _, k := range keys[:min(len(keys), 60)] {
			switch {
			case d.quit:
				return
			case int(k) < len(widths):
				w, h = widths[k], 24/(1+int(k))
				d.size(w, h)
			case k >= 128:
				d.press(names[int(k-128)%len(names)])
			case k == 'p':
				d.paste(pasted)
			default:
				d.press(string(rune(k)))
			}
			frame := d.m.View()
			require.NotContains(t, ansi.Strip(frame), "\x1b")
			require.NotContains(t, frame, "\u202e")
			lines := strings.Split(frame, "\n")
			require.True(t, len(lines) <= max(h, 1), "%d lines in %d:\n%s", len(lines), h, frame)
			for _, l := range lines {
				require.LessOrEqual(t, ansi.StringWidth(l), max(w, 1), "%d x %d:\n%s", w, h, frame)
			}
		}
	})
}
