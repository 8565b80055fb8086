package practicelog_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
)

// Whatever a file of results has, no cell of the table is a formula, and none commands a
// terminal. The beginnings of formulae are those of OWASP's page on CSV injection, from
// memory.
func FuzzReadAndWriteCSV(f *testing.F) {
	for _, text := range []string{"=1+1", "+b", "-2", "@SUM(1)", "\t=x", "\x1b[31mred", "A. Trainee", "\u202e=x", `","`, "\r\n=1"} {
		line, err := json.Marshal(practicelog.Result{Who: text, Mode: text, Scenario: text, Truth: []condition.ID{condition.ID(text)}, Named: []condition.ID{condition.ID(text)}, Breaches: []string{text}})
		require.NoError(f, err)
		f.Add(append(line, '\n'))
	}
	f.Add([]byte("{}\nnot json\n[]\n{\"who\":3}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, _ := practicelog.Read(bytes.NewReader(data)) // what is damaged is left out
		var out bytes.Buffer
		require.NoError(t, practicelog.WriteCSV(&out, list))
		rows, err := csv.NewReader(&out).ReadAll()
		require.NoError(t, err)
		require.Len(t, rows, len(list)+1)
		number := map[string]bool{}
		for i, name := range rows[0] {
			number[rows[0][i]] = strings.HasSuffix(name, "_points") || name == "total" || name == "safety" || name == "findings" || name == "economy" || name == "method" ||
				name == "level" || name == "hints" || name == "readings" || name == "informed" || name == "caught" || name == "answers"
		}
		for _, row := range rows[1:] {
			for i, cell := range row {
				if number[rows[0][i]] {
					continue // the program made it: it may be below 0
				}
				assert.False(t, strings.ContainsAny(firstLetter(cell), "=+-@＝＋－＠\t\r\n"), "%q", cell)
				for _, r := range cell {
					assert.True(t, unicode.IsPrint(r) || r == '\u200c' || r == '\u200d', "%q", cell)
				}
			}
		}
	})
}

func firstLetter(cell string) string {
	for _, r := range strings.TrimLeft(cell, " \u3000\u00a0") {
		return string(r)
	}
	return ""
}
