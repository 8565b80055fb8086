package tomlfile_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/tomlfile"
)

var anyNumber = tomlfile.Range{Min: -1e6, Max: 1e6}

func open(t *testing.T, text string) *tomlfile.Table {
	t.Helper()
	top, err := tomlfile.Open("f", []byte(text))
	require.NoError(t, err)
	return top
}

// at lists the problems as line and key.
func at(t *testing.T, err error) map[string]int {
	t.Helper()
	if err == nil {
		return nil
	}
	var problems tomlfile.Problems
	require.ErrorAs(t, err, &problems)
	lines := map[string]int{}
	for _, p := range problems {
		assert.Equal(t, "f", p.File)
		lines[p.Key] = p.Line
	}
	return lines
}

func TestValues(t *testing.T) {
	top := open(t, "\ufeff"+`
n = 1.5
whole = 3
yes = true
text = "wüst"
word = "b"
one = "a"
many = ["a", "b"]
list = [1, 2.5]
at = 2026-11-20T10:30:00+02:00
`)
	assert.Equal(t, 1.5, top.Number("n", anyNumber))
	assert.Equal(t, 3.0, top.Number("whole", anyNumber)) // TOML writes whole numbers without a point
	assert.Equal(t, 3, top.Count("whole", 0, 9))
	assert.Equal(t, 7.0, top.NumberOr("absent", anyNumber, 7))
	assert.True(t, top.Bool("yes"))
	assert.Equal(t, "wüst", top.Text("text"))
	assert.Empty(t, top.TextIfAny("nothing"))
	assert.Equal(t, "b", top.Word("word", "a", "b"))
	assert.Equal(t, []string{"a"}, top.Words("one", "a", "b"))
	assert.Equal(t, []string{"a", "b"}, top.Words("many", "a", "b"))
	assert.Equal(t, []string{"a", "b"}, top.Texts("many"))
	assert.Equal(t, []float64{1, 2.5}, top.Numbers("list", anyNumber))
	assert.True(t, time.Date(2026, 11, 20, 8, 30, 0, 0, time.UTC).Equal(top.Time("at")))
	assert.True(t, top.Sound("n", "whole", "list"))
	assert.False(t, top.Sound("absent"))
	assert.NoError(t, top.Err())
}

func TestWrongTypes(t *testing.T) {
	for name, text := range map[string]string{
		"n": "n = \"1\"", "count": "count = 1.0", "list": "list = 1", "entry": "entry = [1, \"2\"]", "yes": "yes = \"true\"",
		"text": "text = true", "texts": "texts = [1]", "word": "word = []", "words": "words = [2]", "none": "none = []", "twice": "twice = [\"a\", \"a\"]",
		"at": "at = 2026-11-20T10:30:00", "day": "day = 2026-11-20", "hour": "hour = 10:30:00",
		"table": "table = 1", "tables": "tables = [1]", "single": "[single]",
		"nan": "nan = nan", "inf": "inf = +inf", "high": "high = 1e7", "deep": "deep = [[1]]",
	} {
		t.Run(name, func(t *testing.T) {
			top := open(t, "# one line above\n"+text)
			switch name {
			case "n", "nan", "inf", "high":
				assert.Zero(t, top.Number(name, anyNumber))
			case "count":
				assert.Zero(t, top.Count(name, 0, 9))
			case "list", "entry", "deep":
				assert.Nil(t, top.Numbers(name, anyNumber))
			case "yes":
				assert.False(t, top.Bool(name))
			case "text":
				assert.Empty(t, top.Text(name))
			case "texts":
				top.Texts(name)
			case "word":
				assert.Empty(t, top.Word(name, "a"))
			case "words", "none", "twice":
				top.Words(name, "a")
			case "at", "day", "hour":
				assert.Zero(t, top.Time(name))
			case "table":
				assert.False(t, top.Table(name).Present())
			case "tables", "single":
				assert.Empty(t, top.Tables(name))
			}
			assert.False(t, top.Sound(name))
			assert.Equal(t, map[string]int{name: 2}, at(t, top.Err()))
		})
	}
}

// Every way in which TOML can place a key leads to its line.
func TestLines(t *testing.T) {
	top := open(t, `a.b = 1
[t]
x = 1
"odd key" = 2
inline = { p = 1, q = { r = 2 } }
many = [
  { x = 1 },
  { x = 2 }
]
[[list]]
x = 1
[[list.below]]
x = 1
[[list]]
[[list.below]]
[[list.below]]
x = 2
[list.below.last]
x = 3
text = """
[x]
"""
[late.sub]
`)
	for _, key := range []string{"a", "t", "list", "late"} {
		require.True(t, top.Has(key))
	}
	a, tt := top.Table("a"), top.Table("t")
	list, late := top.Tables("list"), top.Table("late")
	require.Len(t, list, 2)
	tt.Has("many")
	many := tt.Tables("many")
	require.Len(t, many, 2)
	below := list[1].Tables("below")
	require.Len(t, below, 2)
	q := tt.Table("inline").Table("q")
	tables := map[*tomlfile.Table]map[string]int{
		a:                      {"b": 1, "missing": 1},
		tt:                     {"x": 3, "odd key": 4, "missing": 2},
		q:                      {"r": 5, "missing": 5},
		many[1]:                {"x": 8},
		list[0]:                {"x": 11, "missing": 10},
		list[1]:                {"missing": 14},
		below[0]:               {"missing": 15},
		below[1]:               {"x": 17, "missing": 16},
		below[1].Table("last"): {"x": 19, "text": 20, "missing": 18},
		late:                   {"sub": 23},
	}
	for table, names := range tables {
		for name, line := range names {
			table.Report(name, "here")
			var problems tomlfile.Problems
			require.ErrorAs(t, table.Err(), &problems)
			found := false
			for _, p := range problems {
				found = found || p.Msg == "here" && p.Line == line
			}
			assert.True(t, found, "%s at line %d: %v", name, line, problems)
		}
	}
}

func TestUnknownKeys(t *testing.T) {
	top := open(t, "known = 1\nknwon = 2\n[below]\nstray = 1\n[[rows]]\nx = 1\ny = 2\n[other]\nz = 1\n")
	top.Number("known", anyNumber)
	top.Table("below")
	for _, row := range top.Tables("rows") {
		row.Number("x", anyNumber)
	}
	err := top.Err()
	assert.Equal(t, map[string]int{"knwon": 2, "below.stray": 4, "rows.y": 7, "other": 8}, at(t, err))
	assert.EqualError(t, err, `f:2: knwon: unknown key; did you mean known?
f:4: below.stray: unknown key; no key is expected here
f:7: rows.y: unknown key; expected one of x
f:8: other: unknown key; expected one of below, known, rows`)
}

// A table that is missing is told once, not once for each of its keys.
func TestMissing(t *testing.T) {
	top := open(t, "[here]\n")
	gone := top.Table("gone")
	assert.Zero(t, gone.Number("x", anyNumber))
	assert.Empty(t, gone.Table("deeper").Text("y"))
	top.Table("here").Number("x", anyNumber)
	assert.False(t, top.TableIfAny("maybe").Present())
	assert.Equal(t, map[string]int{"gone": 1, "here.x": 1}, at(t, top.Err()))
}

// A file cannot speak to the terminal through a message.
func TestHostileNames(t *testing.T) {
	top, err := tomlfile.Open("a\x1b]0;x\x07b\nc", []byte("\"k\\u001b[2J\" = \"v\"\nt = \"\\u202e\""))
	require.NoError(t, err)
	top.Text("t")
	assert.EqualError(t, top.Err(), `ab c:1: "k\x1b[2J": unknown key; expected one of t
ab c:2: t: "\u202e" has control or invisible characters; expected plain text on one line`)
}

func TestRange(t *testing.T) {
	r := tomlfile.Range{Min: 0.1, Max: 1.0 / 3, Unit: "V"}
	assert.Equal(t, "0.1 to 0.3333 V", r.String())
	assert.True(t, r.Contains(0.1))
	assert.False(t, r.Contains(0.09999))
	assert.False(t, r.Contains(0/zero))
}

var zero float64
