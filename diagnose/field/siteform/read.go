package siteform

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/stat"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/quantity"
)

// read is what was typed as a value of the file.
func (q Question) read(typed string) (any, error) {
	typed = strings.TrimSpace(plaintext.Clean(typed))
	if typed == "" {
		return nil, fmt.Errorf(words().Empty, q.Expected())
	}
	switch q.Form {
	case Number:
		return quantity.Parse(typed, q.Unit)
	case Count:
		n, err := strconv.Atoi(typed)
		if err != nil {
			return nil, fmt.Errorf(words().NoWholeNumber, typed, q.Expected())
		}
		return n, nil
	case List:
		return quantity.ParseList(typed, q.Unit)
	case Choice:
		word, ok := q.choice(typed)
		if !ok {
			return nil, fmt.Errorf(words().NoChoice, typed, q.Expected())
		}
		return valueOf(word), nil
	case Words, Which:
		return q.words(typed)
	case Pair:
		return q.numbers(typed)
	case Rows:
		return q.rows(typed)
	case Month:
		if yearOnly(typed) {
			return typed + midYear, nil
		}
		return typed, nil
	default:
		return typed, nil
	}
}

// valueOf is a choice as the file has it: 12 and true are no texts there.
func valueOf(word string) any {
	if n, err := strconv.Atoi(word); err == nil {
		return n
	}
	if b, err := strconv.ParseBool(word); err == nil {
		return b
	}
	return word
}

// choice is one of the choices by its word or its number, or by a yes or no.
func (q Question) choice(typed string) (string, bool) {
	if i := slices.IndexFunc(q.Choices, func(c string) bool { return strings.EqualFold(c, typed) }); i >= 0 {
		return q.Choices[i], true
	}
	if n, err := strconv.Atoi(typed); err == nil && n >= 1 && n <= len(q.Choices) {
		return q.Choices[n-1], true
	}
	said, ok := map[string]string{"yes": "true", "no": "false"}[strings.ToLower(typed)]
	return said, ok && slices.Contains(q.Choices, said)
}

// words are one or several choices, with spaces or commas between them.
func (q Question) words(typed string) (any, error) {
	var list []string
	for _, piece := range strings.FieldsFunc(typed, func(r rune) bool { return r == ' ' || r == ',' || r == ';' }) {
		word, ok := q.choice(piece)
		if !ok {
			return nil, fmt.Errorf(words().NoChoice, piece, q.Expected())
		}
		if !slices.Contains(list, word) {
			list = append(list, word)
		}
	}
	switch len(list) {
	case 0:
		return nil, fmt.Errorf(words().NothingChosen, q.Expected())
	case 1:
		return list[0], nil
	default:
		return list, nil
	}
}

// Expected is an example of an answer.
func (q Question) Expected() string {
	switch q.Form {
	case Number:
		if q.unit() == "" {
			return words().Want.Number
		}
		return fmt.Sprintf(words().Want.NumberIn, q.unit())
	case Count:
		return words().Want.Whole
	case List:
		return words().Want.List
	case Choice:
		return words().Want.Choice
	case Words, Which:
		return words().Want.Words
	case Pair:
		return words().Want.Pair
	case Rows:
		return words().Want.Rows
	case Month:
		return words().Want.Month
	case More:
		return words().Want.YesOrNo
	default:
		return words().Want.Text
	}
}

// Understood is how what was typed is taken, "" where it is no answer.
func (q Question) Understood(typed string) string {
	v, err := q.read(typed)
	if err != nil {
		return ""
	}
	switch v := v.(type) {
	case float64:
		return q.Shown(q.said(v))
	case []float64:
		return fmt.Sprintf(words().Figures, len(v), stat.Mean(v, nil))
	case int:
		return q.Shown(strconv.Itoa(v))
	case []string:
		if q.Form == Pair {
			return q.Shown(strings.Join(v, " "))
		}
		return strings.Join(v, ", ")
	case rowList:
		return v.String()
	default:
		return q.Shown(fmt.Sprint(v))
	}
}
