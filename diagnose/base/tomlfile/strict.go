// Package tomlfile reads TOML files key by key and collects everything that is
// wrong in them, each with its line: a missing key, a wrong type, a value out
// of range, a key that nobody asked for.
//
// Start with [Open], [Table] and [Problems]; [Text] changes a file and leaves the
// rest of it as it is. A reader asks the tables for the
// keys it knows and, at the end, [Table.Err] for what was wrong. Text that it
// hands out is safe for a terminal: one line, no control characters.
package tomlfile

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"ampwalk/diagnose/base/datafile"

	"github.com/pelletier/go-toml/v2"
)

// A Table is one table of a file. One that the file does not have answers
// every question with a zero value and reports nothing more.
type Table struct {
	doc    *document
	path   string // dotted key, "" for the top
	at     *position
	values map[string]any // nil: absent
	asked  map[string]bool
	faulty map[string]bool
	below  []*Table
}

type document struct {
	file     string
	problems Problems
}

// Open reads data, TOML 1.0 with or without a byte order mark. A file that is
// no TOML gives [Problems] with the place of the mistake.
func Open(file string, data []byte) (*Table, error) {
	data = withoutMark(data)
	values := map[string]any{}
	if err := unmarshal(data, &values); err != nil {
		return nil, Problems{syntaxProblem(file, err)}
	}
	return newTable(&document{file: file}, "", locate(data), values), nil
}

// mostMarks bounds what divides a file into keys and tables. The reader compares each
// key of a table with all before it, so that its time grows with their square. Real
// files have a few hundred; judgement.
const mostMarks = 10_000

var errTooMany = datafile.Error(func() string { return fmt.Sprintf(words().TooMany, mostMarks) })

func unmarshal(data []byte, values *map[string]any) error {
	marks := 0
	for _, b := range data {
		if b == '=' || b == '[' || b == '.' {
			marks++
		}
	}
	if marks > mostMarks {
		return errTooMany
	}
	return toml.Unmarshal(data, values)
}

func syntaxProblem(file string, err error) Problem {
	p := Problem{File: file, Line: 1, Msg: strings.TrimPrefix(err.Error(), "toml: ")}
	if at := (*toml.DecodeError)(nil); errors.As(err, &at) {
		row, column := at.Position()
		p.Line = max(row, 1)
		p.Key = strings.Join(at.Key(), ".")
		p.Msg = fmt.Sprintf("%s (column %d)", p.Msg, column)
	}
	p.Msg = fmt.Sprintf(words().Unreadable, p.Msg)
	return p
}

func newTable(doc *document, path string, at *position, values map[string]any) *Table {
	return &Table{doc: doc, path: path, at: at, values: values, asked: map[string]bool{}, faulty: map[string]bool{}}
}

// Err is everything found wrong so far in the whole file, and every key that
// nobody asked for, as [Problems]; nil if there is nothing. Call it on the
// table that [Open] gave, when every known key has been asked for.
func (t *Table) Err() error {
	all := append(slices.Clone(t.doc.problems), t.unknown()...)
	if len(all) == 0 {
		return nil
	}
	return all.sorted()
}

// unknown are the keys of the table, and of those below, that nobody asked for.
func (t *Table) unknown() Problems {
	var ps Problems
	known := slices.Sorted(maps.Keys(t.asked))
	for _, name := range t.Names() {
		if t.asked[name] {
			continue
		}
		expected := fmt.Sprintf(words().OneKey, strings.Join(known, ", "))
		if len(known) == 0 {
			expected = words().NoKey
		} else if like := closest(name, known); like != "" {
			expected = fmt.Sprintf(words().DidYouMean, like)
		}
		ps = append(ps, t.problem(name, fmt.Sprintf(words().UnknownKey, expected)))
	}
	for _, b := range t.below {
		ps = append(ps, b.unknown()...)
	}
	return ps
}

// Report adds a problem of the key name, at its line or, where it is missing,
// at the line of its table. The message says what is wrong; what is expected.
func (t *Table) Report(name, format string, args ...any) {
	t.faulty[name] = true
	t.doc.problems = append(t.doc.problems, t.problem(name, fmt.Sprintf(format, args...)))
}

// ReportMissing is [Table.Report] of a key that is not there.
func (t *Table) ReportMissing(name, format string, args ...any) {
	t.Report(name, words().Missing, fmt.Sprintf(format, args...))
	t.doc.problems[len(t.doc.problems)-1].Missing = true
}

func (t *Table) problem(name, msg string) Problem {
	return Problem{File: t.doc.file, Line: t.at.at(name).line, Key: t.key(name), Msg: msg}
}

// key is the dotted key of name, as TOML writes it.
func (t *Table) key(name string) string {
	bare := name != "" && strings.IndexFunc(name, func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '_' || r == '-')
	}) < 0
	if !bare {
		name = strconv.Quote(name)
	}
	if t.path == "" {
		return name
	}
	return t.path + "." + name
}

// Present reports whether the file has this table.
func (t *Table) Present() bool { return t.values != nil }

// Has reports whether the table has the key name, and takes it for known.
func (t *Table) Has(name string) bool {
	t.asked[name] = true
	_, ok := t.values[name]
	return ok
}

// Names are the keys of the table, sorted, for tables whose keys are data.
func (t *Table) Names() []string { return slices.Sorted(maps.Keys(t.values)) }

// Sound reports whether all the keys are there and nothing was wrong with
// them yet, so that they can be compared with each other.
func (t *Table) Sound(names ...string) bool {
	for _, name := range names {
		if _, ok := t.values[name]; !ok || t.faulty[name] {
			return false
		}
	}
	return true
}

// Table is the table name, which the file must have.
func (t *Table) Table(name string) *Table { return t.table(name, true) }

// TableIfAny is the table name, absent if the file has none.
func (t *Table) TableIfAny(name string) *Table { return t.table(name, false) }

func (t *Table) table(name string, required bool) *Table {
	expected := fmt.Sprintf(words().Want.Table, t.key(name))
	var values map[string]any
	if t.Has(name) || required {
		if v, ok := t.value(name, expected); ok {
			if values, ok = v.(map[string]any); !ok {
				t.wrongType(name, v, expected)
			}
		}
	}
	return t.sub(name, t.at.at(name), values)
}

func (t *Table) sub(name string, at *position, values map[string]any) *Table {
	b := newTable(t.doc, t.key(name), at, values)
	t.below = append(t.below, b)
	return b
}

// Tables are the tables [[name]], none if the file has none.
func (t *Table) Tables(name string) []*Table {
	if !t.Has(name) {
		return nil
	}
	expected := fmt.Sprintf(words().Want.Tables, t.key(name))
	list, ok := t.values[name].([]any)
	if !ok {
		t.wrongType(name, t.values[name], expected)
		return nil
	}
	var all []*Table
	for i, v := range list {
		values, ok := v.(map[string]any)
		if !ok {
			t.wrongType(name, v, expected)
			return all
		}
		all = append(all, t.sub(name, t.at.at(name).item(i), values))
	}
	return all
}
