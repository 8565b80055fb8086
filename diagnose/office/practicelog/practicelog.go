// Package practicelog is what is kept of a practice: one line of JSON for each, for the
// trainee and for the supervisor's ledger. It knows nothing of how a practice is played.
//
// Start with [Result], [Read] and [WriteCSV].
package practicelog

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/condition"
)

// The ways of practising.
const (
	OnOnesOwn = "free"
	WithGuide = "guided"
	Quiz      = "quiz" // paper cases played on the screen
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
	Caught   int            `json:"caught"`            // wrong readings in a guided practice
	Passed   bool           `json:"passed,omitempty"`  // a guided practice: its lesson was met
	Answers  int            `json:"answers,omitempty"` // to the standing questions
	Missed   []string       `json:"missed,omitempty"`  // ids of the standing questions that were not answered right
}

// A Score is the points of one practice, 100 in all at most.
type Score struct {
	Safety   float64 `json:"safety"`
	Findings float64 `json:"findings"`
	Economy  float64 `json:"economy"`
	Method   float64 `json:"method"`
	Hints    float64 `json:"hints"` // taken off, 0 or less
	Total    float64 `json:"total"`
}

// JSONLine is the result as one line of the file of results.
func (r Result) JSONLine() ([]byte, error) {
	line, err := json.Marshal(r)
	return append(line, '\n'), err
}

// Read reads a file of results, a line each. A line that cannot be read
// is left out and named in the error; the others are given all the same.
func Read(in io.Reader) (list []Result, err error) {
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
		return list, fmt.Errorf(words().BadLines, strings.Join(bad, ", "))
	}
	return list, nil
}

var csvHead = []string{
	"who", "at", "mode", "scenario", "level", "truth", "named", "right", "safety", "findings", "economy", "method", "hint_points",
	"total", "readings", "informed", "breaches", "hints", "caught", "answers", "missed",
}

// WriteCSV writes results as a table, by RFC 4180. The file may have been written by
// anybody, so each text is made safe for a spreadsheet and for a terminal.
func WriteCSV(out io.Writer, list []Result) error {
	w := csv.NewWriter(out)
	w.Write(csvHead) // its error stays in w
	for _, r := range list {
		f := func(x float64) string { return fmt.Sprintf("%.1f", x) }
		row := []string{r.Who, r.At.Format(time.RFC3339), r.Mode, r.Scenario, fmt.Sprint(r.Level), ids(r.Truth), ids(r.Named), fmt.Sprint(r.Right)}
		for i, text := range row {
			row[i] = plaintext.Cell(plaintext.Clean(text))
		}
		w.Write(append(row,
			f(r.Score.Safety), f(r.Score.Findings), f(r.Score.Economy), f(r.Score.Method), f(r.Score.Hints), f(r.Score.Total),
			fmt.Sprint(r.Readings), fmt.Sprint(r.Informed), plaintext.Cell(plaintext.Clean(strings.Join(r.Breaches, " "))), fmt.Sprint(r.Hints), fmt.Sprint(r.Caught),
			fmt.Sprint(r.Answers), plaintext.Cell(plaintext.Clean(strings.Join(r.Missed, " ")))))
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
