//go:build unix

package tui

import (
	"errors"
	"os"
	"os/signal"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// stoppable reports whether there is a shell that can bring the program back once it is
// stopped. Such a shell gives each job a process group of its own within its session.
// Where the program leads the session, or its parent is in another one, the system
// takes no notice of the signal to stop, and who waits for the one to go on waits for
// ever.
//
// Source: POSIX.1-2024, XBD 3.255 (orphaned process group) and XSH 2.4.3 (from memory).
func stoppable() bool {
	session, err := unix.Getsid(0)
	above, errAbove := unix.Getsid(os.Getppid())
	return err == nil && errAbove == nil && unix.Getpgrp() != session && above == session
}

// show runs m in a terminal and paints its frames itself; on streams that are no
// terminal it leaves that to the library.
func show(m model, in, out *os.File, options []tea.ProgramOption) (model, error) {
	if in == nil || out == nil || !term.IsTerminal(int(in.Fd())) || !term.IsTerminal(int(out.Fd())) {
		return byLibrary(m, options)
	}
	t := &terminal{in: in, painter: painter{out: out}, resize: make(chan os.Signal, 1), again: make(chan os.Signal, 1), end: make(chan os.Signal, 1)}
	if err := t.take(); err != nil {
		return m, err
	}
	defer t.giveBack()
	signal.Notify(t.resize, unix.SIGWINCH)
	defer signal.Stop(t.resize)
	signal.Notify(t.again, unix.SIGCONT)
	defer signal.Stop(t.again)
	signal.Notify(t.end, unix.SIGINT, unix.SIGTERM, unix.SIGHUP)
	defer signal.Stop(t.end)
	if w, h, err := term.GetSize(int(out.Fd())); err == nil {
		m.w, m.h = w, h
		t.resized(w)
	}
	last, err := tea.NewProgram(painted{m, t}, append(options, tea.WithInput(&keyboard{File: in}), tea.WithoutRenderer(), tea.WithoutSignalHandler())...).Run()
	p, ok := last.(painted)
	if !ok {
		return m, errors.Join(err, errNoState)
	}
	return p.model, err
}

// A terminal is what the program has taken over: raw keys in, frames out.
type terminal struct {
	painter
	in     *os.File
	before *term.State // as it was at first
	resize chan os.Signal
	again  chan os.Signal // the program was stopped, and goes on
	end    chan os.Signal // it is told to end, or its terminal is gone
}

func (t *terminal) take() error {
	before, err := term.MakeRaw(int(t.in.Fd()))
	if err != nil {
		return err
	}
	if t.before == nil {
		t.before = before
	}
	t.enter()
	return nil
}

func (t *terminal) giveBack() {
	t.leave()
	_ = term.Restore(int(t.in.Fd()), t.before) // where that fails there is no terminal left
}

// waitForSize is a command that ends with the window's next change of size.
func (t *terminal) waitForSize() tea.Msg {
	<-t.resize
	return changedSizeMsg{}
}

type changedSizeMsg struct{}

// waitToGoOn is a command that ends when the program goes on after somebody else stopped
// it: a shell has had the terminal meanwhile.
func (t *terminal) waitToGoOn() tea.Msg {
	<-t.again
	return goesOnMsg{}
}

type goesOnMsg struct{}

// waitForEnd is a command that ends when the program must, and ends it.
func (t *terminal) waitForEnd() tea.Msg {
	<-t.end
	return tea.InterruptMsg{}
}

// painted is a model whose frames go straight to a terminal.
type painted struct {
	model
	t *terminal
}

func (p painted) Init() tea.Cmd {
	return tea.Batch(p.model.Init(), p.t.waitForSize, p.t.waitToGoOn, p.t.waitForEnd)
}

func (p painted) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	var wait tea.Cmd
	switch k := msg.(type) {
	case tea.KeyMsg:
		if key.Matches(k, keys.Suspend) && p.model.canStop() {
			return p, func() tea.Msg {
				p.t.giveBack()
				return tea.Suspend()
			}
		}
	case tea.ResumeMsg, goesOnMsg:
		if err := p.t.take(); err != nil {
			return p, tea.Quit // there is no terminal to go on in
		}
		if msg == (goesOnMsg{}) {
			wait = p.t.waitToGoOn
		}
		msg = p.size()
	case changedSizeMsg:
		msg, wait = p.size(), p.t.waitForSize
	}
	next, cmd := p.model.Update(msg)
	p.model = next.(model) // it gives nothing else
	return p, tea.Batch(cmd, wait)
}

// size is the message of the window's present size.
func (p painted) size() tea.Msg {
	w, h, err := term.GetSize(int(p.t.in.Fd()))
	if err != nil {
		w, h = p.w, p.h
	}
	p.t.resized(w)
	return tea.WindowSizeMsg{Width: w, Height: h}
}

// View paints the frame; the library has nothing to draw.
func (p painted) View() string {
	p.t.paint(p.model.View())
	return ""
}
