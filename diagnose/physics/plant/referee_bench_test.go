package plant_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/plant"
)

// needed are the circuits that a plant's readings come from, now that it is
// known how it stands: a lower bound of what a simulator has to solve.
func (b *bench) needed() []*netlist {
	names := []string{"open", "short", "rest", "step", variant("standby", b.live)}
	if b.stand.circuit != "" {
		names = append(names, variant(b.stand.circuit, b.stand.output))
	}
	if b.stand.circuit != "closed" && b.stand.circuit != "converter" {
		names = append(names, "alone")
	}
	if b.stand.regulating && b.stand.need > 0 {
		names = append(names, "part")
	}
	var lists []*netlist
	for _, name := range names {
		if c, ok := b.made[name]; ok {
			lists = append(lists, c)
		}
	}
	return lists
}

// BenchmarkReferee compares Solve with ngspice on the same plants: one process
// for each plant, and one process that holds them all. The ratios are those of
// this run.
func BenchmarkReferee(b *testing.B) {
	path := ngspice(b)
	trials := drawTrials(b, 3, 100)
	benches := judgeStands(b, trials)
	finish(b, benches)
	plants := make([]*plant.Plant, len(trials))
	var all []*netlist
	for i, tr := range trials {
		plants[i] = plant.New(tr.site, tr.minutes)
		all = append(all, benches[i].needed()...)
	}
	var solve time.Duration // a plant
	report := func(b *testing.B) time.Duration {
		each := b.Elapsed() / time.Duration(b.N*len(trials))
		b.ReportMetric(float64(each.Nanoseconds()), "ns/plant")
		b.ReportMetric(0, "ns/op")
		if solve > 0 {
			b.ReportMetric(float64(each)/float64(solve), "x-Solve")
		}
		return each
	}
	b.Run("Solve", func(b *testing.B) {
		var o plant.Out
		for b.Loop() {
			for i, p := range plants {
				p.Solve(&trials[i].u, &o)
			}
		}
		solve = report(b)
	})
	run := func(b *testing.B, circuits []*netlist) {
		todo := make([]int, len(circuits))
		for k := range todo {
			todo[k] = k
		}
		_, err := runProcess(path, b.TempDir(), 0, circuits, todo, make([]solved, len(circuits)))
		require.NoError(b, err)
	}
	b.Run("a process for each plant", func(b *testing.B) {
		for b.Loop() {
			for i := range benches {
				run(b, benches[i].needed())
			}
		}
		report(b)
	})
	b.Run("one process for all", func(b *testing.B) {
		for b.Loop() {
			run(b, all)
		}
		report(b)
	})
}
