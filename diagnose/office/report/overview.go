package report

import (
	"cmp"
	_ "embed"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/physics/condition"
)

// What is shown of long lists, and when a condition counts as found (judgement).
const (
	maxOpen   = 40
	maxStaff  = 60
	maxDrawn  = 12
	months    = 12
	foundFrom = 0.5 // probability of the leading condition; below it nothing is decided
)

// An overview sums visits up, without keeping them.
type overview struct {
	at     time.Time
	visits int
	from   time.Time
	to     time.Time
	sites  map[string]*place
	staff  map[string]*person
	month  map[string]*[4]int // found by part, by month
	found  map[condition.ID]int
}

// A place is a site by its last visits.
type place struct {
	last  time.Time // start of the last visit
	state review.State

	finished  time.Time // start of the last visit that ended; zero: none did
	condition condition.ID
	p         float64
	installed string // the battery, month
	left      []left
}

// A person is one of the staff.
type person struct {
	byState [review.Accepted + 1]int
	eyes    int
}

// parts in the order of the charts.
var parts = []condition.Part{condition.Array, condition.Controller, condition.Battery, condition.Load}

// Overview sums up a programme as a document: sites by state, open work by due
// date, what was found by month and kind, batteries by age and health, and staff.
// It keeps something of each site, not of each visit.
func Overview(visits Visits, at time.Time) (document.Document, error) {
	o := &overview{at: at, sites: map[string]*place{}, staff: map[string]*person{}, month: map[string]*[4]int{}, found: map[condition.ID]int{}}
	for r, err := range visits {
		if err != nil {
			return document.Document{}, err
		}
		o.add(r)
	}
	return o.document(), nil
}

func (o *overview) add(r ledger.Row) {
	d := r.Digest
	o.visits++
	if o.from.IsZero() || d.StartedAt.Before(o.from) {
		o.from = d.StartedAt
	}
	if d.StartedAt.After(o.to) {
		o.to = d.StartedAt
	}
	s := o.sites[d.Site]
	if s == nil {
		s = &place{}
		o.sites[d.Site] = s
	}
	if !d.StartedAt.Before(s.last) {
		s.last, s.state = d.StartedAt, r.State
	}
	if d.Finished && !d.StartedAt.Before(s.finished) {
		s.finished, s.condition, s.p, s.installed, s.left = d.StartedAt, d.Condition, d.P, d.Battery.Installed, leftOf(d)
	}
	p := o.staff[d.Staff]
	if p == nil {
		p = &person{}
		o.staff[d.Staff] = p
	}
	p.byState[r.State]++
	if r.Level(time.Time{}) > 0 {
		p.eyes++
	}
	if i := slices.Index(parts, partOf(d.Condition)); d.Finished && d.P >= foundFrom && i >= 0 {
		key := d.StartedAt.UTC().Format("2006-01")
		if o.month[key] == nil {
			o.month[key] = &[4]int{}
		}
		o.month[key][i]++
		o.found[d.Condition]++
	}
}

func partOf(id condition.ID) condition.Part {
	c, _ := known(id)
	return c.Part
}

// known is a condition of the catalogue; a visit may name one that is not in it.
func known(id condition.ID) (condition.Condition, bool) {
	all := condition.All()
	i := slices.IndexFunc(all, func(c condition.Condition) bool { return c.ID == id })
	if i < 0 {
		return condition.Condition{}, false
	}
	return all[i], true
}

func (o *overview) document() document.Document {
	w := texts()
	day := o.at.Format(time.DateOnly)
	with := strings.NewReplacer("{day}", day, "{visits}", w.Visits.Of(o.visits), "{sites}", w.Number.Of(len(o.sites)), "{staff}", w.People.Of(len(o.staff)),
		"{from}", o.from.Format(time.DateOnly), "{to}", o.to.Format(time.DateOnly)).Replace
	d := document.Document{Title: with(w.Title), Subject: with(w.Subject), Foot: w.Foot, At: o.at}
	if o.visits == 0 {
		d.Sections = []document.Section{{Heading: d.Title, Blocks: []document.Block{document.Paragraph(w.Nothing)}, Wide: true}}
		return d
	}
	d.Sections = []document.Section{
		{Heading: with(w.Subject), Blocks: []document.Block{document.Paragraph(with(w.Total))}, Wide: true},
		{Heading: w.Sites.Heading, Blocks: []document.Block{o.bySite()}},
		{Heading: w.Sites.Review, Blocks: []document.Block{o.byReview()}},
		{Heading: w.Batteries.Heading, Blocks: []document.Block{o.batteries()}},
		{Heading: w.Conditions.Heading, Blocks: []document.Block{o.byMonth()}},
		{Heading: w.Open.Heading, Blocks: []document.Block{o.open()}},
		{Heading: w.Conditions.Kinds, Blocks: []document.Block{o.kinds()}},
		{Heading: w.Open.First, Blocks: o.dueFirst(), Wide: true},
		{Heading: w.Staff.Heading, Blocks: o.people(), Wide: true},
	}
	return d
}

func (o *overview) bySite() document.Block {
	w := texts().Sites
	groups := []string{w.Now, w.Soon, w.Later, w.Undecided, w.Unknown, w.Sound}
	n := map[string]int{}
	for _, s := range o.sites {
		n[s.standing()]++
	}
	return counts(w.Caption, groups, n)
}

// standing is how a site is by its last finished visit.
func (s *place) standing() string {
	w := texts().Sites
	c, ok := known(s.condition)
	switch {
	case s.finished.IsZero():
		return w.Unknown
	case s.p < foundFrom || !ok:
		return w.Undecided
	}
	return map[condition.Urgency]string{condition.Now: w.Now, condition.Soon: w.Soon, condition.Later: w.Later, "": w.Sound}[c.Urgency]
}

func (o *overview) byReview() document.Block {
	n := map[string]int{}
	for _, s := range o.sites {
		n[s.state.String()]++
	}
	var groups []string
	for _, st := range review.States {
		groups = append(groups, st.String())
	}
	return counts(texts().Sites.ReviewCaption, groups, n)
}

// counts is a chart of one number a group.
func counts(caption string, groups []string, n map[string]int) document.Block {
	var bars []bar
	for _, g := range groups {
		bars = append(bars, bar{g, []int{n[g]}})
	}
	return chart(caption, nil, bars)
}

// due is work that a site waits for.
type due struct {
	site string
	left
}

// opens are all of them, the first due first and those without a day last.
func (o *overview) opens() []due {
	var list []due
	for name, s := range o.sites {
		for _, l := range s.left {
			if _, err := time.Parse(time.DateOnly, l.Due); err != nil {
				l.Due = ""
			}
			list = append(list, due{name, l})
		}
	}
	slices.SortFunc(list, func(a, b due) int {
		return cmp.Or(cmp.Compare(cmp.Or(a.Due, "~"), cmp.Or(b.Due, "~")), cmp.Compare(a.site, b.site), cmp.Compare(a.Condition, b.Condition))
	})
	return list
}

func (o *overview) open() document.Block {
	w := texts().Open
	today := o.at.Format(time.DateOnly)
	in := func(days int) string { return o.at.AddDate(0, 0, days).Format(time.DateOnly) }
	n := map[string]int{}
	for _, d := range o.opens() {
		switch {
		case d.Due == "":
			n[w.Undated]++
		case d.Due < today:
			n[w.Overdue]++
		case d.Due <= in(7):
			n[w.Week]++
		case d.Due <= in(30):
			n[w.Month]++
		case d.Due <= in(91):
			n[w.Quarter]++
		default:
			n[w.After]++
		}
	}
	return counts(w.Caption, []string{w.Overdue, w.Week, w.Month, w.Quarter, w.After, w.Undated}, n)
}

func (o *overview) dueFirst() []document.Block {
	w := texts().Open
	list := o.opens()
	if len(list) == 0 {
		return nil
	}
	t := document.Table{Head: w.Columns}
	for _, d := range list[:min(len(list), maxOpen)] {
		row := document.Row(cmp.Or(d.Due, w.Undated), d.site, title(d.Condition), cmp.Or(d.Who, w.Nobody))
		row[0].Strong = d.Due != "" && d.Due < o.at.Format(time.DateOnly)
		t.Rows = append(t.Rows, row)
	}
	return append([]document.Block{t}, rest(w.More, len(list)-maxOpen)...)
}

// rest says that n more are not shown, if any.
func rest(text string, n int) []document.Block {
	if n <= 0 {
		return nil
	}
	return []document.Block{document.Paragraph(strings.ReplaceAll(text, "{n}", fmt.Sprint(n)))}
}

func (o *overview) byMonth() document.Block {
	w := texts().Conditions
	var bars []bar
	first := time.Date(o.at.Year(), o.at.Month(), 1, 0, 0, 0, 0, time.UTC)
	for i := months - 1; i >= 0; i-- {
		key := first.AddDate(0, -i, 0).Format("2006-01")
		n := o.month[key]
		if n == nil {
			n = &[4]int{}
		}
		bars = append(bars, bar{key, n[:]})
	}
	return chart(w.Caption, []string{w.Array, w.Controller, w.Battery, w.Load}, bars)
}

func (o *overview) kinds() document.Block {
	t := document.Table{Head: texts().Conditions.Columns}
	ids := slices.SortedFunc(maps.Keys(o.found), func(a, b condition.ID) int {
		return cmp.Or(cmp.Compare(o.found[b], o.found[a]), cmp.Compare(a, b))
	})
	for _, id := range ids {
		t.Rows = append(t.Rows, document.Row(title(id), fmt.Sprint(o.found[id])))
	}
	return t
}

// ages are where one bar ends and the next begins [years].
var ages = []int{0, 2, 4, 6, 8}

func (o *overview) batteries() document.Block {
	w := texts().Batteries
	bars := make([]bar, len(ages)+1)
	for i, from := range ages {
		text := w.Older
		if i+1 < len(ages) {
			text = strings.ReplaceAll(w.Years, "{to}", fmt.Sprint(ages[i+1]))
		}
		bars[i] = bar{strings.ReplaceAll(text, "{from}", fmt.Sprint(from)), make([]int, 4)}
	}
	bars[len(ages)] = bar{w.Unknown, make([]int, 4)}
	for _, s := range o.sites {
		if !s.finished.IsZero() {
			bars[o.age(s.installed)].n[s.health()]++
		}
	}
	return chart(w.Caption, []string{w.Well, w.Worn, w.Other, w.Undecided}, bars)
}

// age is the group of a battery by the month it was installed in.
func (o *overview) age(installed string) int {
	at, err := time.Parse("2006-01", installed)
	if err != nil || at.After(o.at) {
		return len(ages)
	}
	years := int(o.at.Sub(at).Hours() / 24 / 365.25)
	i := 0
	for i+1 < len(ages) && years >= ages[i+1] {
		i++
	}
	return i
}

// health is the place of the battery in the legend.
func (s *place) health() int {
	switch c, ok := known(s.condition); {
	case !ok || s.p < foundFrom:
		return 3
	case c.ID == condition.BatteryWorn:
		return 1
	case c.Part == condition.Battery:
		return 2
	}
	return 0
}

func (o *overview) people() []document.Block {
	w := texts().Staff
	t := document.Table{Head: w.Columns}
	visits := func(name string) (n int) {
		for _, k := range o.staff[name].byState {
			n += k
		}
		return n
	}
	var legend []string
	for _, st := range review.States {
		legend = append(legend, st.String())
	}
	var bars []bar
	names := slices.SortedFunc(maps.Keys(o.staff), func(a, b string) int { return cmp.Or(cmp.Compare(visits(b), visits(a)), cmp.Compare(a, b)) })
	for _, name := range names[:min(len(names), maxStaff)] {
		p := o.staff[name]
		shown := cmp.Or(strings.TrimSpace(name), w.Nobody)
		row := []string{shown, fmt.Sprint(visits(name))}
		if len(bars) < maxDrawn {
			bars = append(bars, bar{shown, p.byState[review.UnderWay:]})
		}
		for _, st := range review.States {
			row = append(row, fmt.Sprint(p.byState[st]))
		}
		t.Rows = append(t.Rows, document.Row(append(row, fmt.Sprint(p.eyes))...))
	}
	return append([]document.Block{chart(w.Caption, legend, bars), t}, rest(w.More, len(names)-maxStaff)...)
}

//go:embed texts.toml
var textsTOML string

// texts are this room's.
var texts = sync.OnceValue(func() (t struct {
	Title, Subject, Foot, Nothing, Total string

	Visits, Number, People datafile.Plural

	CSV struct{ Columns []string }

	Sites struct {
		Heading, Caption, Review                    string
		ReviewCaption                               string `toml:"review_caption"`
		Sound, Later, Soon, Now, Undecided, Unknown string
	}
	Open struct {
		Heading, Caption, Overdue, Week, Month, Quarter, After, Undated, First, Nobody, More string
		Columns                                                                              []string
	}
	Conditions struct {
		Heading, Caption, Kinds, Array, Controller, Battery, Load string
		Columns                                                   []string
	}
	Batteries struct {
		Heading, Caption, Well, Worn, Other, Undecided, Years, Older, Unknown string
	}
	Staff struct {
		Heading, Caption, Nobody, More string
		Columns                        []string
	}
}) {
	if err := datafile.Decode("diagnose/office/report/texts.toml", []byte(textsTOML), &t); err != nil {
		panic(err.Error()) // the file is part of the program
	}
	return t
})
