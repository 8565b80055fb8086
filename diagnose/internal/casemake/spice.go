package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// errUnsolved is a circuit for which ngspice finds no operating point.
var errUnsolved = errors.New("ngspice does not solve the circuit")

// A netlist is the text of one circuit. Node "0" is the common negative.
type netlist struct {
	text    strings.Builder
	n       int      // elements so far
	probes  []string // what to read: "v(b)", "i(vload)"
	guesses []string // voltages to start from
	sweep   *sweep
}

// A sweep moves a voltage source from 0 to top [V] and notes the probes at every step.
type sweep struct {
	source string
	top    float64
	steps  int
	probes []string
	rows   [][]float64 // the voltage and each probe
}

func (c *netlist) line(format string, args ...any) { fmt.Fprintf(&c.text, format+"\n", args...) }

func (c *netlist) add(kind, from, to, value string) {
	c.n++
	c.line("%s%d %s %s %s", kind, c.n, from, to, value)
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', 12, 64) }

const (
	leastOhm = 1e-6 // of any resistor
	openOhm  = 1e12 // a broken connection
	meterOhm = 1e7  // the input of a voltmeter (common practice)
)

func (c *netlist) resistor(from, to string, ohm float64) {
	c.add("R", from, to, number(max(ohm, leastOhm)))
}

// current takes amps out of from, through the source, into to.
func (c *netlist) current(from, to string, amps float64) { c.add("I", from, to, number(amps)) }

func (c *netlist) voltage(from, to string, v float64) { c.add("V", from, to, number(v)) }

// behave is a current that follows an expression.
func (c *netlist) behave(from, to, expression string) { c.add("B", from, to, "I = "+expression) }

// follow is a voltage that follows an expression.
func (c *netlist) follow(from, to, expression string) { c.add("B", from, to, "V = "+expression) }

// ammeter joins two nodes; the current from one to the other is i(vNAME).
func (c *netlist) ammeter(name, from, to string) {
	c.line("V%s %s %s 0", name, from, to)
	c.probes = append(c.probes, "i(v"+name+")")
}

// meter reads the voltage of a node with a voltmeter's load.
func (c *netlist) meter(nodes ...string) {
	for _, n := range nodes {
		c.resistor(n, "0", meterOhm)
		c.probes = append(c.probes, "v("+n+")")
	}
}

// thermalV is kT/q at the temperature at which ngspice takes a diode, 27 °C [V].
const thermalV = boltzmannEV * 300.15

// diode conducts i0·(exp(v/a) − 1).
func (c *netlist) diode(from, to string, i0, a float64) {
	c.n++
	c.line("D%d %s %s m%d\n.model m%d D(IS=%s N=%s)", c.n, from, to, c.n, c.n, number(i0), number(a/thermalV))
}

// dropping is a diode that drops v at amps, by the slope a [V].
func (c *netlist) dropping(from, to string, v, amps, a float64) {
	c.diode(from, to, amps/(expm1(v/a)), a)
}

func (c *netlist) guess(v float64, nodes ...string) {
	for _, n := range nodes {
		c.guesses = append(c.guesses, fmt.Sprintf("v(%s)=%s", n, number(v)))
	}
}

// attempts are settings to solve a circuit with, one after the other.
var attempts = []struct {
	options string
	guess   bool
}{
	{"reltol=1e-5 abstol=1e-10 vntol=1e-7 gmin=1e-13 itl1=500", true},
	{"reltol=1e-5 abstol=1e-10 vntol=1e-7 gmin=1e-13 itl1=500", false},
	{"reltol=1e-4 abstol=1e-9 vntol=1e-6 gmin=1e-12 itl1=2000", true},
	{"reltol=1e-4 abstol=1e-9 vntol=1e-6 gmin=1e-12 itl1=2000 itl6=200", false},
}

// solved is what the simulator found, by probe.
type solved map[string]float64

// A spice solves circuits in a folder of its own.
type spice struct{ path, dir string }

func newSpice(dir string) (*spice, error) {
	path, err := exec.LookPath("ngspice")
	return &spice{path, dir}, err
}

// solve finds the operating point, and then the sweep if there is one.
func (s *spice) solve(c *netlist) (solved, error) {
	for k := range attempts {
		out, err := s.try(c, k)
		if err != nil {
			return nil, err
		}
		if c.answered(out) {
			return out, nil
		}
	}
	return nil, errUnsolved
}

func (c *netlist) answered(out solved) bool {
	for _, p := range c.probes {
		if _, ok := out[p]; !ok {
			return false
		}
	}
	return c.sweep == nil || len(c.sweep.rows) == c.sweep.steps+1
}

// patience ends a process that is stuck.
const patience = 20 * time.Second

func (s *spice) try(c *netlist, attempt int) (solved, error) {
	file := filepath.Join(s.dir, "circuit.cir")
	if err := os.WriteFile(file, []byte(s.deck(c, attempt)), 0o600); err != nil {
		return nil, err
	}
	table := filepath.Join(s.dir, "sweep.txt")
	_ = os.Remove(table) // of the circuit before, if any
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	// What counts is the values found; the exit code of a script is not.
	text, err := exec.CommandContext(ctx, s.path, "-b", file).Output()
	if len(text) == 0 && ctx.Err() == nil {
		return nil, fmt.Errorf("ngspice: %w", err)
	}
	if c.sweep != nil {
		c.sweep.read(table)
	}
	return values(text), nil
}

// deck is the file of a circuit for one attempt.
func (s *spice) deck(c *netlist, attempt int) string {
	a := attempts[attempt]
	var b strings.Builder
	fmt.Fprintf(&b, "* circuit\n.options %s\n%s", a.options, c.text.String())
	if a.guess && len(c.guesses) > 0 {
		fmt.Fprintf(&b, ".nodeset %s\n", strings.Join(c.guesses, " "))
	}
	b.WriteString(".control\nset numdgt=10\nset wr_singlescale\nop\n")
	for _, p := range slices.Compact(slices.Sorted(slices.Values(c.probes))) {
		fmt.Fprintf(&b, "print %s\n", p)
	}
	if w := c.sweep; w != nil {
		fmt.Fprintf(&b, "dc %s 0 %s %s\nwrdata %s %s\n", w.source, number(w.top), number(w.top/float64(w.steps)),
			filepath.Join(s.dir, "sweep.txt"), strings.Join(w.probes, " "))
	}
	b.WriteString("quit\n.endc\n.end\n")
	return b.String()
}

// values reads the "probe = value" lines.
func values(text []byte) solved {
	out := solved{}
	for line := range bytes.Lines(text) {
		name, value, ok := strings.Cut(string(line), " = ")
		if !ok {
			continue
		}
		if v, err := strconv.ParseFloat(strings.TrimSpace(value), 64); err == nil {
			out[strings.TrimSpace(name)] = v
		}
	}
	return out
}

// read takes the rows of the table that the simulator wrote; none if there is none.
func (w *sweep) read(table string) {
	w.rows = nil
	f, err := os.Open(table)
	if err != nil {
		return
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		var row []float64
		for _, word := range strings.Fields(lines.Text()) {
			v, err := strconv.ParseFloat(word, 64)
			if err != nil {
				return
			}
			row = append(row, v)
		}
		if len(row) == len(w.probes)+1 {
			w.rows = append(w.rows, row)
		}
	}
}
