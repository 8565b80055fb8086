package desk

import (
	"context"
	"fmt"
	"strings"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/physics/condition"
)

// An OrderChoice is an order with the word that chooses it.
type OrderChoice struct {
	Word, Title string
	Order       ledger.Order
}

// Orders are the orders of a list.
var Orders = []OrderChoice{
	{"eyes", words().Order.Urgent, ledger.Urgent},
	{"newest", words().Order.Newest, ledger.Newest},
	{"oldest", words().Order.Oldest, ledger.Oldest},
	{"due", words().Order.Due, ledger.DueFirst},
}

// FilterForms say how each part of a filter is typed.
var FilterForms = words().Filter.Forms

// ErrFilter says that what was typed is no part of a filter.
var ErrFilter = datafile.Error(func() string { return fmt.Sprintf(words().NoFilter, strings.Join(FilterForms, "; ")) })

// OrderOf is the order that a word chooses.
func OrderOf(word string) (ledger.Order, error) {
	var known []string
	for _, o := range Orders {
		if strings.EqualFold(word, o.Word) {
			return o.Order, nil
		}
		known = append(known, o.Word)
	}
	return 0, fmt.Errorf(words().NoOrder, word, strings.Join(known, ", "))
}

// Narrow is a filter with one part of it changed, as typed: "site Dry Ridge"; "site"
// alone takes that part out, "none" all of them. Names may be typed in any case, and in part
// where only one has these letters.
func (d *Desk) Narrow(ctx context.Context, f ledger.Filter, typed string) (ledger.Filter, error) {
	typed = plaintext.Clean(typed)
	word, value, _ := strings.Cut(strings.TrimSpace(typed), " ")
	value = strings.TrimSpace(value)
	var err error
	switch strings.ToLower(word) {
	case "site":
		f.Site, err = d.nameOf(ctx, value, (*ledger.Ledger).Sites)
	case "staff":
		f.Staff, err = d.nameOf(ctx, value, (*ledger.Ledger).Staff)
	case "from":
		f.From, err = d.day(value)
	case "before":
		f.Before, err = d.day(value)
	case "condition":
		f.Condition, err = conditionOf(value)
	case "state":
		f.State, err = stateOf(value)
	case "attention":
		f.Attention = !f.Attention
	case "overdue":
		f.Overdue = !f.Overdue
	case "differs":
		f.Differs = !f.Differs
	case "none":
		f = ledger.Filter{}
	default:
		err = fmt.Errorf("%q is %w", typed, ErrFilter)
	}
	return f, err
}

// namesAtOnce is how many names are read at a time.
const namesAtOnce = 1000

// nameOf is the name of the ledger that is meant: the one typed, in any case, or the only
// one that has it in it. Without a ledger it is what was typed.
func (d *Desk) nameOf(ctx context.Context, typed string, page func(*ledger.Ledger, context.Context, string, int) ([]string, error)) (string, error) {
	if typed == "" || d.Ledger == nil {
		return typed, nil
	}
	var like []string
	for after := ""; ; {
		names, err := page(d.Ledger, ctx, after, namesAtOnce)
		if err != nil {
			return "", err
		}
		for _, n := range names {
			if n == typed {
				return n, nil
			}
			if strings.Contains(strings.ToLower(n), strings.ToLower(typed)) {
				like = append(like, n)
			}
		}
		if len(names) < namesAtOnce {
			return only(typed, like)
		}
		after = names[len(names)-1]
	}
}

// only is the one of the names that have typed in them; of several, the one that is typed
// whole.
func only(typed string, like []string) (string, error) {
	if len(like) == 1 {
		return like[0], nil
	}
	for _, n := range like {
		if strings.EqualFold(n, typed) {
			return n, nil
		}
	}
	if len(like) == 0 {
		return "", fmt.Errorf(words().NoName, typed)
	}
	text := strings.Join(like[:min(maxKnown, len(like))], "; ")
	if len(like) > maxKnown {
		text += "; ..."
	}
	return "", fmt.Errorf(words().SeveralConditions, typed, text)
}

// maxKnown is how many names are offered for what is typed.
const maxKnown = 8

// Known are names of sites or staff, from what is typed on, where a part of a filter
// that wants such a name is being typed: "site Dr".
func (d *Desk) Known(ctx context.Context, typed string) ([]string, error) {
	word, value, named := strings.Cut(strings.TrimLeft(typed, " "), " ")
	page := map[string]func(context.Context, string, int) ([]string, error){"site": d.Ledger.Sites, "staff": d.Ledger.Staff}[strings.ToLower(word)]
	if !named || page == nil {
		return nil, nil
	}
	return page(ctx, strings.TrimSpace(value), maxKnown)
}

// day is a day as typed, its beginning in the zone of the desk.
func (d *Desk) day(typed string) (time.Time, error) {
	if typed == "" {
		return time.Time{}, nil
	}
	at, err := time.ParseInLocation(time.DateOnly, typed, d.Now().Location())
	if err != nil {
		return at, fmt.Errorf(words().NoDay, typed)
	}
	return at, nil
}

// conditionOf is the condition with an id or a title, or the only one whose title
// has these words in it.
func conditionOf(typed string) (condition.ID, error) {
	if typed == "" {
		return "", nil
	}
	var list []condition.Condition
	for _, c := range condition.All() {
		if strings.EqualFold(string(c.ID), typed) || strings.EqualFold(c.Title, typed) {
			return c.ID, nil
		}
		if strings.Contains(strings.ToLower(c.Title), strings.ToLower(typed)) {
			list = append(list, c)
		}
	}
	if len(list) == 1 {
		return list[0].ID, nil
	}
	var titles []string
	for _, c := range list {
		titles = append(titles, c.Title)
	}
	if len(list) > 1 {
		return "", fmt.Errorf(words().SeveralConditions, typed, strings.Join(titles, "; "))
	}
	return "", fmt.Errorf(words().NoCondition, typed, condition.Of(condition.BatteryWorn).Title)
}

func stateOf(typed string) (review.State, error) {
	if typed == "" {
		return 0, nil
	}
	var known []string
	var like []review.State
	for _, s := range review.States {
		if strings.HasPrefix(s.String(), strings.ToLower(strings.ReplaceAll(typed, "-", " "))) {
			like = append(like, s)
		}
		known = append(known, s.String())
	}
	if len(like) == 1 {
		return like[0], nil
	}
	return 0, fmt.Errorf(words().NoState, typed, strings.Join(known, ", "))
}

// Narrowed reports whether a filter leaves some visits out.
func Narrowed(f ledger.Filter) bool {
	f.Today = time.Time{}
	return f != ledger.Filter{}
}

// FilterText is a filter in words, "all visits" for the empty one.
func FilterText(f ledger.Filter) string {
	var parts []string
	add := func(set bool, text string) {
		if set {
			parts = append(parts, text)
		}
	}
	add(f.Site != "", fmt.Sprintf(words().Filter.Site, f.Site))
	add(f.Staff != "", fmt.Sprintf(words().Filter.Staff, f.Staff))
	add(!f.From.IsZero(), fmt.Sprintf(words().Filter.From, f.From.Format(time.DateOnly)))
	add(!f.Before.IsZero(), fmt.Sprintf(words().Filter.Before, f.Before.Format(time.DateOnly)))
	if f.Condition != "" {
		parts = append(parts, fmt.Sprintf(words().Filter.Condition, ConditionText(f.Condition)))
	}
	add(f.State != 0, f.State.String())
	add(f.Attention, words().Filter.Attention)
	add(f.Overdue, "overdue")
	add(f.Differs, words().Filter.Differs)
	if len(parts) == 0 {
		return words().Filter.All
	}
	return strings.Join(parts, ", ")
}
