package ledger

import (
	"fmt"
	"strings"

	"ampwalk/diagnose/office/review"
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
	for i, r := range q.runs() {
		if i > 0 {
			s.WriteString(" UNION ALL ")
		}
		s.WriteString("SELECT * FROM (SELECT 1 FROM visits WHERE ")
		q.where(&s, r)
		s.WriteString(" LIMIT " + s.arg(q.Limit) + ") r" + fmt.Sprint(i))
	}
	s.WriteString(" LIMIT " + s.arg(q.Limit) + ") k")
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
	for i, r := range q.runs() {
		if i > 0 {
			s.WriteString(" UNION ALL ")
		}
		s.WriteString("SELECT * FROM (")
		q.run(s, r)
		s.WriteString(") r" + fmt.Sprint(i))
	}
	s.WriteString(" ORDER BY " + q.orderBy("") + " LIMIT " + s.arg(q.Limit))
}

// run is the statement for the keys of one run.
func (q Query) run(s *statement, r run) {
	level, order := fmt.Sprint(r.asks), q.orderBy("")
	switch {
	case r.asks == anyLevel:
		level = q.asks(s)
	case q.Order == Urgent: // all of the run alike
		_, order, _ = strings.Cut(order, ", ")
	}
	s.WriteString("SELECT id, started, " + level + " AS level, due FROM visits WHERE ")
	q.where(s, r)
	s.WriteString(" ORDER BY " + order + " LIMIT " + s.arg(q.Limit))
}

// asks is how urgent a visit is.
func (q Query) asks(s *statement) string {
	if q.Today.IsZero() {
		return "level"
	}
	n := fmt.Sprint(overdueLevel)
	return "CASE WHEN level < " + n + " AND due > 0 AND due < " + s.arg(millis(q.Today)) + " THEN " + n + " ELSE level END"
}

// run is what is alike of the visits of one run.
type run struct {
	state review.State // 0: any
	asks  int          // how urgent they are, or anyLevel
	late  bool         // they ask only because something is overdue
}

const anyLevel = -1

// runs are those that the list is merged from.
func (q Query) runs() []run {
	plain := q.State == 0 && q.Condition == "" && !q.Attention
	one := plain || q.Differs || q.open() // index is enough where the order is not by urgency
	if q.Site != "" || q.Staff != "" || one && q.Order != Urgent {
		return []run{{asks: anyLevel}}
	}
	states := []review.State{q.State}
	switch {
	case q.Differs || q.open(): // their indices do not begin with a state
		states = []review.State{0}
	case q.State == 0:
		states = review.States
	}
	least := 0
	if q.Attention {
		least = 1
	}
	var list []run
	for level := topLevel; level >= least; level-- {
		if q.behind(level) {
			continue
		}
		for _, s := range states {
			list = append(list, run{state: s, asks: level})
		}
		if level == overdueLevel && q.byEyes() {
			list = append(list, run{asks: level, late: true})
		}
	}
	return list
}

// byEyes reports whether it counts what is overdue today.
func (q Query) byEyes() bool { return (q.Order == Urgent || q.Attention) && !q.Today.IsZero() }

// behind reports whether a list by urgency is past a level where it goes on.
func (q Query) behind(level int) bool {
	switch {
	case q.Order != Urgent || q.After == Cursor{}:
		return false
	case q.Back:
		return level < q.After.Level
	default:
		return level > q.After.Level
	}
}

// open reports whether only visits are wanted that have an action open.
func (q Query) open() bool { return q.Order == DueFirst || q.Overdue }

// where is the condition of one run.
func (q Query) where(s *statement, r run) {
	all := []string{"1 = 1"}
	and := func(column, than string, v any) { all = append(all, column+" "+than+" "+s.arg(v)) }
	// The index for the run is the one of its site, of its staff, of what is seen
	// differently, of what is open, or of its state and level. That other columns are
	// made a little different keeps a database from taking their index instead and
	// sorting what it finds there.
	const hiddenText, hidden = " || ''", " + 0"
	text, number, level, started, due, staff, differs := "", "", "", "", "", "", ""
	few := q.Site != "" || q.Staff != ""
	switch {
	case few:
		text, number, level, due, differs = hiddenText, hidden, hidden, hidden, hidden
		if q.Site != "" {
			staff = hiddenText
		}
	case q.Differs:
		text, number, due = hiddenText, hidden, hidden
		if q.Order == DueFirst {
			started = hidden
		}
	case q.Order == DueFirst:
		text, number, level, started = hiddenText, hidden, hidden, hidden
	case q.open() || r.late:
		text, number, due = hiddenText, hidden, hidden
	}
	if q.Site != "" {
		and("site", "=", storable(q.Site))
	}
	if q.Staff != "" {
		and("staff"+staff, "=", storable(q.Staff))
	}
	if q.Condition != "" {
		and("condition"+text, "=", storable(string(q.Condition)))
	}
	if state := max(r.state, q.State); state != 0 {
		and("state"+number, "=", state)
	}
	if q.Differs { // in these words, or the indices do not apply
		all = append(all, "differs"+differs+" = 1")
	}
	switch {
	case r.late:
		and("level"+hidden, "<", overdueLevel)
		and("due"+hidden, "<", millis(q.Today))
	case r.asks != anyLevel:
		and("level"+level, "=", r.asks)
		if r.asks < overdueLevel && q.byEyes() {
			all = append(all, "NOT (due"+hidden+" > 0 AND due"+hidden+" < "+s.arg(millis(q.Today))+")")
		}
	case q.Attention:
		all = append(all, q.asks(s)+" > 0")
	}
	if !q.From.IsZero() {
		and("started"+started, ">=", millis(q.From))
	}
	if !q.Before.IsZero() {
		and("started"+started, "<", millis(q.Before))
	}
	switch {
	case (q.open() || r.late) && (few || q.Differs):
		and("due"+hidden, ">", 0)
	case q.open() || r.late:
		all = append(all, "due > 0") // likewise
	}
	if q.Overdue {
		and("due"+due, "<", millis(q.Today))
	}
	if q.After != (Cursor{}) && (q.Order != Urgent || r.asks == anyLevel || r.asks == q.After.Level) {
		keys, values := q.Order.keys(), q.After.values(q.Order)
		switch {
		case q.Order == Urgent && r.asks != anyLevel: // all of one level
			keys, values = keys[1:], values[1:]
		case q.Order == Urgent:
			keys = append([]string{q.asks(s)}, keys[1:]...)
		case q.Order == DueFirst:
			keys = append([]string{"due" + due}, keys[1:]...)
		}
		than, _ := q.direction()
		var marks []string
		for _, v := range values {
			marks = append(marks, s.arg(v))
		}
		all = append(all, fmt.Sprintf("(%s) %s (%s)", strings.Join(keys, ", "), than, strings.Join(marks, ", ")))
	}
	s.WriteString(strings.Join(all, " AND "))
}
