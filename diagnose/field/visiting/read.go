package visiting

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

const (
	yes = "yes"
	no  = "no"
)

// Read makes an answer of what was typed for p. Its error is a *Doubt where the
// value could hardly be, else it says what is expected. The caller sets At.
func (v *Visit) Read(p Prompt, typed string) (Answer, error) { return v.read(p, typed, false) }

// ReadAnyway is Read for a value that the person confirmed after a Doubt.
func (v *Visit) ReadAnyway(p Prompt, typed string) (Answer, error) { return v.read(p, typed, true) }

func (v *Visit) read(p Prompt, typed string, anyway bool) (Answer, error) {
	typed = strings.TrimSpace(plaintext.Clean(typed))
	a := Answer{Step: p.Step.ID, Kind: Took, Reading: p.Step.Reading, Typed: typed, Repeats: p.Once, Action: p.Action}
	var err error
	switch p.Step.Kind {
	case procedure.Confirm, procedure.Act:
		a.Kind = Did
		err = a.did(p.Step, typed)
	case procedure.Say:
		a.Kind = Did
		err = a.said(v, typed)
	case procedure.Choose:
		var picked procedure.Choices
		if picked, err = pickAny(typed, p.Step.Choices); err == nil {
			a.Choose(picked)
		}
	case procedure.Take:
		err = v.take(&a, p, typed, anyway)
	}
	return a, err
}

// did reads the answer to a confirmation or an action: all its checks, one of
// its choices with what there is to say about it, or else yes or no, or done.
func (a *Answer) did(s procedure.Step, typed string) error {
	var err error
	switch {
	case len(s.Checks) > 0:
		var marked procedure.Choices
		if marked, err = checked(typed, s.Checks); err == nil {
			a.Choose(marked)
			a.Word = s.Word(a.Chosen)
		}
	case len(s.Choices) > 0:
		var choice procedure.Choice
		if choice, a.Reason, err = pickAndSay(typed, s.Choices); err == nil {
			a.Choose(procedure.Choices{choice})
			a.Word = s.Word(a.Chosen)
		}
	case s.Kind == procedure.Act:
		var done procedure.Choice
		done, err = pick(typed, procedure.Named(procedure.ActDone))
		a.Word = done.ID
	default:
		var said procedure.Choice
		said, a.Reason, err = pickAndSay(typed, procedure.Named(yes, no))
		a.Word = said.ID
	}
	return err
}

// said reads who sees to a finding and by when; "" names nobody.
func (a *Answer) said(v *Visit, typed string) error {
	if typed != "" && !strings.ContainsFunc(typed, unicode.IsLetter) {
		return fmt.Errorf(words().Problem.NoName, typed, words().Work.Hint)
	}
	a.Word, a.Reason = procedure.ActDone, typed
	if c, ok := v.workFor(a.Step); ok && a.Step != seenStep {
		a.About, a.Labels = string(c.ID), []string{c.Title}
	}
	if typed == "" {
		a.Word = procedure.ActNothing
	}
	return nil
}

// pickAndSay is a choice and the words after it: "no, nobody is here".
func pickAndSay(typed string, choices procedure.Choices) (choice procedure.Choice, said string, err error) {
	if choice, err = pick(typed, choices); err == nil {
		return choice, "", nil
	}
	word, rest, _ := strings.Cut(typed, " ")
	if first, e := pick(strings.TrimRight(word, ",.;:"), choices); e == nil {
		return first, strings.TrimSpace(rest), nil
	}
	return choice, "", err
}

// checked are the checks by their numbers. Each is typed by itself, so that
// none is passed over; one that does not hold is said with "cannot".
func checked(typed string, checks procedure.Choices) (procedure.Choices, error) {
	if len(checks) > 1 && slices.Contains([]string{"all", "none", ""}, strings.ToLower(typed)) {
		return nil, fmt.Errorf(words().Problem.CheckEach, ErrUnchecked)
	}
	picked, err := pickAny(typed, checks)
	if err != nil {
		return nil, err
	}
	for _, c := range checks {
		if !slices.Contains(picked, c) {
			return nil, fmt.Errorf(words().Problem.CheckThis, ErrUnchecked, c.Text)
		}
	}
	return picked, nil
}

// ErrUnchecked says that not all of the checks were marked.
var ErrUnchecked = datafile.Error(func() string { return words().Problem.Unchecked })

func (v *Visit) take(a *Answer, p Prompt, typed string, anyway bool) error {
	switch p.Spec.Form {
	case reading.Word:
		if word, ok := p.Step.Choices.With(typed); ok { // as a readings file has it
			a.Word = word.ID
			return nil
		}
		word, err := pick(typed, p.Step.Choices)
		a.Word = word.ID
		return err
	case reading.List:
		return v.list(a, p, typed, anyway)
	}
	x, err := quantity.Parse(typed, p.Spec.Unit)
	if err != nil {
		return err
	}
	x = p.Spec.Shown(x)
	a.Number = &x
	return v.doubt(a, anyway, x)
}

func (v *Visit) list(a *Answer, p Prompt, typed string, anyway bool) error {
	list, err := quantity.ParseList(typed, p.Spec.Unit)
	if err != nil {
		return err
	}
	if want, of := reading.ListLen(a.Reading, v.site); len(list) != want {
		return errors.New(words().Problem.HowMany.Of(len(list), want, of))
	}
	a.List = list
	return v.doubt(a, anyway, list...)
}

// doubt refuses what no instrument could show and questions what the site
// would hardly show.
func (v *Visit) doubt(a *Answer, anyway bool, values ...float64) error {
	for _, x := range values {
		if err := reading.Possible(a.Reading, x, v.site); err != nil {
			return shownLimits(err)
		}
	}
	for _, x := range values {
		err := reading.Plausible(a.Reading, x, v.site)
		switch {
		case err == nil:
		case anyway:
			a.Doubted = true
		default:
			return &Doubt{Typed: a.Typed, Reason: shownLimits(err).Error()}
		}
	}
	return nil
}

// shownLimits is err with the signs that the person sees.
func shownLimits(err error) error {
	if limit := (*reading.LimitError)(nil); errors.As(err, &limit) {
		return limit.Shown()
	}
	return err
}

// ErrEmpty says that nothing was typed.
var ErrEmpty = datafile.Error(func() string { return words().Problem.Empty })

// pick finds one choice by its number, its whole text or a beginning that no
// other choice has.
func pick(typed string, choices procedure.Choices) (procedure.Choice, error) {
	if typed == "" {
		return procedure.Choice{}, fmt.Errorf("%w; expected %s", ErrEmpty, oneOf(choices))
	}
	if n, err := strconv.Atoi(typed); err == nil && n >= 1 && n <= len(choices) {
		return choices[n-1], nil
	}
	var found procedure.Choices
	for _, c := range choices {
		if strings.EqualFold(c.Text, typed) {
			return c, nil
		}
		if len(c.Text) >= len(typed) && strings.EqualFold(c.Text[:len(typed)], typed) {
			found = append(found, c)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return procedure.Choice{}, fmt.Errorf(words().Problem.NoAnswer, typed, oneOf(choices))
	default:
		return procedure.Choice{}, fmt.Errorf(words().Problem.Several, typed, oneOf(found))
	}
}

// pickAny finds any number of choices, "all" or "none".
func pickAny(typed string, choices procedure.Choices) (procedure.Choices, error) {
	switch strings.ToLower(typed) {
	case "none", "no", "0":
		return procedure.Choices{}, nil
	case "all":
		return slices.Clone(choices), nil
	}
	if c, err := pick(typed, choices); err == nil {
		return procedure.Choices{c}, nil
	}
	separator := func(r rune) bool { return r == ',' || r == ';' }
	if !strings.ContainsFunc(typed, separator) {
		separator = func(r rune) bool { return r == ' ' }
	}
	var picked procedure.Choices
	for _, part := range strings.FieldsFunc(typed, separator) {
		c, err := pick(strings.TrimSpace(part), choices)
		if err != nil {
			return nil, err
		}
		if !slices.Contains(picked, c) {
			picked = append(picked, c)
		}
	}
	if picked == nil {
		return nil, fmt.Errorf(words().Problem.SomeOf, ErrEmpty, oneOf(choices))
	}
	slices.SortFunc(picked, func(a, b procedure.Choice) int { return slices.Index(choices, a) - slices.Index(choices, b) })
	return picked, nil
}

// oneOf lists choices for a message: "1 clear, 2 hazy".
func oneOf(choices procedure.Choices) string {
	list := make([]string, len(choices))
	for i, c := range choices {
		list[i] = fmt.Sprintf("%q", c.Text)
	}
	return strings.Join(list, " or ")
}
