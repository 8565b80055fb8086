package tui

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/field/conversation"
	"ampwalk/diagnose/field/siteform"
)

// Every act of a conversation can be reached from the question: by its action, or by the
// keys that the help line or the screen of why names.
func TestEveryActCanBeReached(t *testing.T) {
	d := visitUnderWay(answered(4), options())
	s := d.m.screen.(visitScreen)
	reached := map[conversation.Act]bool{}
	for _, a := range s.actions() {
		reached[conversation.Act(a.do)] = true
	}
	d.press("esc") // back to an answer, and on with Enter
	reached[conversation.DoBack] = showing(d, "Again: ")
	d.press("enter")
	reached[conversation.DoNext] = !showing(d, "Again: ")
	d.press("f4", "1", "2", "enter") // why has the field for a what-if
	reached[conversation.DoIf] = showing(d, "If it were 12")
	d.press("esc", "f1", "right") // the help leads to them
	reached[conversation.DoLook] = showing(d, "12 V system")
	for _, act := range conversation.Acts {
		assert.True(t, reached[act], act)
	}
}

// Every act of a description can be reached from a question or from the list of all.
func TestEveryActOfADescriptionCanBeReached(t *testing.T) {
	reached := map[siteform.Act]bool{}
	see := func(s describeScreen) {
		for _, a := range s.actions() {
			reached[siteform.Act(a.do)] = true
		}
	}
	d := drive(nil, describing(&shelf{})).press("5", "enter", "Quarry Bend store", "enter")
	see(shownAt(t, d)) // of a new site
	d = describeDemo(&shelf{}, "load.1.power_w").press("12", "enter", "esc")
	see(shownAt(t, d)) // with something changed
	d = typicalVoc().press("enter", "esc")
	see(shownAt(t, d)) // with something assumed
	was := d.m.View()
	d.press("enter")
	reached[siteform.DoNext] = d.m.View() != was
	d.press("esc")
	reached[siteform.DoBack] = d.m.View() == was
	d.press("f5", "up", "enter")
	reached[siteform.DoGo] = shownAt(t, d).question().Path == "array.module.imp_a"
	for _, act := range siteform.Acts {
		assert.True(t, reached[act], act)
	}
}
