package tui

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/ledger"
)

// The rows beside those of the list: title and heading above, reasons below.
const (
	deskHead = 3
	deskFoot = 5
)

// rows is how many visits there is room for.
func (s deskScreen) rows(e env) int { return max(1, e.h-deskHead-deskFoot) }

func (s deskScreen) view(e env) []string {
	w, order := deskWords().List, ""
	for _, o := range desk.Orders {
		if o.Order == s.list.Query.Order {
			order = o.Title
		}
	}
	lines := ruled(e, fmt.Sprintf(w.Title, desk.FilterText(s.list.Query.Filter)), order)
	day := map[bool]string{false: w.Begun, true: w.Due}[s.list.Query.Order == ledger.DueFirst]
	lines = fit(append(lines, e.st.label.Render(deskRow(e.w, "", day, w.Site, w.State, w.Found))), e.w, deskHead)
	list, room := make([]string, len(s.list.Rows)), s.rows(e)
	today := ledger.Day(s.work.Desk.Now())
	for i := max(0, s.at-room); i < min(len(list), s.at+room+1); i++ { // the others are not seen
		r, found := s.list.Rows[i], ""
		if r.Digest.Condition != "" {
			found = fmt.Sprintf("%s %s", percent(r.Digest.P), desk.ConditionText(r.Digest.Condition))
		}
		at := r.Digest.StartedAt
		if s.list.Query.Order == ledger.DueFirst {
			at = r.Due.UTC()
		}
		line := deskRow(e.w-2, strings.Repeat("!", r.Level(today)), at.Format(time.DateOnly), r.Digest.Site, r.State.String(), found)
		if i == s.at {
			list[i] = e.st.title.Render("> " + line)
			continue
		}
		list[i] = "  " + line
	}
	switch {
	case s.loading && len(list) == 0:
		list = []string{wordsOf().Working}
	case len(list) == 0:
		list = []string{w.None}
		if f := s.list.Query.Filter; desk.Narrowed(f) {
			list = wrap(fmt.Sprintf(w.NoneLeft, desk.FilterText(f), strings.ToUpper(keys.Only.Help().Key)), e.w)
		}
	}
	lines = append(lines, fit(around(list, s.at, room), e.w, room)...)
	return append(lines, fit(s.foot(e), e.w, deskFoot)...)
}

// foot is why the chosen visit needs eyes, or the field.
func (s deskScreen) foot(e env) []string {
	w, lines := deskWords().List, []string{e.st.quiet.Render(rule(e.w))}
	if text := cmp.Or(s.blind, desk.UnseenText(s.unseen)); text != "" {
		text = cut("-- "+text+" ", e.w)
		lines[0] = e.st.quiet.Render(text + rule(e.w-ansi.StringWidth(text)))
	}
	switch {
	case s.field != nil:
		lines = append(lines, s.field.view(e.st, true, e.w))
		switch {
		case s.problem != "":
			return append(lines, problem(e.st, s.problem, e.w)...)
		case len(s.known) > 0:
			return append(lines, wrap(fmt.Sprintf(w.Names, strings.Join(s.known, "; ")), e.w)...)
		}
		return append(lines, wrap(fmt.Sprintf(w.Forms, strings.Join(desk.FilterForms, "; ")), e.w)...)
	case s.problem != "":
		return append(lines, problem(e.st, s.problem, e.w)...)
	case s.at < len(s.list.Rows):
		r := s.list.Rows[s.at]
		lines = append(lines, cut(begunText(r), e.w))
		for _, reason := range desk.Reasons(r, s.work.Desk.Now()) {
			lines = append(lines, bullet(e, reason)...)
		}
	}
	return lines
}

func begunText(r ledger.Row) string {
	w, begun := deskWords().List, r.Digest.StartedAt.Format("2006-01-02 15:04")
	if r.Due.IsZero() {
		return fmt.Sprintf(w.By, r.Digest.Staff, begun)
	}
	return fmt.Sprintf(w.ByDue, r.Digest.Staff, begun, r.Due.UTC().Format(time.DateOnly))
}

// deskRow sets what is told of a visit in columns.
func deskRow(w int, mark, day, site, state, found string) string {
	const markW, dayW, stateW, gap = 3, 10, 10, 2
	rest := max(10, w-markW-dayW-stateW-4*gap)
	siteW := rest * 2 / 5
	var b strings.Builder
	for _, c := range []struct {
		text string
		w    int
	}{{mark, markW}, {day, dayW}, {site, siteW}, {state, stateW}, {found, rest - siteW}} {
		b.WriteString(pad(cut(c.text, c.w), c.w) + strings.Repeat(" ", gap))
	}
	return strings.TrimRight(ansi.Truncate(b.String(), w, ""), " ")
}
