package ledger

import (
	"fmt"
	"strings"

	"ampwalk/diagnose/review"
)

// topLevel is the highest level of attention.
const topLevel = 3

// A list is merged from runs. A run is a part of one index in which everything is
// in the order of the list, so the database reads the page and no row more: where
// a filter does not say the state or the level that the index begins with, there
// is one run for each. Sites and staff have few enough visits each that their one
// run may leave out rows as it goes.
//
// Without this, "condition X, newest first" would read all visits to X in all
// states and sort them, or walk through everybody's visits to find some to X.

// A statement is SQL with its arguments.
type statement struct {
	strings.Builder
	args []any
}

// arg is the next "$n", which stands for v.
func (s *statement) arg(v any) string {
	s.args = append(s.args, v)
	return fmt.Sprintf("$%d", len(s.args))
}

// keys are the columns that a list is ordered by, the ones of one run last.
func (o Order) keys() []string {
	switch o {
	case Urgent:
		return []string{"level", "started", "id"}
	case DueFirst:
		return []string{"due", "id"}
	default:
		return []string{"started", "id"}
	}
}

func (o Order) descends() bool { return o == Newest || o == Urgent }

func (c Cursor) values(o Order) []any {
	switch o {
	case Urgent:
		return []any{c.Level, c.Started, c.ID}
	case DueFirst:
		return []any{c.Due, c.ID}
	default:
		return []any{c.Started, c.ID}
	}
}

// direction is which way the list is read: "<" and DESC, or ">" and ASC.
func (q Query) direction() (than, order string) {
	if q.Order.descends() != q.Back {
		return "<", " DESC"
	}
	return ">", " ASC"
}

// page is the statement for the rows of a page, in the order they are read.
func (q Query) page() (string, []any) {
	var s statement
	s.WriteString("SELECT " + columns + " FROM (")
	q.merge(&s)
	s.WriteString(") k JOIN visits v ON v.id = k.id ORDER BY " + q.orderBy("k."))
	return s.String(), s.args
}

func (q Query) count() (string, []any) {
	var s statement
	s.WriteString("SELECT count(*) FROM (")
	q.merge(&s)
	s.WriteString(") k")
	return s.String(), s.args
}

func (q Query) orderBy(table string) string {
	_, order := q.direction()
	var list []string
	for _, k := range q.Order.keys() {
		list = append(list, table+k+order)
	}
	return strings.Join(list, ", ")
}

// merge is the statement for the keys of a page.
func (q Query) merge(s *statement) {
	limit := s.arg(q.Limit)
	for i, fixed := range q.runs() {
		if i > 0 {
			s.WriteString(" UNION ALL ")
		}
		s.WriteString("SELECT * FROM (SELECT id, started, level, due FROM visits WHERE ")
		q.where(s, fixed)
		s.WriteString(" ORDER BY " + q.orderBy("") + " LIMIT " + limit + ") r" + fmt.Sprint(i))
	}
	s.WriteString(" ORDER BY " + q.orderBy("") + " LIMIT " + limit)
}

// run is what the columns before the order have in one run.
type run struct {
	state review.State // 0: any
	level int          // -1: any
}

// runs are those that the list is merged from.
func (q Query) runs() []run {
	wide := q.Site != "" || q.Staff != "" || q.State == 0 && q.Condition == "" && !q.Attention && q.Order != Urgent && q.Order != DueFirst
	if wide {
		return []run{{0, -1}}
	}
	states := []review.State{q.State}
	if q.State == 0 {
		states = review.States
	}
	levels := []int{-1}
	if q.Order != DueFirst {
		levels = nil
		for l := topLevel; l > 0; l-- {
			levels = append(levels, l)
		}
		if !q.Attention {
			levels = append(levels, 0)
		}
	}
	var list []run
	for _, s := range states {
		for _, l := range levels {
			list = append(list, run{s, l})
		}
	}
	return list
}

// where is the condition of one run.
func (q Query) where(s *statement, r run) {
	var all []string
	and := func(format string, v any) { all = append(all, fmt.Sprintf(format, s.arg(v))) }
	if q.Site != "" {
		and("site = %s", storable(q.Site))
	}
	if q.Staff != "" {
		and("staff = %s", storable(q.Staff))
	}
	if q.Condition != "" {
		and("condition = %s", q.Condition)
	}
	switch {
	case r.state != 0:
		and("state = %s", r.state)
	case q.State != 0:
		and("state = %s", q.State)
	}
	switch {
	case r.level >= 0:
		and("level = %s", r.level)
	case q.Attention:
		all = append(all, "level > 0")
	}
	if !q.From.IsZero() {
		and("started >= %s", millis(q.From))
	}
	if !q.Before.IsZero() {
		and("started < %s", millis(q.Before))
	}
	if q.Order == DueFirst || !q.Overdue.IsZero() {
		all = append(all, "due > 0")
	}
	if !q.Overdue.IsZero() {
		and("due < %s", millis(q.Overdue))
	}
	if q.After != (Cursor{}) {
		than, _ := q.direction()
		var marks []string
		for _, v := range q.After.values(q.Order) {
			marks = append(marks, s.arg(v))
		}
		all = append(all, fmt.Sprintf("(%s) %s (%s)", strings.Join(q.Order.keys(), ", "), than, strings.Join(marks, ", ")))
	}
	if len(all) == 0 {
		all = append(all, "1 = 1")
	}
	s.WriteString(strings.Join(all, " AND "))
}
