package tui

import (
	"errors"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/site"
)

// inMemory is a journal that keeps what it is given as long as the test runs.
type inMemory struct{ entries []visiting.Entry }

func (j *inMemory) Append(e visiting.Entry) error {
	j.entries = append(j.entries, e)
	return nil
}

// realVisits are options whose visits are real ones at the demo site.
func realVisits(j *inMemory) Options {
	opt := options()
	opt.Begin = func(f SiteFile, who string, _ visiting.Depth) (*visiting.Visit, error) {
		return visiting.New(visiting.Head{ID: "v", SiteName: f.Name, SiteTOML: string(site.DemoTOML()), Who: who, StartedAt: noon}, j)
	}
	opt.Resume = func(record.Item) (*visiting.Visit, string, error) {
		v, err := visiting.Resume(j.entries, j)
		return v, "the last line was damaged", err
	}
	opt.Summary = func(*visiting.Visit, int, *outlook.Outlook) string { return summaryText }
	return opt
}

func TestBeginAndResumeAVisit(t *testing.T) {
	j := &inMemory{}
	d := drive(nil, realVisits(j)).press("4", "enter", "enter", "Ada", "enter")
	require.NotNil(t, d.m.visit)
	assert.True(t, showing(d, "Lantern Hill clinic"))
	assert.True(t, showing(d, "visit by Ada"))
	assert.True(t, showing(d, "[prepare]"))
	d.press("1", "enter", "ctrl+c")
	require.False(t, d.quit, "it asks")
	d.press("ctrl+c")
	require.True(t, d.quit)
	assert.False(t, d.m.visit.Done())

	opt := realVisits(j)
	opt.NotPutBack = func(string) string { return "the array is isolated" }
	d = drive(nil, opt)
	assert.True(t, showing(d, "NOT PUT BACK: the array is isolated"), d.m.View())
	d.press("enter")
	for _, s := range sizes {
		d.size(s.w, s.h)
		assert.True(t, showing(d, "Damaged"), "what is lost is told in any window\n"+d.m.View())
	}
	assert.Len(t, d.m.visit.Answers(), 1)
	assert.True(t, showing(d, "the last line was damaged"), d.m.View())
}

func TestStartWithAVisit(t *testing.T) {
	opt := realVisits(&inMemory{})
	v, err := opt.Begin(SiteFile{}, "Ada", visiting.Full)
	require.NoError(t, err)
	opt.Visit = v
	d := drive(nil, opt)
	d.run(d.m.Init())
	assert.True(t, showing(d, "[prepare]"))
}

// The first frame waits for nothing.
func TestFirstFrameInfersNothing(t *testing.T) {
	opt := options()
	opt.Infer = func(belief.Input) (*belief.Result, error) {
		t.Error("inferred before the first frame")
		return nil, nil
	}
	d := drive(nil, opt)
	assert.True(t, showing(d, "Begin a visit"))
}

func TestTheNameIsRemembered(t *testing.T) {
	d := drive(nil, options()).press("2", "enter", "enter", "Ada", "esc", "esc", "4", "enter", "enter")
	assert.True(t, showing(d, "> Ada_"))
}

func TestVisitThatCannotBegin(t *testing.T) {
	d := drive(nil, options()).press("2", "enter", "enter", "enter")
	assert.True(t, showing(d, "Problem: no space left on the disk"), d.m.View())
	d.press("esc", "esc")
	assert.True(t, showing(d, "Describe a new site"))
}

func TestSiteFileWithProblems(t *testing.T) {
	opt := options()
	sites := opt.Sites()
	sites[1].Problem = problems(60)
	opt.Sites = func() []SiteFile { return sites }
	d := drive(nil, opt).press("3", "enter")
	assert.True(t, showing(d, "old.site.toml:10:1"))
	assert.False(t, showing(d, "old.site.toml:69:1"))
	assert.True(t, showing(d, "more below"))
	d.press("end")
	assert.True(t, showing(d, "old.site.toml:69:1"), "the last problem can be reached")
	d.press("esc")
	assert.True(t, showing(d, "Begin a visit"))
}

func TestOpenByPath(t *testing.T) {
	opt := options()
	opt.OpenSite = func(path string) SiteFile {
		if path == "good one.site.toml" {
			return SiteFile{Path: path, Name: "Good site"}
		}
		return SiteFile{Path: path, Problem: errors.New("no such file")}
	}
	d := drive(nil, opt).press("6", "enter", "enter")
	assert.True(t, showing(d, "no path is typed"))
	d.press("q?.toml", "enter")
	require.True(t, showing(d, "no such file"), "q and ? are text in a path")
	d.press("esc")
	require.True(t, showing(d, "> q?.toml_"), "the typed path stays")
	for range "q?.toml" {
		d.press("backspace")
	}
	d.paste("good one.site.toml\n").press("enter", "enter")
	assert.True(t, showing(d, "Good site"))
	assert.True(t, showing(d, "Who is visiting?"))
}

func TestSummaryIsWritten(t *testing.T) {
	opt := options()
	opt.Write = func(id, text string) (string, error) {
		assert.Equal(t, summaryText, text)
		return id + ".txt", nil
	}
	assert.True(t, showing(visitUnderWay(answered(6), opt).press("f7"), "Written to "+answered(6).Head().ID+".txt"))
	opt.Write = func(string, string) (string, error) { return "", errDisk }
	assert.True(t, showing(visitUnderWay(answered(6), opt).press("f7"), "Problem: the summary could not be written"))
}

func TestBackFromTheSummary(t *testing.T) {
	v := answered(6)
	d := visitUnderWay(v, options()).press("esc", "esc")
	require.True(t, showing(d, "Again: Array current"))
	d.press("enter", "enter")
	assert.True(t, showing(d, "Summary of the visit"))
	d.press("right", "enter", "esc")
	assert.True(t, showing(d, "Summary of the visit"), "back from the answers")
}

// Who goes on with a visit is told at once what is not put back, until the next
// answer.
func TestResumedWithSomethingOpen(t *testing.T) {
	v := answered(3)
	v.state = isolated()
	d := visitUnderWay(v, options()).size(60, 20)
	assert.True(t, showing(d, "Open     not put back yet: "), d.m.View())
	d.press("13,1", "enter")
	assert.False(t, showing(d, "not put back yet: "))
	assert.False(t, showing(visitUnderWay(answered(3), options()), "not put back"))
}

// Letters that a terminal brings in one message are letters, also where they make
// the name of a key.
func TestWordsTypedFast(t *testing.T) {
	d := drive(nil, options()).press("5", "enter")
	for _, word := range []string{"left", " ", "up", "?q"} {
		d.send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(word)})
	}
	assert.True(t, showing(d, "> left up?q_"), d.m.View())
}
