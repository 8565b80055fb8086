package plain

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/quantity"
)

// DeskOptions is what the desk line by line needs.
type DeskOptions struct {
	Desk  *desk.Desk
	Key   func() (signature.Key, error) // asks for the passphrase
	In    io.Reader
	Out   io.Writer
	Width int // columns of the terminal, 0 for the usual ones
}

// Desk reviews visits until it is left or the input ends. What is confirmed by
// "Signed and saved" is in the ledger.
func Desk(ctx context.Context, opt DeskOptions) error {
	d := &deskTalk{voice: newVoice(opt.In, opt.Out, opt.Width), ctx: ctx, desk: opt.Desk, key: opt.Key}
	d.load(ledger.Filter{}, ledger.Urgent)
	for !d.left && d.err == nil {
		w := wordsAtDesk()
		d.print("")
		if d.visit == nil {
			d.say(w.AskList)
		} else {
			d.say(w.AskVisit)
		}
		typed, ok := d.read()
		if !ok {
			return d.err
		}
		if err := d.hear(typed); err != nil {
			d.problem(err)
		}
	}
	return d.err
}

// deskRows is how many visits are read out at a time.
const deskRows = 10

// A deskTalk is one run of the desk.
type deskTalk struct {
	*voice
	ctx   context.Context
	desk  *desk.Desk
	key   func() (signature.Key, error)
	page  desk.List   // its rows are what is shown
	visit *desk.Visit // nil: the list is shown
	at    int         // the step shown, from 0; -1: what stands before them

	results *ledger.Practised // the last result of practice shown, nil if none is below it
	whose   string            // results they are, "" for everybody's
}

// problem says what went wrong. A visit that is not any more what was shown is shown anew.
func (d *deskTalk) problem(err error) {
	w := wordsAtDesk()
	if overtaken := (*ledger.Overtaken)(nil); errors.As(err, &overtaken) {
		d.say(desk.OvertakenText(overtaken))
		if err = d.open(d.visit.Digest.ID); err == nil {
			return
		}
	}
	d.sayf(w.Problem, err)
}

func (d *deskTalk) hear(typed string) error {
	word, rest, _ := strings.Cut(typed, " ")
	word, rest = strings.ToLower(word), strings.TrimSpace(rest)
	if word == "leave" {
		d.left = true
		return nil
	}
	if d.visit != nil {
		return d.hearVisit(word, rest)
	}
	return d.hearList(word, rest)
}

func (d *deskTalk) hearList(word, rest string) error {
	f, o := d.page.Query.Filter, d.page.Query.Order
	switch word {
	case "next", "":
		return d.turn(false)
	case "back":
		return d.turn(true)
	case "order":
		o, err := desk.OrderOf(rest)
		if err != nil {
			return err
		}
		d.load(f, o)
	case "only":
		f, err := d.desk.Narrow(d.ctx, f, rest)
		if err != nil {
			return err
		}
		d.load(f, o)
	case "list":
		d.showList()
	case "again":
		return d.again(rest)
	case "open":
		return d.open(rest)
	case "sites":
		return d.namesOf(d.desk.Ledger.Sites, rest)
	case "staff":
		return d.namesOf(d.desk.Ledger.Staff, rest)
	case "practice":
		d.results, d.whose = nil, rest
		return d.practice(ledger.PracticeCursor{})
	case "more":
		if d.results == nil {
			d.say(wordsAtDesk().End)
			return nil
		}
		return d.practice(d.results.Cursor)
	case "help", "?":
		d.helpOf(wordsAtDesk().CommandsList, wordsAtDesk().ListHelp)
	default:
		n, err := strconv.Atoi(word)
		if err != nil || n < 1 || n > len(d.page.Rows) {
			return fmt.Errorf(wordsAtDesk().Number, word)
		}
		return d.open(d.page.Rows[n-1].Digest.ID)
	}
	return nil
}

func (d *deskTalk) helpOf(title string, lines []helpLine) {
	d.say(title)
	for _, h := range lines {
		d.indentedf("  ", wordsAtDesk().Command, h.Name, h.Does)
	}
}

// load shows the top of a list.
func (d *deskTalk) load(f ledger.Filter, o ledger.Order) {
	page, err := d.desk.List(d.ctx, ledger.Query{Filter: f, Order: o, Limit: deskRows})
	if err != nil {
		d.problem(err)
		return
	}
	d.page = page
	d.showList()
}

// turn shows the page behind or before the one shown.
func (d *deskTalk) turn(back bool) error {
	w := wordsAtDesk()
	load, none := d.desk.Further, w.End
	if back {
		load, none = d.desk.Before, w.Top
	}
	next, err := load(d.ctx, d.page)
	if err != nil {
		return err
	}
	fresh := len(next.Rows) - len(d.page.Rows)
	if fresh <= 0 {
		d.say(none)
		return nil
	}
	if back {
		next.Rows, next.Below = next.Rows[:fresh], true
	} else {
		next.Rows, next.Above = next.Rows[len(next.Rows)-fresh:], true
	}
	d.page = next
	d.showList()
	return nil
}

func (d *deskTalk) showList() {
	w := wordsAtDesk()
	order := ""
	for _, o := range desk.Orders {
		if o.Order == d.page.Query.Order {
			order = o.Title
		}
	}
	d.sayf(w.List, desk.FilterText(d.page.Query.Filter), order)
	switch f := d.page.Query.Filter; {
	case len(d.page.Rows) > 0:
	case desk.Narrowed(f):
		d.sayf(w.NoneLeft, desk.FilterText(f))
	default:
		d.say(w.None)
	}
	for i, r := range d.page.Rows {
		d.sayf(w.Row, i+1, desk.RowText(r))
		for _, reason := range desk.Reasons(r, d.desk.Now()) {
			d.indentedf("   ", w.Reason, reason)
		}
	}
	if d.page.Below {
		d.say(w.More)
	}
	if n, err := d.desk.Unseen(d.ctx); err != nil {
		d.problem(err)
	} else if n > 0 {
		d.sayf(w.Unseen, desk.UnseenText(n))
	}
}

func (d *deskTalk) namesOf(page func(context.Context, string, int) ([]string, error), after string) error {
	list, err := page(d.ctx, after, desk.PageRows)
	for _, name := range list {
		d.indentedf("  ", wordsAtDesk().Names, name)
	}
	if len(list) == desk.PageRows {
		d.say(wordsAtDesk().More)
	}
	return err
}

func (d *deskTalk) practice(after ledger.PracticeCursor) error {
	w := wordsAtDesk()
	list, err := d.desk.Practice(d.ctx, d.whose, after)
	if err != nil {
		return err
	}
	d.results = nil
	if len(list) == 0 {
		d.say(w.NoPractice)
		return nil
	}
	d.say(w.Practice)
	for _, p := range list {
		d.indentedf("  ", "%s", desk.PractisedText(p))
	}
	if n := len(list); n == desk.PageRows {
		d.results = &list[n-1]
		d.say(w.MorePractice)
	}
	return nil
}

// open shows a visit as it is now.
func (d *deskTalk) open(id string) error {
	v, err := d.desk.Visit(d.ctx, id)
	if err != nil {
		return err
	}
	d.visit, d.at = v, -1
	d.showVisit()
	return nil
}

func (d *deskTalk) hearVisit(word, rest string) error {
	w := wordsAtDesk()
	switch word {
	case "next", "":
		d.goTo(d.at + 1)
	case "back":
		d.goTo(d.at - 1)
	case "step":
		n, err := strconv.Atoi(rest)
		if err != nil || n < 1 || n > len(d.visit.Steps) {
			return fmt.Errorf(w.NoStep, rest, len(d.visit.Steps))
		}
		d.goTo(n - 1)
	case "steps":
		for i, s := range d.visit.Steps {
			d.indentedf("  ", w.Row, i+1, s.Text())
		}
	case "trends":
		return d.trends()
	case "today":
		return d.today()
	case "comment":
		return d.comment(rest)
	case "send":
		return d.sendBack(rest)
	case "accept":
		return d.accept()
	case "show":
		d.goTo(d.at)
	case "close":
		d.visit = nil
		d.load(d.page.Query.Filter, d.page.Query.Order)
	case "help", "?":
		d.helpOf(w.CommandsVisit, w.VisitHelp)
	default:
		return fmt.Errorf(w.NoCommand, word)
	}
	return nil
}

// showVisit is what stands before the steps.
func (d *deskTalk) showVisit() {
	w, v := wordsAtDesk(), d.visit
	d.sayf(w.Visit, v.Digest.ID)
	d.sayf(w.Where, v.Digest.Site, v.Digest.Staff, v.Digest.StartedAt.Format("2006-01-02 15:04"), v.State, len(v.Steps))
	if err := d.today(); err != nil {
		d.sayf(w.NotInferred, err)
	}
	v = d.visit
	for _, text := range v.Found() {
		d.indentedf("  ", w.Finding, text)
	}
	if len(v.Reviews) == 0 {
		d.say(w.NothingSaid)
	}
	for _, r := range v.Reviews {
		step := ""
		if r.Step != "" {
			step = desk.StepTitle(v.Record, r.Step)
		}
		d.sayf(w.Said, desk.SaidText(r.Entry, step))
		for _, f := range r.Found {
			d.indentedf("  ", w.Finding, f)
		}
	}
}

// today says what the engine of today makes of the visit.
func (d *deskTalk) today() error {
	v, err := d.desk.Today(d.ctx, d.visit)
	if err != nil {
		return err
	}
	d.visit = v
	d.say(d.desk.AgainText(v.Row))
	return nil
}

// again looks with the engine of today at what waits for a decision, at most as many as
// typed.
func (d *deskTalk) again(typed string) error {
	w := wordsAtDesk()
	most := math.MaxInt
	if typed != "" {
		var err error
		if most, err = strconv.Atoi(typed); err != nil || most < 1 {
			return fmt.Errorf(w.HowMany, typed)
		}
	}
	seen := 0
	for ; seen < most; seen++ {
		r, err := d.desk.LookAgain(d.ctx)
		if err != nil {
			return err
		}
		if r == nil {
			break
		}
		if r.Again.Differs || r.Again.Problem != "" {
			d.sayf(w.Seen, r.Digest.ID, d.desk.AgainText(*r))
		}
	}
	d.sayf(w.LookedAt, seen)
	d.load(d.page.Query.Filter, d.page.Query.Order)
	return nil
}

// goTo shows a step with what was believed after it.
func (d *deskTalk) goTo(n int) {
	w, v := wordsAtDesk(), d.visit
	switch {
	case n >= len(v.Steps):
		d.say(w.Last)
		return
	case n < -1:
		d.say(w.First)
		return
	}
	if d.at = n; n == -1 {
		d.showVisit()
		return
	}
	s := v.Steps[n]
	d.sayf(w.Step, n+1, len(v.Steps), s.Answer.At.Format("15:04:05"), s.Text())
	for _, c := range s.Said {
		d.sayf(w.Comment, desk.SaidText(c, ""))
	}
	r, err := d.desk.Believed(v, n)
	if err != nil {
		d.sayf(w.NotInferred, err)
		return
	}
	d.say(w.Diagnosis)
	for i, l := range visiting.Leading(r, nil, mostShown, leastP) {
		d.indentedf("  ", w.Standing, i+1, l.Title, visiting.Likelihood(l.P), quantity.Percent(l.P))
	}
	d.sayf(w.State, visiting.StateLine(v.Record.Site(), r))
}

func (d *deskTalk) trends() error {
	w := wordsAtDesk()
	list, err := d.desk.Trends(d.ctx, d.visit.Row)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		d.say(w.NoTrends)
		return nil
	}
	d.say(w.Trends)
	for _, t := range list {
		d.indentedf("  ", "%s", t.Text())
	}
	return nil
}

func (d *deskTalk) comment(text string) error {
	if text == "" {
		d.say(wordsAtDesk().WhatComment)
		return nil
	}
	step := ""
	if d.at >= 0 {
		step = d.visit.Steps[d.at].Answer.Step
	}
	return d.sign(review.Comment, step, text)
}

func (d *deskTalk) sendBack(rest string) error {
	back, question, _ := strings.Cut(rest, " ")
	question = strings.TrimSpace(question)
	if !strings.EqualFold(back, "back") || question == "" {
		d.say(wordsAtDesk().WhatQuestion)
		return nil
	}
	return d.sign(review.SendBack, "", question)
}

func (d *deskTalk) accept() error {
	w := wordsAtDesk()
	if !d.visit.Digest.Finished {
		return desk.ErrUnderWay
	}
	d.say(w.Accepts)
	for _, text := range d.visit.Found() {
		d.indentedf("  ", w.Finding, text)
	}
	d.say(w.Sure)
	typed, ok := d.read()
	if !ok || !strings.EqualFold(typed, "yes") {
		d.say(w.NotAccepted)
		return nil
	}
	return d.sign(review.Accept, "", "")
}

// sign keeps what is said of the visit, and shows the visit as it is then.
func (d *deskTalk) sign(kind review.Kind, step, text string) error {
	k, err := d.key()
	if err != nil {
		return err
	}
	if err := d.desk.Say(d.ctx, d.visit, k, kind, step, text); err != nil {
		return err
	}
	d.sayf(wordsAtDesk().Signed, kind.Text())
	at := d.at
	v, err := d.desk.Visit(d.ctx, d.visit.Digest.ID)
	if err == nil {
		d.visit, d.at = v, at
	}
	return err
}
