package tomlfile_test

import (
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/site"
)

const byHand = `# Our clinic.
name = "North"   # as on the gate

[array]  # on the roof
series = 1
fuse_a = 10      # blown twice

# the lamps of the ward
[[load]]
label = "ward"
power_w = 18

# and these
[[load]]
label = "radio"  # old
power_w = 6
[wiring]
cable = { m = 12, mm2 = 2.5 }
place.tilt_deg = 15`

func text(t *testing.T, s string) tomlfile.Text {
	t.Helper()
	x, err := tomlfile.NewText("x", []byte(s))
	require.NoError(t, err)
	return x
}

// Each change is compared with the text as a person would have changed it by hand.
func TestTextChanges(t *testing.T) {
	set := func(path string, v any, order ...string) func(tomlfile.Text) (tomlfile.Text, error) {
		return func(x tomlfile.Text) (tomlfile.Text, error) { return x.Set(path, v, order...) }
	}
	remove := func(path string) func(tomlfile.Text) (tomlfile.Text, error) {
		return func(x tomlfile.Text) (tomlfile.Text, error) { return x.Remove(path) }
	}
	appended := func(path string) func(tomlfile.Text) (tomlfile.Text, error) {
		return func(x tomlfile.Text) (tomlfile.Text, error) { return x.Append(path) }
	}
	comment := func(path, text string) func(tomlfile.Text) (tomlfile.Text, error) {
		return func(x tomlfile.Text) (tomlfile.Text, error) { return x.SetComment(path, text) }
	}
	tests := []struct {
		name     string
		change   func(tomlfile.Text) (tomlfile.Text, error)
		old, now string
	}{
		{"a value keeps its comment", set("array.fuse_a", 12.5), "fuse_a = 10      #", "fuse_a = 12.5    #"},
		{"a text", set("name", `a "b" \c`), `name = "North"   #`, `name = "a \"b\" \\c"  #`},
		{"a value in the second table", set("load.1.power_w", 7), "power_w = 6", "power_w = 7"},
		{"a value in braces", set("wiring.cable.mm2", 4), "mm2 = 2.5 }", "mm2 = 4 }"},
		{"a dotted key", set("wiring.place.tilt_deg", 20), "tilt_deg = 15", "tilt_deg = 20"},
		{"a new key at the end of its table", set("array.strings", 2), "# blown twice\n", "# blown twice\nstrings = 2\n"},
		{"a new key in its order", set("array.strings", 2, "series", "strings", "fuse_a"), "series = 1\n", "series = 1\nstrings = 2\n"},
		{"a new key of the top", set("nominal_v", 12), "the gate\n", "the gate\nnominal_v = 12\n"},
		{"a new key of a table of several", set("load.0.priority", 1), "power_w = 18\n", "power_w = 18\npriority = 1\n"},
		{"a new table", set("battery.blocks", 1), "tilt_deg = 15", "tilt_deg = 15\n\n[battery]\nblocks = 1\n"},
		{"a list", set("array.months", []float64{1, 2.5}), "# blown twice\n", "# blown twice\nmonths = [1, 2.5]\n"},
		{"a comment is new", comment("array.series", "assumed"), "series = 1\n", "series = 1  # assumed\n"},
		{"a comment is changed", comment("array.fuse_a", "checked"), "      # blown twice", "      # checked"},
		{"a comment goes", comment("array.fuse_a", ""), "      # blown twice", ""},
		{"a key goes", remove("array.fuse_a"), "fuse_a = 10      # blown twice\n", ""},
		{"a table of several goes", remove("load.0"), "[[load]]\nlabel = \"ward\"\npower_w = 18\n", ""},
		{"the last one goes", remove("load.1"), "[[load]]\nlabel = \"radio\"  # old\npower_w = 6\n", ""},
		{"a table of several more", appended("load"), "power_w = 6\n", "power_w = 6\n\n[[load]]\n"},
		{"the first of several", appended("array.lamp"), "# blown twice\n", "# blown twice\n\n[[array.lamp]]\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			require.Equal(t, 1, strings.Count(byHand, tt.old))
			for _, nl := range []string{"\n", "\r\n"} {
				as := func(s string) string { return "\ufeff" + strings.ReplaceAll(s, "\n", nl) }
				x := text(t, as(byHand))
				now, err := tt.change(x)
				require.NoError(t, err)
				assert.Equal(t, as(strings.Replace(byHand, tt.old, tt.now, 1)), string(now.Bytes()))
				assert.Equal(t, as(byHand), string(x.Bytes()), "the text before is as it was")
			}
		})
	}
}

func TestTextRefuses(t *testing.T) {
	x := text(t, byHand+"\nlist = [{ a = 1 }]\n")
	for name, change := range map[string]func() (tomlfile.Text, error){
		"a new key in braces":             func() (tomlfile.Text, error) { return x.Set("wiring.cable.fuse_a", 1) },
		"a key out of braces":             func() (tomlfile.Text, error) { return x.Remove("wiring.cable.m") },
		"a new key beside a dotted one":   func() (tomlfile.Text, error) { return x.Set("wiring.place.bearing_deg", 1) },
		"a table where a number is":       func() (tomlfile.Text, error) { return x.Set("array.series.x", 1) },
		"a value in place of a table":     func() (tomlfile.Text, error) { return x.Set("array", 1) },
		"one more in a list of one line":  func() (tomlfile.Text, error) { return x.Append("wiring.list") },
		"a table of several not there":    func() (tomlfile.Text, error) { return x.Set("load.7.power_w", 1) },
		"a comment inside braces":         func() (tomlfile.Text, error) { return x.SetComment("wiring.cable.m", "x") },
		"a comment where nothing is":      func() (tomlfile.Text, error) { return x.SetComment("array.nothing", "x") },
		"tables of several below a value": func() (tomlfile.Text, error) { return x.Append("name") },
	} {
		now, err := change()
		assert.ErrorIs(t, err, tomlfile.ErrByHand, name)
		assert.Equal(t, string(x.Bytes()), string(now.Bytes()), name)
	}
	_, err := tomlfile.NewText("x.toml", []byte("a = 1\nb ="))
	require.ErrorContains(t, err, "x.toml:2:")
	again, err := x.Remove("array.nothing")
	require.NoError(t, err)
	assert.Equal(t, x.Bytes(), again.Bytes())
}

func TestTextComments(t *testing.T) {
	x := text(t, byHand)
	for path, want := range map[string]string{"name": "as on the gate", "load.1.label": "old", "array.series": "", "nothing": "", "wiring.cable.m": ""} {
		assert.Equal(t, want, x.Comment(path), path)
	}
	x = text(t, "a = \"x # y\" # bad\u202e word\n") // control characters are refused by the reader
	assert.Equal(t, "bad word", x.Comment("a"))
}

// Whatever is changed in the example file, only the line concerned is another
// one, and everything else is read as before.
func TestTextLeavesTheRest(t *testing.T) {
	paths := []string{"name", "nominal_v", "array.module.voc_v", "controller.lamp.1.look.0.volts", "load.2.power_w", "place.tilt_deg"}
	demo := text(t, string(site.DemoTOML()))
	rapid.Check(t, func(t *rapid.T) {
		path := rapid.SampledFrom(paths).Draw(t, "path")
		var value any = rapid.Float64Range(-1e6, 1e6).Draw(t, "number")
		if rapid.Bool().Draw(t, "words") {
			value = rapid.StringMatching(`[ -~éΩ空]*`).Draw(t, "text")
		}
		now, err := demo.Set(path, value)
		require.NoError(t, err)
		was, is := strings.Split(string(demo.Bytes()), "\n"), strings.Split(string(now.Bytes()), "\n")
		require.Len(t, is, len(was))
		for i := range was {
			if i+1 != demo.Line(path) {
				require.Equal(t, was[i], is[i])
			}
		}
		require.Equal(t, demo.Comment(path), now.Comment(path))
		got, ok := now.Value(path)
		require.True(t, ok)
		require.EqualValues(t, value, got)
		back, err := now.Set(path, first(demo.Value(path)))
		require.NoError(t, err)
		var a, b map[string]any
		require.NoError(t, toml.Unmarshal(demo.Bytes(), &a))
		require.NoError(t, toml.Unmarshal(back.Bytes(), &b))
		require.Equal(t, a, b)
	})
}

// first is a value as it can be set again.
func first(v any, _ bool) any {
	if n, ok := v.(int64); ok {
		return int(n)
	}
	return v
}

func FuzzText(f *testing.F) {
	f.Add([]byte(byHand), "array.fuse_a")
	f.Add([]byte("a.b = 1\r\n[a.c]\nx = [1,\n2] # y"), "a.c.x")
	f.Add(site.DemoTOML(), "load.0.power_w")
	f.Fuzz(func(t *testing.T, data []byte, path string) {
		x, err := tomlfile.NewText("x", data)
		if err != nil {
			return
		}
		for _, change := range []func() (tomlfile.Text, error){
			func() (tomlfile.Text, error) { return x.Set(path, 1) },
			func() (tomlfile.Text, error) { return x.Remove(path) },
			func() (tomlfile.Text, error) { return x.Append(path) },
			func() (tomlfile.Text, error) { return x.SetComment(path, "assumed") },
		} {
			now, err := change()
			if err != nil {
				require.Equal(t, x.Bytes(), now.Bytes())
				continue
			}
			var v map[string]any
			require.NoError(t, toml.Unmarshal([]byte(strings.TrimPrefix(string(now.Bytes()), "\ufeff")), &v))
		}
	})
}
