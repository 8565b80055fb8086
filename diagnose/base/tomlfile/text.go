package tomlfile

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/charmbracelet/x/ansi"
	"github.com/pelletier/go-toml/v2"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
)

// A Text is the text of a TOML file that is changed value by value. Whatever is
// not changed stays as it is: order, comments, blank lines, line ends. It is a
// value; a change gives a new one.
//
// A path names a key as in "array.module.voc_v", with the number of the table in
// an array of tables: "load.1.power_w" is in the second [[load]].
type Text struct {
	mark   []byte // byte order mark, if any
	data   []byte
	values map[string]any
	at     *position
}

// ErrByHand says that a change would need more than putting in, changing or
// taking out lines, so that only a person can make it.
var ErrByHand = datafile.Error(func() string { return words().ByHand })

// NewText reads a text; one that is no TOML gives [Problems].
func NewText(file string, data []byte) (Text, error) {
	rest := withoutMark(data)
	t := Text{mark: data[:len(data)-len(rest)], data: rest}
	if err := unmarshal(rest, &t.values); err != nil {
		return Text{}, Problems{syntaxProblem(file, err)}
	}
	if t.values == nil {
		t.values = map[string]any{}
	}
	t.at = locate(rest)
	return t, nil
}

// Bytes is the text.
func (t Text) Bytes() []byte { return append(slices.Clone(t.mark), t.data...) }

// Value is what stands at path: int64, float64, string, bool, []any or map[string]any.
func (t Text) Value(path string) (any, bool) {
	var v any = t.values
	for _, name := range strings.Split(path, ".") {
		switch in := v.(type) {
		case map[string]any:
			below, ok := in[name]
			if !ok {
				return nil, false
			}
			v = below
		case []any:
			i, err := strconv.Atoi(name)
			if err != nil || i < 0 || i >= len(in) {
				return nil, false
			}
			v = in[i]
		default:
			return nil, false
		}
	}
	return v, true
}

// Number is the number at path.
func (t Text) Number(path string) (float64, bool) {
	switch v, _ := t.Value(path); v := v.(type) {
	case int64:
		return float64(v), true
	case float64:
		return v, true
	default:
		return 0, false
	}
}

// Count is the number of tables in the array of tables at path.
func (t Text) Count(path string) int {
	v, _ := t.Value(path)
	list, _ := v.([]any)
	return len(list)
}

// Line is the line of path or, where it is missing, of its table: as in a [Problem].
func (t Text) Line(path string) int {
	p := t.at
	for _, name := range strings.Split(path, ".") {
		if i, err := strconv.Atoi(name); err == nil {
			p = p.item(i)
			continue
		}
		p = p.at(name)
	}
	return p.line
}

// find is the position of path.
func (t Text) find(path string) (*position, bool) {
	p := t.at
	if path == "" {
		return p, true
	}
	for _, name := range strings.Split(path, ".") {
		i, err := strconv.Atoi(name)
		below, ok := p.keys[name]
		if err == nil && i >= 0 && i < len(p.items) {
			below, ok = p.items[i], true
		}
		if !ok {
			return nil, false
		}
		p = below
	}
	return p, true
}

// Comment is the comment behind the value at path, without its "#".
func (t Text) Comment(path string) string {
	p, ok := t.find(path)
	if !ok || p.entry == (span{}) || p.inline {
		return ""
	}
	rest := string(t.data[p.entry.to:t.lineEnd(p.entry.to)])
	_, comment, _ := strings.Cut(rest, "#")
	return strings.TrimSpace(plaintext.Clean(comment))
}

func (t Text) lineEnd(from int) int {
	if i := bytes.IndexByte(t.data[from:], '\n'); i >= 0 {
		from += i
		if from > 0 && t.data[from-1] == '\r' {
			from--
		}
		return from
	}
	return len(t.data)
}

// Set puts value at path: a string, bool, int, float64 or a list of float64 or
// string. A key that is not there yet stands behind the nearest of its siblings
// in order that is there, and else at the end of its table; a table that is not
// there yet, at the end of the text.
func (t Text) Set(path string, value any, order ...string) (Text, error) {
	literal, err := literalOf(value)
	if err != nil {
		return t, err
	}
	wish := t.wish(path, func(any) (any, bool) { return plain(literal), true })
	if p, ok := t.find(path); ok {
		if p.entry == (span{}) {
			return t, ErrByHand
		}
		to, with := t.aligned(p, literal)
		return t.changed(p.value.from, to, with, wish)
	}
	parent, name := split(path)
	line := name + " = " + literal + t.newline()
	table, ok := t.find(parent)
	switch {
	case !ok:
		return t.changed(len(t.data), len(t.data), t.apart()+"["+bare(parent)+"]"+t.newline()+line, wish)
	case table.inline || table.entry != (span{}) || table.header == noHeader:
		return t, ErrByHand
	}
	at := table.own
	for _, sibling := range order {
		if p, ok := table.keys[sibling]; ok && p.entry != (span{}) {
			at = min(t.lineEnd(p.entry.to)+len(t.newline()), len(t.data))
		}
		if sibling == name {
			break
		}
	}
	return t.changed(at, at, t.begun(at)+line, wish)
}

// SetComment puts a comment behind the value at path, or takes it away with "".
func (t Text) SetComment(path, comment string) (Text, error) {
	p, ok := t.find(path)
	if !ok || p.entry == (span{}) || p.inline {
		return t, ErrByHand
	}
	from, to := p.entry.to, t.lineEnd(p.entry.to)
	text := ""
	if comment = plaintext.Clean(comment); comment != "" {
		gap := "  "
		if i := bytes.IndexByte(t.data[from:to], '#'); i > 0 {
			gap = string(t.data[from : from+i])
		}
		text = gap + "# " + comment
	}
	return t.changed(from, to, text, t.values)
}

// Remove takes out the key at path with its line, or a table of an array of
// tables with its lines and those of the tables below it. Comments on lines of
// their own above it stay.
func (t Text) Remove(path string) (Text, error) {
	p, ok := t.find(path)
	if !ok {
		return t, nil
	}
	wish := t.wish(path, func(any) (any, bool) { return nil, false })
	switch {
	case p.inline:
		return t, ErrByHand
	case p.entry != (span{}):
		from := bytes.LastIndexByte(t.data[:p.entry.from], '\n') + 1
		return t.changed(from, t.nextLine(p.entry.to), "", wish)
	case p.header == noHeader:
		return t, ErrByHand
	}
	from, to := p.header, p.end
	if strings.HasSuffix(string(t.data[:from]), t.newline()+t.newline()) && strings.HasPrefix(string(t.data[to:]), t.newline()) {
		to += len(t.newline())
	}
	return t.changed(from, to, "", wish)
}

func (t Text) nextLine(from int) int {
	return min(t.lineEnd(from)+len(t.newline()), len(t.data))
}

// Append adds an empty table to the array of tables at path, behind the last one
// or, where there is none, behind the table it belongs to.
func (t Text) Append(path string) (Text, error) {
	wish := t.wish(path, func(old any) (any, bool) {
		list, _ := old.([]any)
		return append(slices.Clone(list), map[string]any{}), true
	})
	at := len(t.data)
	parent, _ := split(path)
	above, ok := t.find(path)
	if p, found := t.find(parent); !ok && found && parent != "" {
		above, ok = p, true
	}
	switch {
	case ok && (above.inline || above.entry != (span{}) || above.end == 0):
		return t, ErrByHand
	case ok:
		at = above.end
	}
	before := t.newline()
	if at == len(t.data) {
		before = t.apart()
	}
	return t.changed(at, at, before+"[["+bare(path)+"]]"+t.newline(), wish)
}

// changed is the text with other bytes in place of those from from to to, if it
// then says what is wished and nothing else.
func (t Text) changed(from, to int, with string, wish map[string]any) (Text, error) {
	data := slices.Concat(t.data[:from], []byte(with), t.data[to:])
	next, err := NewText("", data)
	if err != nil {
		return t, fmt.Errorf("%w: %w", ErrByHand, err)
	}
	if !reflect.DeepEqual(next.values, wish) {
		return t, ErrByHand
	}
	next.mark = t.mark
	return next, nil
}

// wish is what the text has to say after a change: its values with what edit
// makes of the one at path, or without it where edit says so.
func (t Text) wish(path string, edit func(old any) (now any, keep bool)) map[string]any {
	now, _ := edited(t.values, strings.Split(path, "."), edit)
	return now.(map[string]any)
}

func edited(v any, names []string, edit func(any) (any, bool)) (now any, keep bool) {
	if len(names) == 0 {
		return edit(v)
	}
	if in, ok := v.([]any); ok {
		i, err := strconv.Atoi(names[0])
		if err != nil || i < 0 || i >= len(in) {
			return v, true
		}
		out := slices.Clone(in)
		if out[i], keep = edited(in[i], names[1:], edit); !keep {
			out = slices.Delete(out, i, i+1)
		}
		return out, len(out) > 0 // no [[table]] is no key
	}
	in, _ := v.(map[string]any)
	out := make(map[string]any, len(in)+1)
	maps.Copy(out, in)
	if out[names[0]], keep = edited(in[names[0]], names[1:], edit); !keep {
		delete(out, names[0])
	}
	return out, true
}

// split is the path of the table, and the name of the key in it.
func split(path string) (table, name string) {
	i := strings.LastIndexByte(path, '.')
	if i < 0 {
		return "", path
	}
	return path[:i], path[i+1:]
}

// bare is a path as it stands in a header: without numbers.
func bare(path string) string {
	names := slices.DeleteFunc(strings.Split(path, "."), func(name string) bool {
		_, err := strconv.Atoi(name)
		return err == nil
	})
	return strings.Join(names, ".")
}

// newline is how the lines of the text end.
func (t Text) newline() string {
	if bytes.Contains(t.data, []byte("\r\n")) {
		return "\r\n"
	}
	return "\n"
}

// begun is what has to stand before a line put in at offset at: the end of the
// line before, where the text breaks off without one.
func (t Text) begun(at int) string {
	if at > 0 && t.data[at-1] != '\n' {
		return t.newline()
	}
	return ""
}

// apart is what has to stand between the text and a table at its end.
func (t Text) apart() string {
	nl := t.newline()
	switch end := string(t.data); {
	case end == "", strings.HasSuffix(end, nl+nl):
		return ""
	default:
		return t.begun(len(t.data)) + nl
	}
}

// aligned is the literal with as many spaces as keep a comment behind it in its
// column, and a gap of at least two before it.
func (t Text) aligned(p *position, literal string) (to int, with string) {
	gap := 0
	for p.value.to+gap < len(t.data) && t.data[p.value.to+gap] == ' ' {
		gap++
	}
	if p.inline || gap == 0 || p.value.to+gap >= len(t.data) || t.data[p.value.to+gap] != '#' {
		return p.value.to, literal
	}
	wide := func(s string) int { return ansi.StringWidth(s) }
	gapNow := max(2, wide(string(t.data[p.value.from:p.value.to]))+gap-wide(literal))
	return p.value.to + gap, literal + strings.Repeat(" ", gapNow)
}

// literalOf writes a value as TOML does.
func literalOf(value any) (string, error) {
	switch v := value.(type) {
	case string:
		return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(plaintext.Clean(v)) + `"`, nil
	case bool:
		return strconv.FormatBool(v), nil
	case int:
		return strconv.Itoa(v), nil
	case float64:
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return "", fmt.Errorf(words().NotANumber, v)
		}
		return strconv.FormatFloat(v, 'f', -1, 64), nil
	case []float64:
		return listOf(v)
	case []string:
		return listOf(v)
	default:
		return "", fmt.Errorf(words().NotWritable, value)
	}
}

func listOf[T any](list []T) (string, error) {
	parts := make([]string, len(list))
	for i, v := range list {
		literal, err := literalOf(v)
		if err != nil {
			return "", err
		}
		parts[i] = literal
	}
	return "[" + strings.Join(parts, ", ") + "]", nil
}

// plain is a value as a reader of the text finds it: a number without decimals
// reads as a whole one.
func plain(literal string) any {
	var v struct{ X any }
	if err := toml.Unmarshal([]byte("X = "+literal), &v); err != nil {
		return nil
	}
	return v.X
}
