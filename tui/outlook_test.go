package tui

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/condition"
)

// After the visit a page says how much power there is, with the day as a band. A number
// takes a load out and has it all worked out anew.
func TestOutlook(t *testing.T) {
	var asked []outlook.Change
	var fails error
	opt := options()
	opt.Outlook = func(_ belief.Input, ch outlook.Change) (*outlook.Outlook, error) {
		asked = append(asked, ch)
		day := outlook.Day{From: time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC), Loads: []outlook.LoadDay{{Label: "radio"}}}
		for h := range day.Loads[0].Hours {
			day.Loads[0].Hours[h] = []outlook.Source{outlook.FromArray, outlook.FromBattery, outlook.NotToday}[h/8]
		}
		return &outlook.Outlook{At: noon, Change: ch, Day: day, Fault: condition.Sound, Year: outlook.Year{Worst: time.June}, TooSmall: "battery"}, fails
	}
	v := answered(len(newScript().steps))
	v.measured = true
	d := visitUnderWay(v, opt)
	require.True(t, showing(d, "Summary of the visit"), d.m.View())
	require.Len(t, asked, 1, "it is worked out for the summary")
	assert.True(t, showing(d, "the battery is too small for its loads"), d.m.View())
	d.press("f8")
	require.Len(t, asked, 1, "and shown once more, not worked out again")
	require.True(t, showing(d, "How much power, until when"), d.m.View())
	assert.Contains(t, d.m.View(), "2 radio           ████████████████▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒················")
	assert.Contains(t, d.m.View(), "12    15    18    21    0     3     6")

	d.press("2")
	require.Len(t, asked, 2)
	assert.Equal(t, []string{"radio"}, asked[1].Without)
	assert.True(t, showing(d, "What if: take out: radio."))
	assert.True(t, showing(d, "before: "), "with what it was before")
	d.press("2")
	assert.Empty(t, asked[2].Without)
	assert.Equal(t, []string{"radio"}, asked[2].InEvening, "then it moves its hours")
	d.press("2")
	assert.Equal(t, outlook.Change{}, asked[3], "and puts it back")

	d.press("f2", "f4", "f6", "f7")
	s := v.Site()
	assert.Equal(t, outlook.Change{Clean: true, Strings: 1, CapacityAh: 1.5 * s.Battery.CapacityAh, ArrayMM2: 2 * s.Array.CableMM2}, asked[len(asked)-1])
	d.press("f2", "f4", "f6", "f7", "f5")
	assert.Equal(t, outlook.Change{NewBattery: true}, asked[len(asked)-1])
	d.press("f5", "right", "enter")
	assert.Equal(t, outlook.Change{Clean: true}, asked[len(asked)-1], "the arrows reach it too")
	d.press("f3")
	assert.Equal(t, outlook.Change{Clean: true}, asked[len(asked)-1], "nothing is broken, so nothing is repaired")
	d.press("enter", "left")

	fails = errors.New("no state fits")
	d.press("1")
	assert.True(t, showing(d, "no state fits"))
	d.press("esc")
	assert.True(t, showing(d, "Summary of the visit"))
	assert.True(t, showing(d, "the battery is too small"), "which stays as it was")
}
