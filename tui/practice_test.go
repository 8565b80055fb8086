package tui

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios"
)

// practising drives a free practice on a quiet morning.
func practising() *driver {
	sc, _ := scenarios.ByID("morning-round")
	return drive(newPractice(scenarios.NewSession(sc, "Ada Example", setBelief)), options())
}

// setBelief is always the same belief.
func setBelief(belief.Input) (*belief.Result, error) { return believing(0.61), nil }

// An asking practice asks for one reading, whatever is next; "" for what is.
type asking struct {
	*scenarios.Guided
	key reading.Key
}

func (a asking) Prompt() visiting.Prompt {
	if a.key == "" {
		return a.Guided.Prompt()
	}
	step, _ := a.Procedure().StepFor(a.key)
	spec, _ := reading.SpecOf(a.key)
	return visiting.Prompt{Step: step, Spec: spec}
}

// atTheBench drives a guided practice that asks for the reading k, "" for what comes first.
func atTheBench(k reading.Key) *driver {
	sc, _ := scenarios.ByID("morning-round")
	g, err := scenarios.NewGuided(sc, "Ada Example", setBelief)
	if err != nil {
		panic(err)
	}
	opt := options()
	opt.Infer, opt.Now = setBelief, g.Now
	s := newVisit(&opt, asking{g, k}, func(int, *outlook.Outlook) string { return summaryText })
	s.notice = sc.Story
	d := drive(s, opt)
	d.send(beginMsg{})
	return d
}

func init() {
	for name, screen := range map[string]func() *driver{
		"practice":           practising,
		"practice-probed":    func() *driver { return practising().pick("1", "3", "esc", "2", "2") },
		"practice-points":    func() *driver { return practising().pick("2", "down", "down") },
		"practice-clamp":     func() *driver { return practising().pick("4", "down", "down") },
		"practice-type":      func() *driver { return practising().press("/", "clamp array-wire") },
		"practice-problem":   func() *driver { return practising().press("/", "clamp roof", "enter") },
		"practice-unsafe":    func() *driver { return practising().press("/", "fuse array out", "enter") },
		"practice-question":  func() *driver { return asked() },
		"practice-believing": func() *driver { return practising().pick("8", "1", "6") },
		"practice-naming":    func() *driver { return practising().pick("/", "name sound", "enter", "1", "1", "1", "1", "1", "1") },
		"practice-debrief": func() *driver {
			return practising().pick("/", "name sound", "enter", "1", "1", "1", "1", "1", "1", "1")
		},
		"practice-standing": func() *driver { return practising().pick("/", "name sound", "enter", "1", "1", "1") },
		"bench":             func() *driver { return atTheBench("").pick("f11", "1", "1") },
	} {
		screens[name] = screen
	}
}

// asked is a practice with a question open.
func asked() *driver {
	return practising().pick("1", "2", "3", "esc", "4", "1", "2", "1", "esc", "3", "1", "esc", "esc", "2", "4")
}

// By digits, enter, escape and arrows alone: look, measure, believe, name, and
// the debrief.
func TestPracticeByKeys(t *testing.T) {
	d := practising()
	d.pick("1", "1") // look at the array
	assert.Contains(t, d.m.View(), "The sky is clear.")
	d.pick("esc", "2", "2") // probe the array's pair
	assert.Contains(t, d.m.View(), "The display shows: ")
	d.pick("esc", "3", "1", "3") // the 200 V range
	assert.Contains(t, d.m.View(), "200 V range")
	d.pick("esc", "esc", "8", "1", "6") // sound: 75 %
	assert.Contains(t, d.m.View(), "Noted.")
	s := d.m.screen.(practiceScreen)
	assert.InDelta(t, 0.75, s.session.Weights()["sound"], 1e-9)
	d.press("esc", "esc")
	for d.m.screen.(practiceScreen).menu.list.at < 9 {
		d.press("down")
	}
	d.press("enter")
	assert.Contains(t, d.m.View(), "Name what is wrong")
	d.pick("1", "1")
	assert.Contains(t, d.m.View(), "Is it light on the array?")
	d.pick("1", "1", "5", "7", "1", "1")
	assert.Contains(t, d.m.View(), "No: name it again")
	d.pick("1")
	require.True(t, s.session.Ended())
	assert.Contains(t, d.m.View(), "What it was: Everything works as designed")
	d.press("end")
	assert.Contains(t, d.m.View(), "What to learn:")
	d.press("enter")
	assert.True(t, d.quit)
}

// A second reading is one key away: the menu stays where it was.
func TestMenuStays(t *testing.T) {
	d := practising().pick("2", "2")
	before := d.m.screen.(practiceScreen).session.Readings()
	d.pick("2")
	assert.Equal(t, before+1, d.m.screen.(practiceScreen).session.Readings())
	assert.Contains(t, d.m.View(), "Probes: touch two points and read")
}

// No frame before the end tells what is wrong: with a fault that acts on nothing
// at night the screens are the same to the last letter.
func TestPracticeScreensLeakNothing(t *testing.T) {
	frames := func(fault string) string {
		sc, err := scenarios.Parse("case", "case", []byte(quietNight+fault), scenarios.SiteText)
		require.NoError(t, err)
		d := drive(newPractice(scenarios.NewSession(sc, "", setBelief)), options()).size(140, 45)
		var all strings.Builder
		for _, k := range []string{
			"1", "1", "2", "3", "4", "esc", "2", "1", "2", "3", "1", "esc", "4", "1", "2", "1", "esc", "3", "2", "esc", "esc",
			"6", "1", "2", "1", "esc", "3", "esc", "7", "3", "esc", "9", "1", "2", "2", "2", "3", "4", "esc", "8", "1", "4", "esc", "esc", "?", "esc",
		} {
			d.pick(k)
			all.WriteString(d.m.View())
		}
		assert.NotContains(t, all.String(), "DEBRIEF")
		return all.String()
	}
	sound := frames("")
	assert.Contains(t, sound, "Hint 3 of 3")
	for _, id := range []string{"set-point-high", "charge-path-stuck", "string-open"} {
		assert.Equal(t, sound, frames("[[condition]]\nid = \""+id+"\"\n"), id)
	}
}

const quietNight = `title = "A case"
story = "It is dark."
level = 1
seed = 1
solvable = true
learn = "Look."
hints = ["a", "b", "c"]
site = "river-bend"
[moment]
at = 2026-04-14T21:30:00+03:00
charge = 0.5
light = 1
air_c = 20
loads_on = ["shop lamps"]
[visible]
complaint = ["none"]
changed = ["none"]
`

// While the session works nothing else begins.
func TestPracticeWorks(t *testing.T) {
	d := practising()
	d.hold = true
	d.pick("2", "2", "2", "2")
	assert.Len(t, d.held, 1)
	assert.Contains(t, d.m.View(), "Working")
	d.release()
	assert.NotContains(t, d.m.View(), "Working")
}

// In a guided practice the bench stands over the question, and a reading that
// was not taken there is talked about.
func TestBenchOverTheVisit(t *testing.T) {
	d := atTheBench(reading.BatteryV)
	require.Contains(t, d.m.View(), "Bench")
	d.press("9.9", "enter")
	assert.Contains(t, trimmedWords(d.m.View()), "this was not read at the bench")
	d.pick("f11", "2", "4")
	shown := regexp.MustCompile(`The display shows: ([0-9.]+) V`).FindStringSubmatch(d.m.View())
	require.NotNil(t, shown, d.m.View())
	d.press("esc", "esc")
	d.press("backspace", "backspace", "backspace", "-"+shown[1], "enter")
	assert.Contains(t, trimmedWords(d.m.View()), "its sign is not")
	for range len(shown[1]) + 1 {
		d.press("backspace")
	}
	d.press(shown[1], "enter")
	assert.Contains(t, d.m.View(), "Noted: Battery voltage at the controller")
}

func trimmedWords(frame string) string { return strings.Join(strings.Fields(frame), " ") }

// The start screen leads to a practice where one is offered.
func TestPracticeFromTheStart(t *testing.T) {
	opt := options()
	assert.NotContains(t, drive(nil, opt).m.View(), "Practise")
	sc, _ := scenarios.ByID("quiet-lamps")
	opt.Practise = func() *scenarios.Session { return scenarios.NewSession(sc, "", setBelief) }
	d := drive(nil, opt)
	for !strings.Contains(d.m.View(), "> 7 Practise") {
		require.False(t, strings.Contains(d.m.View(), "> 8"), d.m.View())
		d.press("down")
	}
	d.press("enter")
	assert.Contains(t, d.m.View(), "Quiet lamps")
	assert.NotNil(t, practiceOn(d.press("?").m.screen), "also below the help")
}

// A small window leads on to the practice line by line, but not while the session
// works.
func TestPracticeTooSmall(t *testing.T) {
	d := practising()
	d.hold = true
	d.pick("1", "1").size(50, 10).press("enter")
	assert.False(t, d.m.byLine)
	d.release()
	assert.Contains(t, trimmedWords(d.m.View()), "press enter to continue line by line. q leaves.")
	assert.NotContains(t, d.m.View(), "Nothing is lost")
	d.press("enter")
	assert.True(t, d.m.byLine)
	assert.True(t, d.quit)
}

func TestPracticeHelp(t *testing.T) {
	assert.Contains(t, atTheBench("").press("?").m.View(), "to the bench, where you look and measure")
	d := practising().size(80, 60).press("?")
	assert.Contains(t, d.m.View(), "type what you do, such as probe array+ post+")
	assert.Contains(t, trimmedWords(d.m.View()), "Honest doubt scores better than bluff.")
}
