package desk

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

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
	{"eyes", "what needs eyes first", ledger.Urgent},
	{"newest", "the newest first", ledger.Newest},
	{"oldest", "the oldest first", ledger.Oldest},
	{"due", "what is due first", ledger.DueFirst},
}

// FilterForms say how each part of a filter is typed.
var FilterForms = []string{
	"site NAME", "staff NAME", "from 2026-01-31", "before 2026-02-01", "condition NAME", "state under way|handed in|sent back|accepted",
	"attention", "overdue", "differs", "none",
}

// ErrFilter says that what was typed is no part of a filter.
var ErrFilter = errors.New("not a filter; expected one of: " + strings.Join(FilterForms, "; "))

// OrderOf is the order that a word chooses.
func OrderOf(word string) (ledger.Order, error) {
	var known []string
	for _, o := range Orders {
		if strings.EqualFold(word, o.Word) {
			return o.Order, nil
		}
		known = append(known, o.Word)
	}
	return 0, fmt.Errorf("%q is no order; expected %s", word, strings.Join(known, ", "))
}

// Narrow is a filter with one part of it changed, as typed: "site Dry Ridge"; "site"
// alone takes that part out, "none" all of them.
func (d *Desk) Narrow(f ledger.Filter, typed string) (ledger.Filter, error) {
	word, value, _ := strings.Cut(strings.TrimSpace(typed), " ")
	value = strings.TrimSpace(value)
	var err error
	switch strings.ToLower(word) {
	case "site":
		f.Site = value
	case "staff":
		f.Staff = value
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

// mostKnown is how many names are offered for what is typed.
const mostKnown = 8

// Known are names of sites or staff, from what is typed on, where a part of a filter
// that wants such a name is being typed: "site Dr".
func (d *Desk) Known(ctx context.Context, typed string) ([]string, error) {
	word, value, named := strings.Cut(strings.TrimLeft(typed, " "), " ")
	page := map[string]func(context.Context, string, int) ([]string, error){"site": d.Ledger.Sites, "staff": d.Ledger.Staff}[strings.ToLower(word)]
	if !named || page == nil {
		return nil, nil
	}
	return page(ctx, strings.TrimSpace(value), mostKnown)
}

// day is a day as typed, its beginning in the zone of the desk.
func (d *Desk) day(typed string) (time.Time, error) {
	if typed == "" {
		return time.Time{}, nil
	}
	at, err := time.ParseInLocation(time.DateOnly, typed, d.Now().Location())
	if err != nil {
		return at, fmt.Errorf("%q is no day; expected one such as 2026-01-31", typed)
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
		return "", fmt.Errorf("%q may be any of: %s", typed, strings.Join(titles, "; "))
	}
	return "", fmt.Errorf("%q is no condition; expected words of its title, such as %q", typed, condition.Of(condition.BatteryWorn).Title)
}

func stateOf(typed string) (review.State, error) {
	if typed == "" {
		return 0, nil
	}
	var known []string
	for _, s := range review.States {
		if strings.EqualFold(strings.ReplaceAll(typed, "-", " "), s.String()) {
			return s, nil
		}
		known = append(known, s.String())
	}
	return 0, fmt.Errorf("%q is no state; expected %s", typed, strings.Join(known, ", "))
}

// FilterText is a filter in words, "all visits" for the empty one.
func FilterText(f ledger.Filter) string {
	var parts []string
	add := func(set bool, text string) {
		if set {
			parts = append(parts, text)
		}
	}
	add(f.Site != "", "site "+f.Site)
	add(f.Staff != "", "staff "+f.Staff)
	add(!f.From.IsZero(), "from "+f.From.Format(time.DateOnly))
	add(!f.Before.IsZero(), "before "+f.Before.Format(time.DateOnly))
	if f.Condition != "" {
		parts = append(parts, "condition "+ConditionText(f.Condition))
	}
	add(f.State != 0, f.State.String())
	add(f.Attention, "needs eyes")
	add(f.Overdue, "overdue")
	add(f.Differs, "seen differently")
	if len(parts) == 0 {
		return "all visits"
	}
	return strings.Join(parts, ", ")
}
