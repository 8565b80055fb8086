package siteform

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/quantity"
)

// First are the questions that matter most: with them a site is described, and
// [Draft.Filled] assumes the rest.
func (d Draft) First() []Question {
	all := d.Questions()
	var list []Question
	for _, key := range lists().First {
		if d.notThere(key) {
			continue
		}
		if i := slices.IndexFunc(all, func(q Question) bool { return q.Path == key }); i >= 0 {
			list = append(list, all[i])
			continue
		}
		for _, t := range lists().Together {
			if t.Key == key {
				list = append(list, Question{
					Path: t.Key, Part: t.Part, Title: t.Title, Where: t.Where, Form: t.Form, Choices: t.Choices, Explain: t.Explain,
					Optional: t.Optional, Without: t.Without, keys: t.Of, each: t.Each, says: t.Says,
				})
			}
		}
	}
	return list
}

// notThere reports whether key is one of those that mark what else there is, and has no value.
func (d Draft) notThere(key string) bool {
	return !d.follows(key) && slices.ContainsFunc(lists().Together, func(t ask) bool {
		return t.Key == extrasKey && slices.Contains(t.Of, key)
	})
}

// extrasKey is the question for what not every site has, its fuses among it.
const extrasKey = "fuses"

// onlyFirst reports whether nothing but the first questions is answered, and all well.
func (d Draft) onlyFirst() bool {
	first := d.First()
	return len(d.AllWrong()) == 0 && len(d.Elsewhere()) == 0 && !slices.ContainsFunc(d.Questions(), func(q Question) bool {
		return d.Given(q) && !slices.ContainsFunc(first, func(f Question) bool { return f.owns(q.Path) })
	})
}

// together reports whether q asks for several keys in one line.
func (q Question) together() bool { return q.keys != nil }

// owns reports whether the answer to q is at that path.
func (q Question) owns(path string) bool {
	return path == q.Path || slices.Contains(q.keys, path) || q.each != "" && strings.HasPrefix(path, q.each+".")
}

// one is the question of one key.
func (d Draft) one(path string) (Question, bool) {
	list := d.Questions()
	i := slices.IndexFunc(list, func(q Question) bool { return q.Path == path })
	if i < 0 {
		return Question{}, false
	}
	return list[i], true
}

// allGiven reports whether the keys of q have what makes an answer.
func (d Draft) allGiven(q Question) bool {
	has := func(key string) bool {
		_, ok := d.text.Value(key)
		return ok
	}
	switch q.Form {
	case Rows:
		return d.text.Count(q.each) > 0
	case Which:
		return slices.ContainsFunc(q.keys, has)
	default:
		return !slices.ContainsFunc(q.keys, func(key string) bool { return !has(key) })
	}
}

// answerAll is what the file says to a q that asks for several keys, as one would type it.
func (d Draft) answerAll(q Question) string {
	if !d.allGiven(q) {
		return ""
	}
	var list []string
	switch q.Form {
	case Rows:
		for i := range d.text.Count(q.each) {
			list = append(list, d.rowAt(q, i).String())
		}
		return strings.Join(list, "; ")
	case Which:
		for i, key := range q.keys {
			if _, ok := d.text.Value(key); ok {
				list = append(list, q.Choices[i])
			}
		}
		return strings.Join(list, ", ")
	default:
		for _, key := range q.keys {
			one, _ := d.one(key)
			list = append(list, d.Answer(one))
		}
		return strings.Join(list, " ")
	}
}

// putAll answers a q that asks for several keys.
func (d Draft) putAll(q Question, typed string) (Draft, error) {
	value, err := q.read(typed)
	if err != nil {
		return d, err
	}
	switch value := value.(type) {
	case rowList:
		return d.putRows(q, value)
	case []string:
		if q.Form == Which {
			return d.putWhich(q, value)
		}
		return d.putPair(q, value)
	default: // one choice
		return d.putWhich(q, []string{fmt.Sprint(value)})
	}
}

func (d Draft) putPair(q Question, texts []string) (Draft, error) {
	next := d
	for i, key := range q.keys {
		one, ok := next.one(key)
		if !ok {
			continue
		}
		var err error
		if next, err = next.Put(one, texts[i]); err != nil {
			return d, err
		}
	}
	return next, nil
}

// putWhich has the keys of what is there: a usual figure where there is none yet.
func (d Draft) putWhich(q Question, there []string) (Draft, error) {
	next := d
	for i, key := range q.keys {
		one, ok := next.one(key)
		if !ok {
			continue
		}
		var err error
		switch on := slices.Contains(there, q.Choices[i]); {
		case !on:
			next, err = next.Clear(one)
		case !next.Given(one):
			t, known := next.usual(one)
			if !known {
				return d, ErrNoTypical
			}
			next, err = next.assume(one, t)
		}
		if err != nil {
			return d, err
		}
	}
	return next, nil
}

// putRows describes the loads anew; one with the label of an earlier one keeps what else
// was said of that.
func (d Draft) putRows(q Question, list rowList) (Draft, error) {
	rest := map[string]map[string]string{}
	for i := range d.text.Count(q.each) {
		kept := map[string]string{}
		for _, one := range d.Questions() {
			if one.Group == join(q.each, strconv.Itoa(i)) && d.Given(one) && !d.Assumed(one) {
				_, name, _ := cutLast(one.Path)
				kept[name] = d.Answer(one)
			}
		}
		rest[kept[q.keys[0]]] = kept
	}
	next, err := d.clearAll(q)
	for i, r := range list {
		if err != nil {
			return d, err
		}
		if next, err = next.Add(Question{Path: q.each}); err != nil {
			return d, err
		}
		said := map[string]string{q.keys[0]: r.label, q.keys[1]: r.power, q.keys[2]: r.hours}
		for name, text := range rest[r.label] {
			if _, ok := said[name]; !ok {
				said[name] = text
			}
		}
		for _, one := range next.Questions() {
			_, name, _ := cutLast(one.Path)
			if text := said[name]; err == nil && text != "" && one.Group == join(q.each, strconv.Itoa(i)) {
				next, err = next.Put(one, text)
			}
		}
	}
	if err != nil {
		return d, err
	}
	return next, nil
}

// clearAll takes the answers of all keys of q out of the file.
func (d Draft) clearAll(q Question) (Draft, error) {
	text := d.text
	var err error
	if q.Form == Rows {
		for i := text.Count(q.each) - 1; i >= 0 && err == nil; i-- {
			text, err = text.Remove(join(q.each, strconv.Itoa(i)))
		}
	} else {
		for _, key := range q.keys {
			if _, ok := text.Value(key); ok && err == nil {
				text, err = text.Remove(key)
			}
		}
	}
	if err != nil {
		return d, err
	}
	return checked(text), nil
}

// typicalPair is the typical value of each key of q.
func (d Draft) typicalPair(q Question) (Typical, bool) {
	var texts, whys []string
	for _, key := range q.keys {
		one, ok := d.one(key)
		if !ok {
			return Typical{}, false
		}
		t, ok := d.Typical(one)
		if !ok {
			return Typical{}, false
		}
		texts, whys = append(texts, t.Text), append(whys, t.Why)
	}
	return Typical{Text: strings.Join(texts, " "), Why: strings.Join(whys, "; ")}, true
}

// assumeAll answers each key of q that has no answer with its usual value.
func (d Draft) assumeAll(q Question) (Draft, error) {
	next := d
	for _, key := range q.keys {
		one, ok := next.one(key)
		if !ok || next.Given(one) {
			continue
		}
		t, ok := next.usual(one)
		if !ok {
			return d, ErrNoTypical
		}
		var err error
		if next, err = next.assume(one, t); err != nil {
			return d, err
		}
	}
	return next, nil
}

// compass are the letters behind a latitude or a longitude with their signs.
var compass = map[byte]string{'N': "", 'S': "-", 'E': "", 'W': "-"}

// numbers are as many numbers as q has keys; "2 x 3" and "12.6 S 34.1 E" are such too.
func (q Question) numbers(typed string) (any, error) {
	var list []string
	for _, piece := range strings.FieldsFunc(strings.ToUpper(typed), func(r rune) bool { return strings.ContainsRune(" X;°", r) }) {
		sign, lettered := compass[piece[len(piece)-1]]
		number := strings.TrimRight(piece, "NSEW,")
		if lettered && number == "" && len(list) > 0 {
			list[len(list)-1] = sign + list[len(list)-1]
			continue
		}
		v, err := quantity.Parse(number, "")
		if err != nil {
			return nil, fmt.Errorf(words().NoPair, piece, q.Expected())
		}
		list = append(list, sign+tomlfile.Decimal(v))
	}
	if len(list) != len(q.keys) {
		return nil, fmt.Errorf(words().NoPair, typed, q.Expected())
	}
	return list, nil
}

// A row is one load, as one would type it.
type row struct{ label, power, hours string }

type rowList []row

func (r row) String() string { return fmt.Sprintf(words().Row, r.label, r.power, r.hours) }

func (l rowList) String() string {
	texts := make([]string, len(l))
	for i, r := range l {
		texts[i] = r.String()
	}
	return strings.Join(texts, "; ")
}

func (d Draft) rowAt(q Question, i int) row {
	var texts [3]string
	for k, name := range q.keys {
		v, _ := d.text.Value(join(join(q.each, strconv.Itoa(i)), name))
		if v != nil {
			texts[k] = q.said(v)
		}
	}
	return row{texts[0], texts[1], texts[2]}
}

// oneRow is words, then two numbers, each with its unit or without.
var oneRow = regexp.MustCompile(`^(.*[^\s,]),?\s+([0-9][0-9.,]*\s*(?i:k?W)?),?\s+([0-9][0-9.,]*\s*(?i:h)?)$`)

// rows are loads with semicolons, or commas and spaces, between them.
func (q Question) rows(typed string) (any, error) {
	var list rowList
	for _, piece := range strings.Split(typed, ";") {
		piece = strings.TrimSpace(piece)
		if piece == "" {
			continue
		}
		said := oneRow.FindStringSubmatch(piece)
		if said == nil {
			return nil, fmt.Errorf(words().NoRow, piece, q.Expected())
		}
		r := row{label: said[1]}
		for _, f := range []struct {
			to         *string
			text, unit string
		}{{&r.power, said[2], "W"}, {&r.hours, said[3], "h"}} {
			v, err := quantity.Parse(f.text, f.unit)
			if err != nil {
				return nil, err
			}
			*f.to = tomlfile.Decimal(v)
		}
		list = append(list, r)
	}
	if list == nil {
		return nil, fmt.Errorf(words().NoRow, typed, q.Expected())
	}
	return list, nil
}

// midYear stands for a year of which the month is not known, which is right within
// half a year.
const midYear = "-07"

var year = regexp.MustCompile(`^\s*(19|20)[0-9]{2}\s*$`)

func yearOnly(typed string) bool { return year.MatchString(typed) }
