package plant_test

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"ampwalk/diagnose/base/effort"

	"github.com/stretchr/testify/require"
)

// The referee is ngspice, a circuit simulator that shares nothing with this
// package: it gets the circuit as a list of resistors, diodes and sources, and
// finds the operating point by its own means.

// ngspice is the path of the simulator. Without it the test is skipped, but not
// where all outside programs are required.
func ngspice(tb testing.TB) string {
	tb.Helper()
	if testing.Short() {
		tb.Skip("another program works for a minute")
	}
	path, err := exec.LookPath("ngspice")
	if err != nil {
		if effort.All() {
			tb.Fatal("ngspice is not installed; here it must be")
		}
		tb.Skip("ngspice is not installed: the circuit simulator that checks the plant")
	}
	return path
}

// A netlist is the text of one circuit. Node "0" is the common negative.
type netlist struct {
	text     strings.Builder
	valves   []valve
	inTime   bool // a run in time, which needs rounded valves and wider tolerances
	elements int
	guesses  []string // voltages to start from
	probes   []string // what to read once it is solved: "v(a)", "i(vload)"
	analysis string   // commands that solve it; "" for the operating point
}

// attempts are settings to solve a circuit with, one after the other until it
// converges: tolerances far below those of the comparison, with or without the
// voltages to start from, with sharp or rounded valves.
var attempts = []struct {
	options      string
	guess, sharp bool
}{
	{"reltol=1e-5 abstol=1e-11 vntol=1e-7 gmin=1e-14 itl1=400", true, true},
	{"reltol=1e-5 abstol=1e-11 vntol=1e-7 gmin=1e-14 itl1=400", false, true},
	{"reltol=1e-5 abstol=1e-11 vntol=1e-7 gmin=1e-14 itl1=400", true, false},
	{"reltol=1e-4 abstol=1e-11 vntol=1e-7 gmin=1e-12 itl1=1000", false, false},
}

func (c *netlist) line(format string, args ...any) { fmt.Fprintf(&c.text, format+"\n", args...) }

// add puts an element of the kind between two nodes.
func (c *netlist) add(kind, from, to, value string) {
	c.elements++
	c.line("%s%d %s %s %s", kind, c.elements, from, to, value)
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', 13, 64) }

func (c *netlist) resistor(from, to string, ohm float64) {
	c.add("R", from, to, number(max(ohm, 1e-7)))
}

// current pushes i [A] out of from, through the source, into to.
func (c *netlist) current(from, to string, i float64) { c.add("I", from, to, number(i)) }

func (c *netlist) voltage(from, to string, v float64) { c.add("V", from, to, number(v)) }

// behave is a current that follows an expression of the circuit.
func (c *netlist) behave(from, to, expression string) { c.add("B", from, to, "I = "+expression) }

// follow is a voltage that follows an expression of the circuit.
func (c *netlist) follow(from, to, expression string) { c.add("B", from, to, "V = "+expression) }

// ammeter joins two nodes and measures the current from one to the other as
// i(v…name).
func (c *netlist) ammeter(name, from, to string) { c.line("V%s %s %s 0", name, from, to) }

// power is a current that makes the given power with the voltage v; below least
// [V] it falls with the voltage, as in a resistor. (No branch of an expression
// may be infinite, not even the one that is not taken.)
func (c *netlist) power(from, to, v string, watts, least float64) {
	c.behave(from, to, fmt.Sprintf("%s*%s/(%s > %s ? %s*%s : %s)", number(watts), v, v, number(least), v, v, number(least*least)))
}

// exponential is a diode, i = i0·(exp(v/a) − 1).
func (c *netlist) exponential(name, from, to string, i0, a float64) {
	c.line(".model %s D(IS=%s N=%s)", name, number(i0), number(a/(boltzmannEV*spiceTempK)))
	c.line("D%s %s %s %s", name, from, to, name)
}

// oneWay conducts from one node to the other only: not below a drop [V], with
// a resistance [ohm] above it.
func (c *netlist) oneWay(from, to string, drop, ohm float64) {
	v := fmt.Sprintf("V(%s,%s)", from, to)
	c.behave(from, to, fmt.Sprintf("%s > %s ? (%s-%s)*%s : 0", v, number(drop), v, number(drop), number(1/ohm)))
}

// A valve conducts one way only, with a drop [V] and a resistance [ohm].
type valve struct {
	from, to  string
	drop, ohm float64
}

func (c *netlist) valve(from, to string, drop, ohm float64) {
	c.valves = append(c.valves, valve{from, to, drop, ohm})
}

// sharp writes the valves with a corner, rounded as diodes of a very low emission
// coefficient, whose own voltage stays within 3 mV of that at 1 A, which a
// source takes out again.
func (c *netlist) sharp() {
	for _, v := range c.valves {
		c.oneWay(v.from, v.to, v.drop, v.ohm)
	}
}

func (c *netlist) rounded() {
	const i0, a = 1e-7, 5e-4 // [A], [V]
	for k, v := range c.valves {
		name := fmt.Sprintf("valve%d", k)
		c.exponential(name, v.from, name+"a", i0, a)
		c.voltage(name+"a", name+"b", v.drop-a*math.Log(1/i0))
		c.resistor(name+"b", v.to, v.ohm)
	}
}

// guess gives a voltage to start from.
func (c *netlist) guess(v float64, nodes ...string) {
	for _, n := range nodes {
		c.guesses = append(c.guesses, fmt.Sprintf("v(%s)=%g", n, v))
	}
}

// probe asks for values.
func (c *netlist) probe(what ...string) { c.probes = append(c.probes, what...) }

// solved is what the simulator found, by probe.
type solved map[string]float64

// simulate solves many circuits in a few processes, each in a circuit of its
// own, in their order.
func simulate(tb testing.TB, circuits []*netlist) []solved {
	tb.Helper()
	path := ngspice(tb)
	out := make([]solved, len(circuits))
	todo := make([]int, len(circuits))
	for k := range todo {
		todo[k] = k
	}
	var complaints string
	for try := range attempts {
		complaints = inTwo(tb, path, try, circuits, todo, out)
		todo = slices.DeleteFunc(todo, func(k int) bool { return circuits[k].answered(out[k]) })
		if len(todo) == 0 {
			return out
		}
	}
	require.Fail(tb, "ngspice does not solve a circuit", "%d of them, such as:\n%s\nIt says:\n%s", len(todo), circuits[todo[0]].text.String(), complaints)
	return nil
}

// answered reports whether all that was asked for is there.
func (c *netlist) answered(s solved) bool {
	return !slices.ContainsFunc(c.probes, func(p string) bool { _, ok := s[p]; return !ok })
}

// inTwo solves the circuits of todo, half of them in each of two processes,
// and gives the end of what the simulator complained about.
func inTwo(tb testing.TB, path string, try int, circuits []*netlist, todo []int, out []solved) string {
	tb.Helper()
	const workers = 2
	var wait sync.WaitGroup
	var errs [workers]error
	var said [workers]string
	for w := range workers {
		part := todo[len(todo)*w/workers : len(todo)*(w+1)/workers]
		dir := tb.TempDir()
		wait.Go(func() { said[w], errs[w] = runProcess(path, dir, try, circuits, part, out) })
	}
	wait.Wait()
	for _, err := range errs {
		require.NoError(tb, err)
	}
	return strings.Join(said[:], "\n")
}

// patience ends a process that is stuck: a part of what a test may take.
const patience = 4 * time.Minute

// runProcess solves the circuits of todo in one process.
func runProcess(path, dir string, try int, circuits []*netlist, todo []int, out []solved) (said string, err error) {
	if len(todo) == 0 {
		return "", nil
	}
	script := filepath.Join(dir, "all.cir")
	if err := writeScript(dir, script, try, circuits, todo); err != nil {
		return "", err
	}
	var complaints bytes.Buffer
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	cmd := exec.CommandContext(ctx, path, "-b", script)
	cmd.Stderr = &complaints
	// What counts is the values found; the exit code of a script is not.
	text, err := cmd.Output()
	if len(text) == 0 {
		return "", fmt.Errorf("ngspice: %w", err)
	}
	said = complaints.String()
	return said[max(0, len(said)-2000):], parseProbes(text, out)
}

// writeScript writes a file for each circuit and one that solves them all.
func writeScript(dir, script string, try int, circuits []*netlist, todo []int) error {
	var s strings.Builder
	s.WriteString("* all circuits\n.control\nset numdgt=12\n")
	for _, k := range todo {
		c := circuits[k]
		file := filepath.Join(dir, fmt.Sprintf("c%d.cir", k))
		if err := os.WriteFile(file, []byte(c.deck(try)), 0o600); err != nil {
			return err
		}
		analysis := c.analysis
		if analysis == "" {
			analysis = "op"
		}
		fmt.Fprintf(&s, "source %s\n%s\necho circuit %d\n", file, analysis, k)
		for _, p := range c.probes {
			fmt.Fprintf(&s, "print %s\n", p)
		}
		s.WriteString("destroy all\nremcirc\n")
	}
	s.WriteString("quit\n.endc\n.end\n")
	return os.WriteFile(script, []byte(s.String()), 0o600)
}

// deck is the circuit's file for an attempt.
func (c *netlist) deck(try int) string {
	whole := netlist{elements: c.elements, valves: c.valves}
	a := attempts[try]
	if c.inTime {
		a.options, a.sharp = "reltol=1e-4 abstol=1e-6 vntol=1e-5 method=gear", false
	}
	whole.line("* circuit\n.options %s\n%s", a.options, c.text.String())
	if a.sharp {
		whole.sharp()
	} else {
		whole.rounded()
	}
	if a.guess && len(c.guesses) > 0 {
		whole.line(".nodeset %s", strings.Join(c.guesses, " "))
	}
	whole.line(".end")
	return whole.text.String()
}

// parseProbes reads the "probe = value" lines that follow each circuit's mark.
func parseProbes(text []byte, out []solved) error {
	at := -1
	for line := range strings.Lines(string(text)) {
		if n, ok := strings.CutPrefix(line, "circuit "); ok {
			k, err := strconv.Atoi(strings.TrimSpace(n))
			if err != nil || k < 0 || k >= len(out) {
				return fmt.Errorf("ngspice: unexpected line %q", line)
			}
			at = k
			out[at] = solved{}
			continue
		}
		name, value, ok := strings.Cut(line, " = ")
		if !ok || at < 0 {
			continue
		}
		if v, err := strconv.ParseFloat(strings.TrimSpace(value), 64); err == nil {
			out[at][strings.TrimSpace(name)] = v
		}
	}
	return nil
}
