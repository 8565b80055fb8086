package tui

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/field/conversation"
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
