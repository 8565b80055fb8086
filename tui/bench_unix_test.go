//go:build unix

package tui

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"slices"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/muesli/termenv"
)

// A watched writer tells of each write.
type watched struct{ written chan struct{} }

func (w watched) Write(p []byte) (int, error) {
	if bytes.Contains(p, []byte("> ")) { // the line of the field, which every key changes
		select {
		case w.written <- struct{}{}:
		default:
		}
	}
	return len(p), nil
}

// BenchmarkKeyToFrame is the time from a key to the bytes of the new frame in
// the running program, the 95th of a hundred is to
// stay under 16 ms. Keys come at no fixed beat, as from a person.
func BenchmarkKeyToFrame(b *testing.B) {
	for _, s := range sizes {
		b.Run(fmt.Sprintf("%dx%d", s.w, s.h), func(b *testing.B) {
			d := visitUnderWay(answered(4), options())
			d.m.st = newStyles(rendererIn(termenv.TrueColor), Sunlight) // the longest frames
			d.size(s.w, s.h)
			out := watched{make(chan struct{}, 1)}
			keys, _ := io.Pipe()
			t := &terminal{painter: painter{out: out, w: s.w}, resize: make(chan os.Signal)}
			p := tea.NewProgram(painted{d.m, t}, tea.WithInput(keys), tea.WithoutRenderer(), tea.WithoutSignals())
			done := make(chan struct{})
			go func() { defer close(done); _, _ = p.Run() }()
			<-out.written
			var took []time.Duration
			press := []tea.KeyMsg{{Type: tea.KeyRunes, Runes: []rune{'7'}}, {Type: tea.KeyBackspace}}
			for b.Loop() {
				time.Sleep(time.Duration(20+len(took)*37%23) * time.Millisecond)
				start := time.Now()
				p.Send(press[len(took)%2])
				<-out.written
				took = append(took, time.Since(start))
			}
			p.Kill()
			<-done
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "p95-ms")
			b.ReportMetric(0, "ns/op")
		})
	}
}
