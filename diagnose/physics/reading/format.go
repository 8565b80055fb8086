package reading

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampwalk/diagnose/physics/quantity"
)

// Format writes a set as a readings file, which [Parse] reads back to the same
// set.
func Format(set *Set) []byte {
	var f formatter
	if !set.TakenAt.IsZero() {
		f.key("taken_at", set.TakenAt.Format(time.RFC3339Nano))
	}
	if set.LoadsOn != nil {
		f.key("loads_on", list(set.LoadsOn, quote))
	}
	if len(set.NotTaken) > 0 {
		f.key("not_taken", list(set.NotTaken, func(k Key) string { return quote(string(k)) }))
	}
	for _, spec := range Specs {
		if value, ok := set.value(spec); ok && spec.Section == "" {
			f.key(spec.Name, value)
		}
	}
	for _, m := range meters {
		if in, ok := set.Instruments[m]; ok {
			f.table("instrument." + string(m))
			f.instrument(in)
		}
	}
	section := ""
	for _, spec := range Specs {
		value, ok := set.value(spec)
		if !ok || spec.Section == "" {
			continue
		}
		if spec.Section != section {
			section = spec.Section
			f.table(section)
		}
		f.key(spec.Name, value)
	}
	f.lamps(set.Words, "as_found.lamps", Key.LampLabel)
	f.lamps(set.Words, "as_found.inverter_lamps", Key.InverterLabel)
	return []byte(f.String())
}

// value is a reading as TOML writes it.
func (s *Set) value(spec Spec) (string, bool) {
	if v, ok := s.Numbers[spec.Key]; ok {
		return decimal(v), true
	}
	if v, ok := s.Words[spec.Key]; ok {
		if spec.Form == YesNo {
			return v, true
		}
		return quote(v), true
	}
	if v, ok := s.Several[spec.Key]; ok {
		return list(v, quote), true
	}
	v, ok := s.Lists[spec.Key]
	return list(v, decimal), ok
}

type formatter struct{ strings.Builder }

func (f *formatter) key(name, value string) { fmt.Fprintf(f, "%s = %s\n", name, value) }

func (f *formatter) table(name string) { fmt.Fprintf(f, "\n[%s]\n", name) }

func (f *formatter) instrument(in quantity.Instrument) {
	if in.Name != "" {
		f.key("name", quote(in.Name))
	}
	if in.Calibrated != "" {
		f.key("calibrated", quote(in.Calibrated))
	}
	if in.PlusMinus != 0 {
		f.key("plus_minus", decimal(in.PlusMinus))
		return
	}
	f.key("percent", decimal(in.Percent))
	f.key("digits", decimal(in.Digits))
	f.key("resolution", decimal(in.Resolution))
}

func (f *formatter) lamps(words map[Key]string, table string, labelOf func(Key) (string, bool)) {
	begun := false
	for _, k := range slices.Sorted(maps.Keys(words)) {
		label, ok := labelOf(k)
		if !ok {
			continue
		}
		if !begun {
			f.table(table)
			begun = true
		}
		f.key(quote(label), quote(words[k]))
	}
}

// decimal is the shortest number that reads back as v; zero has no sign.
func decimal(v float64) string { return strconv.FormatFloat(v+0, 'f', -1, 64) }

// quote is a TOML basic string.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == '\x7f':
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

func list[T any](items []T, write func(T) string) string {
	written := make([]string, len(items))
	for i, item := range items {
		written[i] = write(item)
	}
	return "[" + strings.Join(written, ", ") + "]"
}
