package plain_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/plain"
)

type described struct {
	out  string
	file []byte
	kept int
	err  error
}

// describing describes a site from a text with the lines as input.
func describing(t *testing.T, text []byte, lines ...string) described {
	t.Helper()
	d, err := siteform.Open("x", text)
	require.NoError(t, err)
	var out strings.Builder
	r := described{file: text}
	r.err = plain.Describe(plain.DescribeOptions{
		Draft: d, Path: "x.site.toml", In: strings.NewReader(strings.Join(lines, "\n") + "\n"), Out: &out,
		Keep: func(text []byte) error {
			r.file, r.kept = bytes.Clone(text), r.kept+1
			return nil
		},
		Remarks: func(siteform.Draft) []string { return []string{"air"} },
	})
	r.out = out.String()
	for l := range strings.SplitSeq(r.out, "\n") {
		require.LessOrEqual(t, ansi.StringWidth(l), 80)
	}
	return r
}

// The demo's plates read out to the questions give the demo site.
func TestDescribeLineByLine(t *testing.T) {
	start, err := siteform.New("Lantern Hill clinic")
	require.NoError(t, err)
	want, err := siteform.Open("demo", site.DemoTOML())
	require.NoError(t, err)
	// The questions of the finished file are those that came up, save that after
	// each lamp, look and load stood whether there is another.
	lines := []string{"more", "go 1", ""}
	more := map[string]int{}
	for _, q := range want.Questions()[1:] {
		if q.Form == siteform.More {
			lines = append(lines, "no")
			continue
		}
		if i := strings.LastIndexByte(q.Group, '.'); i >= 0 && more[q.Group] == 0 {
			more[q.Group]++
			lines = append(lines, "yes")
		}
		lines = append(lines, want.Answer(q))
	}
	r := describing(t, start.Bytes(), lines...)
	require.NoError(t, r.err)
	got, err := site.Parse("x", r.file)
	require.NoError(t, err, r.out)
	assert.Equal(t, site.Demo(), got)
	assert.Contains(t, r.out, "\nComplete. A visit can begin: ampwalk --site x.site.toml\n")
	assert.Contains(t, r.out, "\nRemark: air\n")
	assert.NotContains(t, r.out, "%!")
}

func TestDescribeChanges(t *testing.T) {
	demo := string(site.DemoTOML())
	tests := []struct {
		name     string
		lines    []string
		said     []string
		old, now string // in the file; "" for nothing
	}{
		{"an empty line keeps", []string{"go 13", "", "done"}, []string{"So far: 18 V\n", "an empty line keeps 18"}, "", ""},
		{"a value", []string{"go 16", "3,0 A", "done"}, []string{"Saved: 3 A\n"}, "isc_a = 2.97 ", "isc_a = 3    "},
		{"what does not agree is asked again", []string{"go 16", "2.5", "2.9", "done"}, []string{"Check: Current at maximum power, Imp: 2.78 A is not below Isc", "Type yes", "Saved: 2.9 A\n"}, "isc_a = 2.97 ", "isc_a = 2.9  "},
		{"and kept on a yes", []string{"go 16", "2.5", "yes", "done"}, []string{"Not right yet:\n", "  Module, Current at maximum power, Imp\n", "Continue with: ampwalk site edit x.site.toml"}, "isc_a = 2.97 ", "isc_a = 2.5  "},
		{"another value that does not agree is doubted too", []string{"go 16", "2.5", "2.6", "done"}, nil, "", ""},
		{"no answer", []string{"go 16", "much", "done"}, []string{`Problem: "much": it is not a number`}, "", ""},
		{"left open", []string{"go 16", "open", "done"}, []string{"Left open.\n", "Left to answer:\n  Module, Short-circuit current, Isc\n"}, "isc_a = 2.97                     # short-circuit current\n", ""},
		{"assumed", []string{"go 16", "assume", "back", "done"}, []string{"Saved: 2.96 A, assumed\n", "Assumed: Short-circuit current, Isc. "}, "isc_a = 2.97                     # short-circuit current", "isc_a = 2.96                     # assumed, give or take 4 %; short-circuit current"},
		{"and then read", []string{"go 16", "assume", "back", "checked", "checked", "done"}, []string{"Saved: 2.96 A\n", "Problem: it is not assumed"}, "isc_a = 2.97 ", "isc_a = 2.96 "},
		{"undone", []string{"go 16", "3.1", "undo", "undo", "done"}, []string{"The last change is undone.", "Problem: nothing is changed yet."}, "", ""},
		{"a load goes", []string{"go 75", "remove", "done"}, []string{"Removed."}, "[[load]]\nlabel = \"phone charging\"\npower_w = 10\nhours_per_day = 4\npriority = 3\n\n", ""},
		{"none to go", []string{"go 2", "remove", "go 120", "go", "done"}, []string{"Problem: this question belongs to no indicator, look or load.", `there is no question "120"`}, "", ""},
		{"the list", []string{"list", "done"}, []string{"Part: Load 2: phone charging\n", "  14. Current at maximum power, Imp: 2.78 A\n", "Is there another load?: 3 described\n", "Peak sun hours a day: none\n"}, "", ""},
		{"help", []string{"help", "?", "show", "next", "back", "back", "done"}, []string{"  assume: use the typical value", "Problem: this is the first question."}, "", ""},
		{"the end of input", nil, []string{"Question 1 of 100: Name of the site\n"}, "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := describing(t, site.DemoTOML(), tt.lines...)
			require.NoError(t, r.err)
			for _, s := range tt.said {
				assert.Contains(t, r.out, s)
			}
			assert.NotContains(t, r.out, "%!")
			want := demo
			if tt.old != "" {
				require.Equal(t, 1, strings.Count(demo, tt.old))
				want = strings.Replace(demo, tt.old, tt.now, 1)
			}
			assert.Equal(t, want, string(r.file))
		})
	}
}

func TestDescribeFailures(t *testing.T) {
	d, err := siteform.Open("x", site.DemoTOML())
	require.NoError(t, err)
	opt := plain.DescribeOptions{Draft: d, Path: "x", In: strings.NewReader("go 16\n3\ndone\n"), Out: &strings.Builder{}, Keep: func([]byte) error { return errFull }}
	require.ErrorIs(t, plain.Describe(opt), errFull)
	said := opt.Out.(*strings.Builder).String()
	assert.Contains(t, said, "Problem: x could not be written: disk full.")
	assert.NotContains(t, said, "Complete.")
	assert.Contains(t, said, "Continue with: ampwalk site\nedit x")
	opt.In, opt.Out = strings.NewReader("go 16\n3\n"), brokenWriter{}
	require.ErrorIs(t, plain.Describe(opt), errFull)
}

// A new user, line by line, describes a site in twelve questions: the name is asked before.
func TestTwelveQuestionsLineByLine(t *testing.T) {
	start, err := siteform.New("Quarry Bend store")
	require.NoError(t, err)
	r := describing(t, start.Bytes(), "24", "agm", "120", "250", "37,5", "1 2", "mppt", "yes", "1 3", "lamps 18 5; radio 6 6", "12.6 S 34.1 E", "")
	require.NoError(t, r.err)
	s, err := site.Parse("x", r.file)
	require.NoError(t, err, r.out)
	assert.Len(t, s.Loads, 2)
	assert.Zero(t, s.Array.FuseA)
	assert.Equal(t, 11, strings.Count(r.out, " of 12: "))
	assert.Contains(t, r.out, "\nComplete. A visit can begin")
	assert.Contains(t, r.out, "That was the last question.")
	assert.Contains(t, r.out, "Assumed: ")
	assert.NotContains(t, r.out, "%!")
}

// Nothing typed takes what is usual, and says so before; 0 is for none.
func TestWhatIsUsualLineByLine(t *testing.T) {
	start, err := siteform.New("Quarry Bend store")
	require.NoError(t, err)
	r := describing(t, start.Bytes(), "12", "agm", "", "", "", "", "", "", "0", "0", "-12.6 34.1", "more", "done")
	require.NoError(t, r.err)
	assert.Contains(t, r.out, "an empty line assumes 100 Ah")
	assert.Contains(t, r.out, "\nNone.\n")
	assert.Contains(t, r.out, "Question 4 of 53: Capacity", "to the first that nobody has read")
	_, err = site.Parse("x", r.file)
	require.NoError(t, err)
}

// Every act of a description has a command, and each command says what it does.
func TestEveryActOfADescription(t *testing.T) {
	r := describing(t, site.DemoTOML(), "help", "done")
	for _, act := range siteform.Acts {
		word := plain.DescribeCommand(act)
		require.NotEmpty(t, word, act)
		assert.Contains(t, r.out, "\n  "+word+": ", act)
	}
}
