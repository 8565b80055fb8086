package plain

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/field/conversation"
)

// Every act of a conversation can be typed, and the help names what can be.
func TestEveryActCanBeTyped(t *testing.T) {
	reached := map[conversation.Act]bool{}
	for _, c := range commands {
		reached[c.act] = true
	}
	for _, act := range conversation.Acts {
		assert.True(t, reached[act], act)
	}
	for _, h := range words().Help {
		assert.Contains(t, commands, h.Name)
	}
}
