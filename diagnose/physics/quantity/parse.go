package quantity

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
)

// Why a text is not taken for a quantity.
var (
	ErrEmpty     = datafile.Error(func() string { return words().Err.Empty })
	ErrNotNumber = datafile.Error(func() string { return words().Err.NotNumber })
	ErrLetter    = datafile.Error(func() string { return words().Err.Letter })
	ErrSeparator = datafile.Error(func() string { return words().Err.Separator })
	ErrAmbiguous = datafile.Error(func() string { return words().Err.Ambiguous })
	ErrSeveral   = datafile.Error(func() string { return words().Err.Several })
	ErrUnit      = datafile.Error(func() string { return words().Err.Unit })
	ErrTooLarge  = datafile.Error(func() string { return words().Err.TooLarge })
)

// A ParseError says what was typed and what is expected.
type ParseError struct {
	Text string // as typed
	Unit string // the step's unit
	Err  error  // one of the reasons above
}

// Error is one line, safe for a terminal.
func (e *ParseError) Error() string {
	u := unitOf(e.Unit)
	what := fmt.Sprintf("%q: %v", plaintext.Clean(e.Text), e.Err)
	if errors.Is(e.Err, ErrEmpty) {
		what = e.Err.Error()
	}
	return fmt.Sprintf(words().Expected, what, u.name(), words().Example[u.example])
}

// Unwrap gives the reason.
func (e *ParseError) Unwrap() error { return e.Err }

// form is sign, whole digits, point or comma, decimals, and the rest.
var form = regexp.MustCompile(`^([+-]?)([0-9]*)([.,]?)([0-9]*) *(.*)$`)

// plainer turns what word processors, telephones and meters' manuals write
// into what a keyboard has.
var plainer = strings.NewReplacer("\u2212", "-", "\u2013", "-", "\u2012", "-", "\ufe63", "-", "\uff0d", "-")

// Parse reads one quantity as people type it: a decimal point or comma, a sign,
// and the unit with a usual prefix, or no unit at all for the one given. The
// result is in the unit and finite; an error is a [ParseError].
func Parse(text, unit string) (float64, error) {
	v, err := parse(text, unitOf(unit))
	if err != nil {
		return 0, &ParseError{Text: text, Unit: unit, Err: err}
	}
	return v, nil
}

func parse(text string, u unit) (float64, error) {
	text = strings.Join(strings.FieldsFunc(plainer.Replace(text), unicode.IsSpace), " ")
	if text == "" {
		return 0, ErrEmpty
	}
	part := form.FindStringSubmatch(text)
	if part == nil {
		return 0, ErrNotNumber
	}
	sign, whole, separator, decimals, rest := part[1], part[2], part[3], part[4], part[5]
	exponent, factor, fits := u.scale(rest)
	switch {
	case whole == "" && decimals == "":
		return 0, ErrNotNumber
	case rest != "" && strings.ContainsRune(".,", rune(rest[0])):
		return 0, ErrSeparator
	case separator != "" && decimals == "":
		return 0, ErrNotNumber // half typed
	case rest != "" && strings.ContainsRune("0123456789+-", rune(rest[0])):
		return 0, ErrSeveral
	case !fits && letterInside.MatchString(rest):
		return 0, ErrLetter
	case !fits:
		return 0, ErrUnit
	case separator != "" && len(decimals) == 3 && thousands.MatchString(whole) && (u.grouped && exponent == "" || strings.HasPrefix(exponent, "e-")):
		return 0, ErrAmbiguous
	}
	// The decimal exponent keeps 13100 mV equal to 13.1 V to the last bit.
	v, err := strconv.ParseFloat(sign+whole+"."+decimals+exponent, 64)
	v *= factor
	if err != nil || math.IsInf(v, 0) {
		return 0, ErrTooLarge
	}
	return v + 0, nil // no negative zero
}

var (
	letterInside = regexp.MustCompile(`^\pL+[.,]?[0-9]`)
	thousands    = regexp.MustCompile(`^[1-9][0-9]{0,2}$`)
)

// ParseList reads several quantities, with spaces or semicolons between them,
// or commas followed by a space: "12.7 12.6", "12,7; 12,6", "12.7 V, 12.6 V".
func ParseList(text, unit string) ([]float64, error) {
	var list []float64
	for _, piece := range split(text) {
		v, err := Parse(piece, unit)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	if len(list) == 0 {
		return nil, &ParseError{Text: text, Unit: unit, Err: ErrEmpty}
	}
	return list, nil
}

// split cuts a list into quantities; a word that begins no number is the unit
// of the number before it.
func split(text string) []string {
	var pieces []string
	for _, part := range strings.Split(plainer.Replace(text), ";") {
		joinable := false
		for _, word := range strings.FieldsFunc(part, unicode.IsSpace) {
			word, ends := strings.CutSuffix(word, ",")
			if word == "" {
				joinable = false
				continue
			}
			if joinable && !strings.ContainsRune("0123456789.,+-", rune(word[0])) {
				pieces[len(pieces)-1] += " " + word
			} else {
				pieces = append(pieces, word)
			}
			joinable = !ends
		}
	}
	return pieces
}
