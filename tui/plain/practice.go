package plain

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/scenarios"
	"ampwalk/tui/wiring"
)

// PracticeOptions is what a free practice line by line needs.
type PracticeOptions struct {
	Session *scenarios.Session
	In      io.Reader
	Out     io.Writer
	Width   int // columns of the terminal, 0 for the usual ones
}

// Practice leads a free practice until the case is closed, left, or the input
// ends. It reports whether the case is closed.
func Practice(opt PracticeOptions) (ended bool, err error) {
	if opt.Width <= 0 {
		opt.Width = usualWidth
	}
	p := &practice{opt, nil}
	lines := newTyped(opt.In)
	w := words().Practice
	sc := opt.Session.Scenario()
	p.say(sc.Title, sc.Story, "")
	p.say(wiring.Words(wiring.View{Site: sc.Site})...)
	p.say(opt.Session.State()...)
	p.say("", w.Begin)
	if opt.Session.Questioned() || opt.Session.Naming() { // from the screen
		p.say("", p.ask())
	}
	for p.err == nil {
		typed, err := lines.next(func(problem string) { p.say(fmt.Sprintf(words().Problem, problem)) })
		if errors.Is(err, io.EOF) {
			return opt.Session.Ended(), nil
		} else if err != nil {
			return opt.Session.Ended(), err
		}
		switch strings.ToLower(typed) {
		case "leave":
			p.say(w.Left)
			return false, p.err
		case "wiring":
			p.say(wiring.Words(p.view())...)
		case "pictures":
			p.say(standardLines(sc.Site)...)
		default:
			said, err := opt.Session.Do(typed)
			if err != nil {
				said = []string{fmt.Sprintf(words().Problem, err)}
			}
			p.say(said...)
		}
		if opt.Session.Ended() {
			p.say(opt.Session.Debrief().Lines(p.Width)...)
			return true, p.err
		}
		p.say("", p.ask())
	}
	return false, p.err
}

type practice struct {
	PracticeOptions
	err error // of writing out
}

// ask is what stands before what is typed.
func (p *practice) ask() string {
	w := words().Practice
	switch {
	case p.Session.Questioned():
		return w.Answer
	case p.Session.Naming():
		return w.Action
	}
	return w.Ask
}

// view is the wiring as it is now.
func (p *practice) view() wiring.View {
	b := p.Session.Bench()
	o := b.State()
	return wiring.View{Site: b.Site(), Open: wiring.Open{
		Array: o.Array || o.ArrayFuse, Shorted: o.Shorted, Battery: o.BatteryFuse, Loads: o.LoadFuse || len(b.LoadsOn()) == 0,
	}}
}

// say writes lines, broken to the width with their indent kept.
func (p *practice) say(lines ...string) {
	for _, l := range lines {
		for _, part := range plaintext.WrapIndented(l, p.Width) {
			if p.err != nil {
				return
			}
			_, p.err = io.WriteString(p.Out, part+"\n")
		}
	}
}
