// Package strict reads TOML files key by key and collects everything that is
// wrong in them, each with its line: a missing key, a wrong type, a value out
// of range, a key that nobody asked for.
//
// Start with [Open], [Table] and [Problems]. A reader asks the tables for the
// keys it knows and, at the end, [Table.Err] for what was wrong. Text that it
// hands out is safe for a terminal: one line, no control characters.
package strict

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"ampwalk/diagnose/printable"
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
	if err := toml.Unmarshal(data, &values); err != nil {
		return nil, Problems{syntaxProblem(file, err)}
	}
	return newTable(&document{file: file}, "", locate(data), values), nil
}

func syntaxProblem(file string, err error) Problem {
	p := Problem{File: file, Line: 1, Msg: strings.TrimPrefix(err.Error(), "toml: ")}
	if at := (*toml.DecodeError)(nil); errors.As(err, &at) {
		row, column := at.Position()
		p.Line = max(row, 1)
		p.Key = strings.Join(at.Key(), ".")
		p.Msg = fmt.Sprintf("%s (column %d)", p.Msg, column)
	}
	p.Msg = "cannot be read: " + p.Msg + "; expected TOML, such as name = \"text\" or volts = 12.6"
	return p
}

func newTable(doc *document, path string, at *position, values map[string]any) *Table {
	return &Table{doc: doc, path: path, at: at, values: values, asked: map[string]bool{}, faulty: map[string]bool{}}
}

// Err reports the unknown keys and everything else found wrong so far in the
// whole file, as [Problems]; nil if there is nothing. Call it on the table
// that [Open] gave, when every known key has been asked for.
func (t *Table) Err() error {
	t.reportUnknown()
	if len(t.doc.problems) == 0 {
		return nil
	}
	return t.doc.problems.sorted()
}

func (t *Table) reportUnknown() {
	for _, name := range slices.Sorted(maps.Keys(t.values)) {
		if t.asked[name] {
			continue
		}
		known := slices.Sorted(maps.Keys(t.asked))
		switch like := closest(name, known); {
		case like != "":
			t.Report(name, "unknown key; did you mean %s?", like)
		case len(known) == 0:
			t.Report(name, "unknown key; no key is expected here")
		default:
			t.Report(name, "unknown key; expected one of %s", strings.Join(known, ", "))
		}
	}
	for _, b := range t.below {
		b.reportUnknown()
	}
}

// Report adds a problem of the key name, at its line or, where it is missing,
// at the line of its table. The message says what is wrong; what is expected.
func (t *Table) Report(name, format string, args ...any) {
	t.faulty[name] = true
	t.doc.problems = append(t.doc.problems, Problem{
		File: t.doc.file,
		Line: t.at.at(name).line,
		Key:  t.key(name),
		Msg:  fmt.Sprintf(format, args...),
	})
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

// value finds what the file has for name; a missing one is reported.
func (t *Table) value(name, expected string) (any, bool) {
	v, ok := t.values[name]
	if !t.Has(name) && t.Present() {
		t.Report(name, "missing; expected %s", expected)
	}
	return v, ok
}

func (t *Table) wrongType(name string, v any, expected string) {
	t.Report(name, "is %s; expected %s", typeName(v), expected)
}

func typeName(v any) string {
	switch v := v.(type) {
	case string:
		return fmt.Sprintf("the text %q", v)
	case int64:
		return fmt.Sprintf("the whole number %d", v)
	case float64:
		return fmt.Sprintf("the number %g", v)
	case bool:
		return fmt.Sprintf("%t", v)
	case []any:
		return "a list"
	case map[string]any:
		return "a table"
	case time.Time:
		return "a date and time"
	case toml.LocalDateTime:
		return "a date and time without offset"
	case toml.LocalDate:
		return "a date"
	case toml.LocalTime:
		return "a time of day"
	default:
		return fmt.Sprintf("%v", v)
	}
}

// Table is the table name, which the file must have.
func (t *Table) Table(name string) *Table { return t.table(name, true) }

// TableIfAny is the table name, absent if the file has none.
func (t *Table) TableIfAny(name string) *Table { return t.table(name, false) }

func (t *Table) table(name string, required bool) *Table {
	expected := "a table [" + t.key(name) + "]"
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
	expected := "tables [[" + t.key(name) + "]]"
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

// A Range is the values a number may have, ends included.
type Range struct {
	Min, Max float64
	Unit     string // as people write it; "" for none
}

// Contains reports whether v is in the range; NaN is in none.
func (r Range) Contains(v float64) bool { return v >= r.Min && v <= r.Max }

// String is the range in words: "0 to 90 °".
func (r Range) String() string {
	return strings.TrimSpace(fmt.Sprintf("%s to %s %s", Decimal(r.Min), Decimal(r.Max), r.Unit))
}

// Decimal writes v without exponent, with as many places as it needs but at
// most four.
func Decimal(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64)
}

// Number is the number name.
func (t *Table) Number(name string, in Range) float64 {
	v, ok := t.value(name, "a number, "+in.String())
	if !ok {
		return 0
	}
	n, ok := number(v)
	if !ok {
		t.wrongType(name, v, "a number, "+in.String())
		return 0
	}
	if !t.within(name, "", n, in) {
		return 0
	}
	return n
}

// NumberOr is the number name, or absent where the file has none.
func (t *Table) NumberOr(name string, in Range, absent float64) float64 {
	if !t.Has(name) {
		return absent
	}
	return t.Number(name, in)
}

func number(v any) (float64, bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case int64:
		return float64(v), true
	default:
		return 0, false
	}
}

// within reports a number out of range; which says which one of a list.
func (t *Table) within(name, which string, n float64, in Range) bool {
	switch {
	case in.Contains(n):
		return true
	case math.IsNaN(n), math.IsInf(n, 0):
		t.Report(name, "%sis not a usable number; expected %s", which, in)
	default:
		t.Report(name, "%s%g is out of range; expected %s", which, n, in)
	}
	return false
}

// Numbers is the list of numbers name; nil if something is wrong with it.
func (t *Table) Numbers(name string, in Range) []float64 {
	expected := "a list of numbers, each " + in.String()
	v, ok := t.value(name, expected)
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		t.wrongType(name, v, expected)
		return nil
	}
	ns := make([]float64, len(list))
	for i, v := range list {
		if ns[i], ok = number(v); !ok {
			t.Report(name, "entry %d is %s; expected %s", i+1, typeName(v), expected)
		} else {
			t.within(name, fmt.Sprintf("entry %d: ", i+1), ns[i], in)
		}
	}
	if t.faulty[name] {
		return nil
	}
	return ns
}

// Count is the whole number name.
func (t *Table) Count(name string, least, most int) int {
	in := Range{Min: float64(least), Max: float64(most)}
	v, ok := t.value(name, "a whole number, "+in.String())
	if !ok {
		return 0
	}
	n, ok := v.(int64)
	if !ok {
		t.wrongType(name, v, "a whole number, "+in.String())
		return 0
	}
	if !t.within(name, "", float64(n), in) {
		return 0
	}
	return int(n)
}

// Bool is the truth value name.
func (t *Table) Bool(name string) bool {
	v, ok := t.value(name, "true or false")
	if !ok {
		return false
	}
	b, ok := v.(bool)
	if !ok {
		t.wrongType(name, v, "true or false")
	}
	return b
}

// Text is the text name: one line, not empty.
func (t *Table) Text(name string) string {
	v, ok := t.value(name, "a text")
	if !ok {
		return ""
	}
	return t.text(name, v)
}

// TextIfAny is the text name, "" where the file has none.
func (t *Table) TextIfAny(name string) string {
	if !t.Has(name) {
		return ""
	}
	return t.Text(name)
}

func (t *Table) text(name string, v any) string {
	s, ok := v.(string)
	switch {
	case !ok:
		t.wrongType(name, v, "a text in quotes")
	case strings.TrimSpace(s) == "":
		t.Report(name, "is empty; expected a text")
	case printable.Clean(s) != s:
		t.Report(name, "%q has control or invisible characters; expected plain text on one line", s)
	default:
		return s
	}
	return ""
}

// Texts is the list of texts name; it may be empty.
func (t *Table) Texts(name string) []string {
	v, ok := t.value(name, "a list of texts")
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		t.wrongType(name, v, "a list of texts")
		return nil
	}
	texts := []string{}
	for _, v := range list {
		texts = append(texts, t.text(name, v))
	}
	return texts
}

// Word is the text name, one of the choices.
func (t *Table) Word(name string, choices ...string) string {
	v, ok := t.value(name, oneOf(choices))
	if !ok {
		return ""
	}
	s, ok := v.(string)
	if !ok {
		t.wrongType(name, v, oneOf(choices))
		return ""
	}
	return t.word(name, s, choices)
}

func (t *Table) word(name, s string, choices []string) string {
	if slices.Contains(choices, s) {
		return s
	}
	t.Report(name, "%q is not known here; expected %s", s, oneOf(choices))
	return ""
}

// Words is the text name or the list of texts name, each one of the choices
// and none twice.
func (t *Table) Words(name string, choices ...string) []string {
	expected := oneOf(choices) + ", or a list of these"
	v, ok := t.value(name, expected)
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		list = []any{v}
	}
	if len(list) == 0 {
		t.Report(name, "is an empty list; expected %s", expected)
	}
	var words []string
	for _, v := range list {
		s, ok := v.(string)
		if !ok {
			t.wrongType(name, v, expected)
			continue
		}
		if slices.Contains(words, s) {
			t.Report(name, "%q is given twice; expected it once", s)
			continue
		}
		words = append(words, t.word(name, s, choices))
	}
	return words
}

// oneOf lists choices: `"lit" or "out"`.
func oneOf(choices []string) string {
	quoted := make([]string, len(choices))
	for i, c := range choices {
		quoted[i] = strconv.Quote(c)
	}
	switch n := len(quoted); n {
	case 0:
		return "nothing"
	case 1:
		return quoted[0]
	default:
		return strings.Join(quoted[:n-1], ", ") + " or " + quoted[n-1]
	}
}

// Time is the offset date-time name.
func (t *Table) Time(name string) time.Time {
	const expected = "a date and time with its offset from UTC, such as 2026-11-20T10:30:00+02:00"
	v, ok := t.value(name, expected)
	if !ok {
		return time.Time{}
	}
	at, ok := v.(time.Time)
	if !ok {
		t.wrongType(name, v, expected)
	}
	return at
}
