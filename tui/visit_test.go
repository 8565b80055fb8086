package tui

import (
	"errors"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
)

// showing reports whether text stands in the frame, as a person would read it.
func showing(d *driver, text string) bool { return strings.Contains(ansi.Strip(d.m.View()), text) }

func TestVisitFromFirstQuestionToSummary(t *testing.T) {
	v := newScript()
	d := visitUnderWay(v, options())
	d.press("1", "enter")                            // confirm by its number
	d.press("down", "down", "down", "down", "enter") // the fourth word by arrows
	d.press("1", "3")                                // two loads; an Enter ends the list
	require.True(t, showing(d, ">    These are all: 1, 3"), d.m.View())
	d.press("enter", "0,02", "enter", "470 mA", "enter", "enter")
	require.True(t, showing(d, "Summary of the visit"), d.m.View())
	require.Len(t, v.answers, 6)
	assert.Equal(t, "yes", v.answers[0].Word)
	assert.Equal(t, "clear", v.answers[1].Word)
	assert.Equal(t, []string{"ward lamps", "radio"}, v.answers[2].Labels)
	assert.InDelta(t, 0.02, *v.answers[3].Number, 1e-12)
	assert.InDelta(t, 0.47, *v.answers[4].Number, 1e-12)
	assert.Equal(t, noon, v.answers[4].At)
	assert.False(t, d.quit)
	d.press("right", "right", "enter")
	assert.True(t, d.quit, "leave by arrows and enter")
}

// An Enter too many answers no question of safety.
func TestEnterAloneConfirmsNothing(t *testing.T) {
	v := newScript()
	d := visitUnderWay(v, options()).press("enter", "enter")
	assert.Empty(t, v.answers)
	assert.True(t, showing(d, "Problem: nothing is chosen"))
}

func TestInvalidAnswer(t *testing.T) {
	tests := []struct{ name, typed, says string }{
		{"empty", "", "nothing is typed"},
		{"letters", "abc", "Problem:"},
		{"prefix in the middle", "1k2", "Problem:"},
		{"two numbers", "13 14", "Problem:"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v := answered(3)
			d := visitUnderWay(v, options()).press(tt.typed, "enter")
			assert.Len(t, v.answers, 3)
			assert.True(t, showing(d, tt.says), d.m.View())
			assert.True(t, showing(d, "> "+tt.typed+"_"), "what was typed stays")
			d.press("9")
			assert.False(t, showing(d, "Problem:"), "typing takes the message away")
		})
	}
}

// Back is never refused, and what was typed waits.
func TestBackFromAnInvalidAnswer(t *testing.T) {
	v := answered(3)
	d := visitUnderWay(v, options()).press("abc", "enter", "esc")
	assert.False(t, showing(d, "Problem:"), "first to correct it")
	d.press("esc")
	assert.True(t, showing(d, "Again: Loads that are on"))
	d.press("esc", "esc")
	assert.True(t, showing(d, "Again: People"))
	d.press("esc")
	assert.True(t, showing(d, "Leave the visit?"), "no start screen to go to")
	d.press("esc", "enter", "enter", "down", "down", "down", "enter")
	assert.True(t, showing(d, "> abc_"), d.m.View())
	assert.Equal(t, 3, v.seq, "an answer left as it was is not given again")
}

func TestChangeAnEarlierAnswer(t *testing.T) {
	v := answered(5)
	d := visitUnderWay(v, options()).press("esc", "esc")
	require.True(t, showing(d, "> 0.02_"), d.m.View())
	d.press("backspace", "backspace", "backspace", "backspace", "18,9", "enter")
	assert.InDelta(t, 18.9, *v.answers[3].Number, 1e-12)
	assert.Len(t, v.answers, 5, "later answers are kept")
	assert.True(t, showing(d, "Write what you found"), "on to the open question")
	assert.True(t, showing(d, "Noted: Voltage at the array terminals: 18.90 V"))
}

func TestChangeFromTheList(t *testing.T) {
	v := answered(4)
	d := visitUnderWay(v, options()).press("f5", "up", "up", "enter")
	require.True(t, showing(d, "Again: Sky"))
	d.press("2", "enter")
	assert.Equal(t, "overcast", v.answers[1].Word)
	assert.True(t, showing(d, "Array current"))
}

// A reading that the visit itself asks for once more: an empty field, what was
// read, and why; the answer stands beside it.
func TestRecheck(t *testing.T) {
	v := answered(3)
	old := 0.02
	before := visiting.Answer{Step: "array-v", Kind: visiting.Took, Reading: "array_v", Typed: "0.02", Number: &old, At: noon}
	v.takes["array-v"] = []visiting.Answer{before}
	v.steps[3].Once, v.steps[3].Given, v.steps[3].Why = true, &before, "0.02 V does not fit: a probe may have slipped."
	for _, size := range []tea.WindowSizeMsg{{Width: 80, Height: 24}, {Width: 140, Height: 40}} {
		d := visitUnderWay(v, options())
		d.send(size)
		assert.True(t, showing(d, "Once more: Voltage at the array terminals"), d.m.View())
		assert.True(t, showing(d, "0.02 V does not fit: a probe may have slipped."), d.m.View())
		assert.True(t, showing(d, "Taken before, and kept: 0.02 V"))
	}
	d := visitUnderWay(v, options()).press("enter")
	assert.True(t, showing(d, "nothing is typed"), "the old value is not given again by an Enter")
	d.press("f2", "down", "enter")
	require.Len(t, v.answers, 4)
	assert.Equal(t, visiting.Cannot, v.answers[3].Kind)
	assert.True(t, v.answers[3].Repeats, "what could not be taken once more takes nothing away")
}

// A reading once more keeps both values; a corrected one only the new.
func TestRepeat(t *testing.T) {
	v := answered(4)
	d := visitUnderWay(v, options()).press("3", "f7")
	require.True(t, showing(d, "Once more: Voltage at the array terminals"), d.m.View())
	require.True(t, showing(d, "Taken before, and kept: 0.02 V"))
	d.press("0.05", "enter")
	assert.True(t, showing(d, "Noted: Voltage at the array terminals: 0.02 V, then 0.05 V"), d.m.View())
	assert.True(t, showing(d, "> 3_"), "what was half typed waits")
	assert.True(t, v.answers[3].Repeats)
	d.press("f5")
	assert.True(t, showing(d, "0.02 V, then 0.05 V"))

	d.press("enter") // the last answer again
	require.True(t, showing(d, "Again: Voltage"))
	d.press("backspace", "backspace", "backspace", "backspace", "18", "enter")
	assert.True(t, showing(d, "Voltage at the array terminals: 18.00 V"), d.m.View())
	assert.False(t, v.answers[3].Repeats)

	d.press("esc", "f7", "0.02", "esc") // from an answer shown again; and back without one
	require.True(t, showing(d, "Again: Loads"))
	assert.InDelta(t, 18, *v.answers[3].Number, 1e-12)
	d.press("f7")
	assert.True(t, showing(d, "this is not a reading"))
	assert.True(t, showing(visitUnderWay(newScript(), options()).press("f7"), "no reading has been taken yet"))
	d = visitUnderWay(answered(4), options()).press("f7", "0.02", "enter")
	assert.True(t, showing(d, "0.02 V, then 0.02 V"), "the same value is a reading too")
}

// What is typed is judged as it is typed.
func TestCheckedAsTyped(t *testing.T) {
	tests := []struct{ typed, says string }{
		{"1", "= 1.00 V, not as expected"},
		{"13,1", "= 13.10 V, as expected"},
		{"0.9 k", "not yet:"},
		{"900", "unusual at this site"},
		{"-", "not yet: it is not a number"},
		{"", "type 13.10 or 13,10 V"},
	}
	for _, tt := range tests {
		t.Run(tt.typed, func(t *testing.T) {
			d := visitUnderWay(answered(3), options()).press(tt.typed)
			assert.True(t, showing(d, tt.says), d.m.View())
			assert.False(t, showing(d, "Problem:"), "nothing is refused before Enter")
		})
	}
}

func TestDoubtIsAskedOnce(t *testing.T) {
	v := answered(3)
	d := visitUnderWay(v, options()).press("131", "enter")
	require.True(t, showing(d, "Doubtful: 131.00 V is outside"))
	assert.Len(t, v.answers, 3)

	d.press("esc")
	assert.False(t, showing(d, "Doubtful:"))
	assert.True(t, showing(d, "> 131_"), "esc leaves the value to correct")

	d.press("enter", "backspace")
	assert.False(t, showing(d, "Doubtful:"), "a changed value is a new one")
	d.press("2", "enter")
	require.True(t, showing(d, "Doubtful: 132.00 V"))
	d.press("enter")
	require.Len(t, v.answers, 4)
	assert.True(t, v.answers[3].Doubted)
}

func TestPaste(t *testing.T) {
	v := answered(3)
	d := visitUnderWay(v, options())
	d.paste("13,1\n")
	assert.Len(t, v.answers, 3, "a pasted line end is no Enter")
	assert.True(t, showing(d, "> 13,1"))
	d.press("enter")
	require.Len(t, v.answers, 4)
	assert.InDelta(t, 13.1, *v.answers[3].Number, 1e-12)

	d = visitUnderWay(answered(1), options())
	d.paste("q")
	assert.False(t, d.quit, "pasted text is no command")
}

func TestResizeKeepsWhatIsTyped(t *testing.T) {
	d := visitUnderWay(answered(3), options()).press("13")
	d.size(140, 45).press(",")
	d.size(60, 20).press("1")
	assert.True(t, showing(d, "> 13,1_"))
}

// The belief is worked out beside the screen: going back and leaving stay
// possible, and a result that later answers have overtaken is dropped.
func TestAnswersOvertakeABelief(t *testing.T) {
	v := answered(3)
	d := visitUnderWay(v, options())
	d.hold = true
	d.press("0.02", "enter")
	require.True(t, showing(d, "Working"))
	require.Len(t, d.held, 1)
	d.press("5", "enter")
	assert.Len(t, v.answers, 4, "there is no question to answer yet")

	d.press("esc")
	require.True(t, showing(d, "Again: Voltage"))
	d.press("backspace", "9", "enter")
	require.Len(t, d.held, 2, "the changed answer asks for a belief of its own")
	first := d.held[0]().(thoughtMsg)
	d.send(first)
	assert.True(t, showing(d, "Working"), "the overtaken belief is dropped")
	d.held = d.held[1:]
	d.release()
	assert.True(t, showing(d, "Array current"))
}

// A belief that comes while an earlier answer is shown does not pull it away.
func TestBeliefComesWhileLookingBack(t *testing.T) {
	d := visitUnderWay(answered(3), options())
	d.hold = true
	d.press("0.02", "enter", "esc", "esc")
	d.release()
	require.True(t, showing(d, "Again: Loads that are on"))
	d.press("down", "down", "down", "enter", "enter")
	assert.True(t, showing(d, "Array current"), d.m.View())
}

// The same from the list of answers, where the summary may come below it.
func TestBeliefComesWhileTheListIsShown(t *testing.T) {
	v := answered(5)
	v.steps = v.steps[:6]
	d := visitUnderWay(v, options())
	d.hold = true
	v.latest = nil // so that it is worked out again
	d.press("enter", "f5")
	d.release()
	require.True(t, showing(d, "Answers so far"))
	d.press("esc")
	assert.True(t, showing(d, "Summary of the visit"))
}

func TestNoBeliefNoStandstill(t *testing.T) {
	v := answered(3)
	opt := options()
	opt.Infer = func(belief.Input) (*belief.Result, error) { return nil, errors.New("no state fits") }
	d := visitUnderWay(v, opt)
	assert.True(t, showing(d, "no state fits"))
	d.press("0.02", "enter")
	assert.Len(t, v.answers, 4)
	assert.True(t, showing(d, "Array current"))
}

// Steps that change nothing that is known cost no inference.
func TestNothingNewNothingInferred(t *testing.T) {
	opt, n := options(), 0
	opt.Infer = func(belief.Input) (*belief.Result, error) { n++; return believing(0.6), nil }
	d := visitUnderWay(newScript(), opt)
	assert.Equal(t, 1, n)
	d.press("1", "enter")
	assert.True(t, showing(d, "Sky"))
	assert.Equal(t, 1, n)
	d.press("4", "enter")
	assert.Equal(t, 2, n)
}

func TestAnswerThatCannotBeKept(t *testing.T) {
	v := answered(3)
	v.keep = errDisk
	d := visitUnderWay(v, options()).press("0.02", "enter")
	assert.True(t, showing(d, "Problem: the answer could not be saved: no space"), d.m.View())
	assert.True(t, showing(d, "> 0.02_"))
	v.keep = nil
	d.press("enter")
	assert.Len(t, v.answers, 4)
}

func TestCannot(t *testing.T) {
	v := answered(3)
	d := visitUnderWay(v, options()).press("down", "enter", "down", "enter")
	require.Len(t, v.answers, 4)
	assert.Equal(t, visiting.Cannot, v.answers[3].Kind)
	assert.Equal(t, "not safe", v.answers[3].Reason)
	d.press("esc")
	assert.True(t, showing(d, "Answer now: not taken: not safe"), d.m.View())
	d.press("enter")
	assert.True(t, showing(d, "nothing is typed"), "what could not be taken is not left as it was by an empty answer")
	d.press("5", "enter")
	assert.Equal(t, visiting.Took, v.answers[3].Kind)
}

func TestStop(t *testing.T) {
	v := answered(3)
	d := visitUnderWay(v, options()).press("f8", "4", "enter")
	require.Len(t, v.answers, 4)
	assert.Equal(t, visiting.Stop, v.answers[3].Kind)
	assert.Equal(t, "smell", v.answers[3].Why)
	assert.True(t, showing(d, "Summary of the visit"), "the scripted visit has nothing to put back")
}

func TestNote(t *testing.T) {
	v := answered(3)
	d := visitUnderWay(v, options()).press("f3", "enter")
	assert.True(t, showing(d, "Problem: nothing is typed"))
	d.press("is it q?", "enter")
	require.Len(t, v.notes, 1)
	assert.Equal(t, "is it q?", v.notes[0].Reason)
	assert.Equal(t, "array-v", v.notes[0].Step)
	assert.True(t, showing(d, "Voltage at the array terminals"))
	d.press("f3")
	assert.True(t, showing(d, "is it q?"), "notes of the step are shown")

	d.press("half a no", "esc", "f3")
	assert.True(t, showing(d, "> half a no_"), "it waits")
	v.keep = errDisk
	d.press("f10")
	assert.False(t, d.quit, "a note that cannot be kept is told")
	assert.True(t, showing(d, "no space left"), d.m.View())
	v.keep = nil
	d.press("f10")
	assert.False(t, d.quit)
	require.Len(t, v.notes, 2)
	assert.Equal(t, "half a no", v.notes[1].Reason, "who leaves keeps it")
}

// Digits alone correct a figure that stands there; who wants to change one digit goes
// there first.
func TestFiguresAreTypedOver(t *testing.T) {
	v := answered(4)
	d := visitUnderWay(v, options()).press("esc")
	require.True(t, showing(d, "> 0.02_             V   typing replaces it"), d.m.View())
	d.press("1", "9")
	require.True(t, showing(d, "> 19_"), d.m.View())
	d.press("esc", "f5", "down", "down", "down", "enter")
	require.True(t, showing(d, "> 19_"), "half typed, it waits\n"+d.m.View())
	d.press("left", "8")
	require.True(t, showing(d, "> 18_9"), d.m.View())
	assert.Equal(t, "0.02", v.answers[3].Typed, "nothing is given yet")
}

// What is half typed is not an answer; leaving keeps every given one.
func TestLeaveWithSomethingTyped(t *testing.T) {
	for _, key := range []string{"ctrl+c", "f10"} {
		v := answered(3)
		d := visitUnderWay(v, options()).press("13,", "q")
		assert.False(t, d.quit, "q is text in a field")
		d.press(key)
		assert.False(t, d.quit, "it asks")
		assert.True(t, showing(d, "Leave the visit?"))
		d.press("esc", key, "2", "enter")
		assert.True(t, d.quit, key)
		assert.Len(t, v.answers, 3)
	}
	d := visitUnderWay(answered(1), options()).press("q", "q")
	assert.True(t, d.quit, "q leaves where nothing is typed; the second does not ask")
}

func TestLeaveWithThePlantOpen(t *testing.T) {
	v := answered(3)
	v.state = isolated()
	d := visitUnderWay(v, options()).press("ctrl+c")
	require.False(t, d.quit)
	require.True(t, showing(d, "Connect the array"), d.m.View())
	d.press("esc", "13")
	assert.True(t, showing(d, "> 13_"))
	d.press("f10", "2", "enter")
	assert.True(t, showing(d, "Why stop here?"))
	d.press("ctrl+c", "3", "enter")
	assert.True(t, d.quit)
	require.Len(t, v.notes, 1)
	assert.Equal(t, "left with: the array is isolated. Decision: labelled, the person in charge knows", v.notes[0].Reason)

	d = visitUnderWay(v, options()).press("ctrl+c", "ctrl+c")
	assert.True(t, d.quit, "asked once")
	require.Len(t, v.notes, 2)
	assert.Equal(t, "left with: the array is isolated. Nobody decided that it may stay so", v.notes[1].Reason)

	v.keep = errDisk
	d = visitUnderWay(v, options()).press("ctrl+c", "3", "enter")
	assert.False(t, d.quit, "a decision that could not be kept is told")
	d.press("ctrl+c", "ctrl+c")
	assert.True(t, d.quit, "nobody is held")
}

func TestHelpOverEveryScreen(t *testing.T) {
	for name, screen := range screens {
		d := screen()
		before := d.m.View()
		if name == "help" || name == "desk-help" {
			continue
		}
		d.press("f1")
		groups := "These keys do everything"
		if strings.HasPrefix(name, "desk") {
			groups = "In the list of visits"
		}
		assert.True(t, showing(d, groups), name)
		d.press("esc")
		assert.Equal(t, before, d.m.View(), name)
	}
	d := visitUnderWay(answered(3), options()).press("13", "?")
	assert.True(t, showing(d, "These keys do everything"), "? is help beside a number")
}

func TestWhyReadsInWords(t *testing.T) {
	d := visitUnderWay(answered(4), options()).size(80, 60).press("f4")
	frame := strings.Join(strings.Fields(d.m.View()), " ")
	for _, part := range []string{
		"* Voltage at the array terminals: 0.02 V; speaks clearly for it", "^ 0.02 V",
		"* Sky: clear; speaks somewhat against it", "may be a wrong reading (24 %)",
	} {
		assert.Contains(t, frame, part)
	}
	assert.NotContains(t, frame, "Sky may be wrong", "a suspicion of one in a hundred is not worth a line")
}

func TestWeight(t *testing.T) {
	// log10 of the likelihood ratio: 1 is ten to one.
	tests := []struct {
		log10 float64
		words string
	}{
		{0, "says little either way"}, {-0.2, "says little either way"}, {0.5, "speaks somewhat for it"},
		{-1.5, "speaks clearly against it"}, {2, "speaks strongly for it"},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.words, weight(tt.log10))
	}
}

func TestPercent(t *testing.T) {
	for p, want := range map[float64]string{0: "0 %", 0.004: "<1 %", 0.5: "50 %", 0.996: ">99 %", 1: "100 %"} {
		assert.Equal(t, want, percent(p))
	}
}

func TestSuspendIsOffered(t *testing.T) {
	m := drive(nil, options()).m
	m.stoppable = func() bool { return true }
	_, cmd := m.Update(tea.KeyMsg{Type: tea.KeyCtrlZ})
	require.NotNil(t, cmd)
	assert.IsType(t, tea.SuspendMsg{}, cmd())
}

// Where no shell could bring the program back, the key stops nothing and says so.
func TestSuspendWithoutShell(t *testing.T) {
	m := drive(nil, options()).m
	m.stoppable = func() bool { return false }
	next, cmd := m.Update(tea.KeyMsg{Type: tea.KeyCtrlZ})
	require.Nil(t, cmd)
	lines := strings.Split(ansi.Strip(next.View()), "\n")
	assert.Contains(t, lines[len(lines)-1], wordsOf().NoShell)
	next, _ = next.Update(tea.KeyMsg{Type: tea.KeyDown})
	assert.NotContains(t, ansi.Strip(next.View()), wordsOf().NoShell, "the keys stand there again")
}
