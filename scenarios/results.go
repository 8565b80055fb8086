package scenarios

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/condition"
)

// The ways of practising.
const (
	OnOnesOwn = "free"
	WithGuide = "guided"
)

// A Result is one practice as it is kept for the trainee and the supervisor.
type Result struct {
	Who      string         `json:"who"`
	At       time.Time      `json:"at"` // when it ended
	Mode     string         `json:"mode"`
	Scenario string         `json:"scenario"`
	Level    int            `json:"level"`
	Truth    []condition.ID `json:"truth"`
	Named    []condition.ID `json:"named"`
	Right    bool           `json:"right"`
	Score    Score          `json:"score"`
	Readings int            `json:"readings"`
	Informed int            `json:"informed"` // readings of the informed order
	Breaches []string       `json:"breaches"`
	Hints    int            `json:"hints"`
	Caught   int            `json:"caught"` // wrong readings in a guided practice
}

// Result is the session's, once it has ended at the time at.
func (s *Session) Result(at time.Time) (Result, bool) {
	d := s.debrief
	if d == nil {
		return Result{}, false
	}
	r := Result{
		Who: s.who, At: at, Mode: OnOnesOwn, Scenario: s.sc.ID, Level: s.sc.Level, Truth: d.Truth, Named: d.Named, Right: d.Right,
		Score: d.Score, Readings: len(d.Rows), Informed: len(d.Informed.Taken), Hints: d.Hints, Breaches: []string{},
	}
	for _, b := range d.Breaches {
		r.Breaches = append(r.Breaches, b.ID)
	}
	return r, true
}

// JSONLine is the result as one line of the file of results.
func (r Result) JSONLine() ([]byte, error) {
	line, err := json.Marshal(r)
	return append(line, '\n'), err
}

// ReadResults reads a file of results, a line each. A line that cannot be read
// is left out and named in the error; the others are given all the same.
func ReadResults(in io.Reader) (list []Result, err error) {
	lines := bufio.NewScanner(in)
	lines.Buffer(nil, 1<<20)
	var bad []string
	for n := 1; lines.Scan(); n++ {
		if len(bytes.TrimSpace(lines.Bytes())) == 0 {
			continue
		}
		var r Result
		if err := json.Unmarshal(lines.Bytes(), &r); err != nil {
			bad = append(bad, fmt.Sprint(n))
			continue
		}
		list = append(list, r)
	}
	if err := lines.Err(); err != nil {
		return list, err
	}
	if bad != nil {
		return list, fmt.Errorf("line %s cannot be read; the others are used", strings.Join(bad, ", "))
	}
	return list, nil
}

var csvHead = []string{
	"who", "at", "mode", "scenario", "level", "truth", "named", "right", "safety", "findings", "economy", "method", "hint_points",
	"total", "readings", "informed", "breaches", "hints", "caught",
}

// WriteCSV writes results as a table, by RFC 4180.
func WriteCSV(out io.Writer, list []Result) error {
	w := csv.NewWriter(out)
	w.Write(csvHead) // its error stays in w
	for _, r := range list {
		f := func(x float64) string { return fmt.Sprintf("%.1f", x) }
		w.Write([]string{
			plaintext.Cell(r.Who), r.At.Format(time.RFC3339), r.Mode, plaintext.Cell(r.Scenario), fmt.Sprint(r.Level), ids(r.Truth), ids(r.Named), fmt.Sprint(r.Right),
			f(r.Score.Safety), f(r.Score.Findings), f(r.Score.Economy), f(r.Score.Method), f(r.Score.Hints), f(r.Score.Total),
			fmt.Sprint(r.Readings), fmt.Sprint(r.Informed), strings.Join(r.Breaches, " "), fmt.Sprint(r.Hints), fmt.Sprint(r.Caught),
		})
	}
	w.Flush()
	return w.Error()
}

func ids(list []condition.ID) string {
	var texts []string
	for _, id := range list {
		texts = append(texts, string(id))
	}
	return strings.Join(texts, " ")
}

// A Family is how a trainee fares with one part of the plant.
type Family struct {
	Part  condition.Part // condition.NoPart: sound systems
	Done  int
	Right int
	Mean  float64 // of the total, 0 to 100
}

// Families are the trainee's free practices by part, the weakest first; parts
// never met stand before all.
func Families(list []Result, who string) []Family {
	by := map[condition.Part]*Family{}
	for _, p := range []condition.Part{condition.NoPart, condition.Array, condition.Controller, condition.Battery, condition.Load} {
		by[p] = &Family{Part: p}
	}
	for _, r := range list {
		if r.Who != who || r.Mode != OnOnesOwn || len(r.Truth) == 0 {
			continue
		}
		f := by[condition.Of(r.Truth[0]).Part]
		f.Mean = (f.Mean*float64(f.Done) + r.Score.Total) / float64(f.Done+1)
		f.Done++
		if r.Right {
			f.Right++
		}
	}
	var all []Family
	for _, p := range []condition.Part{condition.Array, condition.Battery, condition.Load, condition.Controller, condition.NoPart} {
		all = append(all, *by[p])
	}
	slices.SortStableFunc(all, func(a, b Family) int { return cmp.Compare(a.Mean, b.Mean) })
	return all
}

// Totals of the last practices from which a trainee goes a level up (a choice
// of this project).
const (
	levelUp   = 65
	lastCount = 3
)

// LevelOf is the level a trainee is at: one up for each level at which the last
// three practices came to 65 points in the mean.
func LevelOf(list []Result, who string) int {
	for level := 1; level < Levels; level++ {
		var totals []float64
		for _, r := range list {
			if r.Who == who && r.Mode == OnOnesOwn && r.Level == level {
				totals = append(totals, r.Score.Total)
			}
		}
		if len(totals) < lastCount {
			return level
		}
		var sum float64
		for _, x := range totals[len(totals)-lastCount:] {
			sum += x
		}
		if sum/lastCount < levelUp {
			return level
		}
	}
	return Levels
}

// Next is the embedded scenario to practise next: of the trainee's level, of the
// weakest part that has one not done yet; else the one done longest ago.
func Next(list []Result, who string) *Scenario {
	level := LevelOf(list, who)
	last := map[string]int{}
	for i, r := range list {
		if r.Who == who {
			last[r.Scenario] = i + 1
		}
	}
	var oldest *Scenario
	for _, f := range Families(list, who) {
		for _, s := range Embedded() {
			switch {
			case s.Level != level:
			case s.part() == f.Part && last[s.ID] == 0:
				return s
			case oldest == nil || last[s.ID] < last[oldest.ID]:
				oldest = s
			}
		}
	}
	return oldest
}
