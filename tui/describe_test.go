package tui

import (
	"bytes"
	"strings"
	"testing"

	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/physics/site"
)

// A shelf keeps site files as long as the test runs.
type shelf struct {
	files map[string][]byte
	kept  int // how often one was written
}

// describing are options whose site files stand on a shelf.
func describing(sh *shelf) Options {
	opt := options()
	sh.files = map[string][]byte{}
	opt.KeepSite = func(path string, text []byte) error {
		sh.files[path] = bytes.Clone(text)
		sh.kept++
		return nil
	}
	opt.OpenSite = func(path string) SiteFile {
		s, err := site.Parse(path, sh.files[path])
		if err != nil {
			return SiteFile{Path: path, Problem: err}
		}
		return SiteFile{Path: path, Name: s.Name, Site: s}
	}
	return opt
}

// describeDemo is the demo site being described, at the question of that path.
func describeDemo(sh *shelf, path string) *driver {
	d, err := siteform.Open("demo", site.DemoTOML())
	if err != nil {
		panic(err)
	}
	opt := describing(sh)
	dr := drive(nil, opt)
	s := newDescribe(startScreen{}, dr.m.opt, d, "hill.site.toml")
	s.talk.Go(path)
	dr.m.screen = s.show()
	return dr
}

func init() {
	for name, screen := range map[string]func() *driver{
		"site":   func() *driver { return drive(nil, options()).press("2", "enter") },
		"naming": func() *driver { return drive(nil, options()).press("5", "enter", "Quarry Bend store") },
		"new": func() *driver {
			return drive(nil, describing(&shelf{})).press("5", "enter", "Quarry Bend store", "enter")
		},
		"typical": func() *driver { return typicalVoc().press("down", "right") },
		"assumed": func() *driver { return typicalVoc().press("enter", "esc") },
		"disagree": func() *driver {
			return describeDemo(&shelf{}, "array.module.imp_a").press("backspace", "backspace", "backspace", "backspace", "3.1", "enter")
		},
		"means":   func() *driver { return describeDemo(&shelf{}, "controller.lamp.1.look.0.means").press("down", "space") },
		"another": func() *driver { return describeDemo(&shelf{}, "load") },
		"unkept": func() *driver {
			d := describeDemo(&shelf{}, "array.fuse_a")
			d.m.opt.KeepSite = func(string, []byte) error { return errDisk }
			return d.press("backspace", "enter")
		},
		"all": func() *driver { return typicalVoc().press("enter", "f5") },
	} {
		screens["describe-"+name] = screen
	}
}

// typicalVoc is a description of which the voltages of the label cannot be read.
func typicalVoc() *driver {
	d := describeDemo(&shelf{}, "array.module.voc_v")
	return d.press("f3", "esc")
}

func shownAt(t *testing.T, d *driver) describeScreen {
	t.Helper()
	s, ok := d.m.screen.(describeScreen)
	require.True(t, ok, d.m.View())
	return s
}

// A whole site by the keys of a person who reads it off the demo's plates.
func TestDescribeASite(t *testing.T) {
	sh := &shelf{}
	d := drive(nil, describing(sh)).press("5", "enter", "enter")
	require.True(t, showing(d, "no name is typed"))
	d.press("Lantern Hill clinic", "enter", "f8") // every question, not only the first
	want, err := siteform.Open("demo", site.DemoTOML())
	require.NoError(t, err)
	for n := 0; ; n++ {
		require.Less(t, n, 200)
		s, ok := d.m.screen.(describeScreen)
		if !ok {
			break
		}
		q := s.question()
		kept := sh.kept
		switch count, _ := s.talk.Draft().Count(q); q.Form {
		case siteform.More:
			if all, _ := want.Count(q); count < all {
				d.press("1")
			} else {
				d.press("2")
			}
		case siteform.Choice:
			for i, c := range q.Choices {
				if c == want.Answer(q) {
					d.press(string(rune('1' + i)))
				}
			}
		case siteform.Words:
			for _, c := range q.Choices {
				if strings.Contains(", "+want.Answer(q)+", ", ", "+c+", ") {
					d.press("space")
				}
				d.press("down")
			}
		default:
			d.press(want.Answer(q))
		}
		d.press("enter")
		if q.Form != siteform.More && want.Given(q) {
			require.Equal(t, kept+1, sh.kept, "%s is in the file before the next question:\n%s", q.Path, d.m.View())
		}
	}
	require.Empty(t, d.m.screen.(reviewScreen).was.talk.Left(), d.m.View())
	require.True(t, showing(d, "complete"), d.m.View())
	got, err := site.Parse("x", sh.files["lantern-hill-clinic.site.toml"])
	require.NoError(t, err)
	assert.Equal(t, site.Demo(), got)
	d.press("f9")
	require.True(t, showing(d, "Begin a visit"), d.m.View())
	d.press("enter")
	assert.True(t, showing(d, "Who is visiting?"))
}

// A new user, by digits, letters and Enter alone, describes a site in twelve questions.
func TestTwelveQuestionsByKeys(t *testing.T) {
	sh := &shelf{}
	d := drive(nil, describing(sh)).press("5", "enter", "Quarry Bend store", "enter")
	asked := 1 // the name
	for _, keys := range [][]string{{"2"}, {"2"}, {"120"}, {"250"}, {"37,5"}, {"1 2"}, {"3"}, {"1"}, {"1", "3"}, {"lamps 18 5; radio 6 6"}, {"12.6 S 34.1 E"}} {
		require.NotEmpty(t, shownAt(t, d).question().Where)
		d.press(keys...).press("enter")
		asked++
	}
	require.True(t, showing(d, "complete, "), d.m.View())
	require.Equal(t, 12, asked)
	assert.True(t, showing(d, "More details"))
	d.press("enter") // the first thing to do
	require.True(t, showing(d, "Begin a visit"), d.m.View())
	s, err := site.Parse("x", sh.files["quarry-bend-store.site.toml"])
	require.NoError(t, err)
	assert.Len(t, s.Loads, 2)
	assert.Zero(t, s.Array.FuseA, "not marked")
}

// Enter too many answers nothing that nobody said: a list wants a mark or a 0.
func TestNothingMarkedIsNoAnswer(t *testing.T) {
	sh := &shelf{}
	d := drive(nil, describing(sh)).press("5", "enter", "Quarry Bend store", "enter")
	for shownAt(t, d).question().Path != "fuses" {
		d.press("enter") // what is usual, or left open
	}
	d.press("enter")
	require.True(t, showing(d, "Problem: nothing is marked"), d.m.View())
	d.press("0", "enter")
	assert.Equal(t, "loads", shownAt(t, d).question().Path)
}

func TestEscapeAtTheFirstQuestionGoesToTheSites(t *testing.T) {
	d := drive(nil, describing(&shelf{})).press("5", "enter", "Quarry Bend store", "enter", "esc", "esc")
	assert.True(t, showing(d, "quarry-bend-store.site.toml is saved, and is not complete yet."), d.m.View())
}

func TestAssumeCheckUndo(t *testing.T) {
	sh := &shelf{}
	d := describeDemo(sh, "array.module.voc_v").press("f3", "esc")
	require.Equal(t, 1, sh.kept)
	assert.True(t, showing(d, "1 left to answer"))
	assert.True(t, showing(d, "Usual    22.1 V: 1.23 x Vmp, give or take 3 %"), d.m.View())
	d.press("enter") // nothing typed: the typical value
	assert.True(t, showing(d, "complete, 1 assumed"))
	assert.Contains(t, string(sh.files["hill.site.toml"]), "voc_v = 22.1  # assumed, give or take 3 %")
	d.press("esc")
	assert.True(t, showing(d, "So far   22.1 V, assumed"))
	d.press("enter", "esc")
	assert.True(t, shownAt(t, d).talk.Draft().Assumed(shownAt(t, d).question()), "an Enter too many proves nothing")
	d.press("f4", "esc")
	assert.False(t, showing(d, "assumed"))
	d.press("f7")
	assert.True(t, showing(d, "22.1 V, assumed"), d.m.View())
	d.press("f7", "f7")
	assert.Equal(t, string(site.DemoTOML()), string(sh.files["hill.site.toml"]), "all changes undone")
}

func TestWhatDoesNotAgreeIsSaidOnce(t *testing.T) {
	sh := &shelf{}
	d := describeDemo(sh, "array.module.imp_a").press("backspace", "9")
	assert.True(t, showing(d, "= 2.79 A, nothing speaks against it"), "as it is typed")
	d.press("backspace", "backspace", "backspace", "backspace", "3.1")
	assert.True(t, showing(d, "3.1 A is not below Isc, 2.97 A"), d.m.View())
	d.press("enter")
	assert.Zero(t, sh.kept)
	d.press("esc")
	assert.True(t, showing(d, "> 3.1_"), "to be corrected")
	d.press("enter", "enter")
	assert.Equal(t, 1, sh.kept, "kept all the same")
	assert.True(t, showing(d, "1 not right yet") || showing(d, "2 not right yet"), d.m.View())
	d.press("f9")
	assert.True(t, showing(d, "hill.site.toml is saved, and is not complete yet."), d.m.View())
}

func TestNothingIsLostWhereTheFileCannotBeWritten(t *testing.T) {
	d := describeDemo(&shelf{}, "array.fuse_a")
	d.m.opt.KeepSite = func(string, []byte) error { return errDisk }
	d.press("15", "enter")
	assert.True(t, showing(d, "Problem: hill.site.toml could not be written: no space"), d.m.View())
	assert.True(t, showing(d, "> 15_"), "typed over the old figure")
}

// What is half typed waits while another answer is put right.
func TestHalfTypedAnswersWait(t *testing.T) {
	d := describeDemo(&shelf{}, "array.module.imp_a").press("3", "esc", "17", "enter", "enter")
	require.True(t, showing(d, "> 3_"), d.m.View())
	d.press("f5", "enter")
	require.True(t, showing(d, "> 3_"), d.m.View())
}

func TestLampsAndLoadsComeAndGo(t *testing.T) {
	sh := &shelf{}
	d := describeDemo(sh, "load").press("1", "enter", "pump", "enter", "40", "enter", "1,5 h", "enter", "enter", "enter", "enter", "enter")
	s := shownAt(t, d)
	assert.Equal(t, siteform.More, s.question().Form, d.m.View())
	require.Nil(t, s.talk.Draft().AllWrong())
	require.NotNil(t, s.talk.Draft().Site())
	assert.Equal(t, site.Load{Label: "pump", PowerW: 40, HoursPerDay: 1.5, Priority: 2}, s.talk.Draft().Site().Loads[3])
	assert.Len(t, s.talk.Draft().AssumedAnswers(), 1)
	d.press("esc", "f6")
	assert.Len(t, shownAt(t, d).talk.Draft().Site().Loads, 3)
	assert.True(t, showing(d, "Undo brings it back"))
	d.press("f7")
	assert.Len(t, shownAt(t, d).talk.Draft().Site().Loads, 4)
	at, all := shownAt(t, d).talk.At(), len(shownAt(t, d).talk.Questions())
	d.press("f7", "f7", "f7", "f7", "f7")
	assert.Len(t, shownAt(t, d).talk.Draft().Site().Loads, 3)
	ofOne := all - len(shownAt(t, d).talk.Questions()) // questions of one load
	assert.InDelta(t, at, shownAt(t, d).talk.At(), float64(ofOne), "the place in the list is kept where the question is gone")
}

func TestCopyASite(t *testing.T) {
	sh := &shelf{}
	d := drive(nil, describing(sh)).press("2", "enter", "5", "enter", "Twin", "enter")
	require.True(t, showing(d, "Saved as twin.site.toml"), d.m.View())
	got, err := site.Parse("x", sh.files["twin.site.toml"])
	require.NoError(t, err)
	assert.Equal(t, "Twin", got.Name)
	assert.Equal(t, site.Demo().Array, got.Array)
	d.press("f5", "end", "down", "enter")
	assert.True(t, showing(d, "Begin a visit"), d.m.View())
}

// A file with problems is mended by questions; one that is no TOML is not.
func TestMendASite(t *testing.T) {
	sh := &shelf{}
	opt := describing(sh)
	opt.ReadSite = func(SiteFile) ([]byte, error) {
		return bytes.Replace(site.DemoTOML(), []byte("isc_a = 2.97 "), []byte("isc_a = 1.97 "), 1), nil
	}
	d := drive(nil, opt).press("3", "enter", "enter")
	require.True(t, showing(d, "Current at maximum power, Imp"), d.m.View())
	require.True(t, showing(d, "Check: 2.78 A is not below Isc"), d.m.View())
	// One that only lacks answers is gone on with at once.
	half, err := siteform.New("Half")
	require.NoError(t, err)
	opt.ReadSite = func(SiteFile) ([]byte, error) { return half.Bytes(), nil }
	opt.Sites = func() []SiteFile {
		return []SiteFile{{Name: "Half", Path: "half.site.toml", Problem: problems(3), Incomplete: true}}
	}
	assert.True(t, showing(drive(nil, opt).press("2", "enter"), "The site - System voltage"))
	opt = describing(sh)
	opt.ReadSite = func(SiteFile) ([]byte, error) { return []byte("a = = b"), nil }
	d = drive(nil, opt).press("3", "enter", "enter")
	assert.True(t, showing(d, "This site file cannot be used yet"))
}

// The theme can be changed with arrows and Enter alone, before any visit.
func TestSunFromTheStart(t *testing.T) {
	var kept []Theme
	opt := options()
	opt.Remember = func(theme Theme) error { kept = append(kept, theme); return nil }
	d := drive(nil, opt)
	d.m.renderer = rendererIn(termenv.ANSI)
	d.press("down", "down", "down", "down", "down", "down", "enter")
	assert.Equal(t, []Theme{Light}, kept)
	assert.True(t, showing(d, "Theme: light"))
	d.press("enter")
	assert.Equal(t, []Theme{Light, Sunlight}, kept)
}
