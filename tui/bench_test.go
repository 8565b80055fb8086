package tui

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func BenchmarkView(b *testing.B) {
	for _, s := range sizes {
		b.Run(fmt.Sprintf("%dx%d", s.w, s.h), func(b *testing.B) {
			d := visitUnderWay(answered(4), options())
			d.size(s.w, s.h)
			for b.Loop() {
				_ = d.m.View()
			}
		})
	}
}

// Nothing moves by itself: typing and moving start no command, so no timer, and
// a screen that is left alone is left alone.
func TestNothingTicks(t *testing.T) {
	for name, screen := range screens {
		d := screen()
		d.hold, d.held = true, nil
		if !strings.HasPrefix(name, "practice-") { // a number does there what it stands for
			d.press("1")
		}
		d.press("backspace", "down", "up", "right", "left")
		if strings.HasPrefix(name, "desk") { // keys ask the ledger there, and come to an end
			d.release()
		}
		assert.Empty(t, d.held, name)
	}
	d := drive(nil, options())
	d.run(d.m.Init()) // looks at what visits left to be done, and comes to an end
	assert.Nil(t, d.m.screen.(startScreen).lookAtLeft(d.m.opt))
}
