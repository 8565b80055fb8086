package desk

import (
	"fmt"
	"strings"
	"time"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
)

const minute = "2006-01-02 15:04"

// RowText is a visit in a line of a list.
func RowText(r ledger.Row) string {
	parts := []string{r.Digest.StartedAt.Format(minute), r.Digest.Site}
	if r.Digest.Staff != "" {
		parts = append(parts, r.Digest.Staff)
	}
	parts = append(parts, r.State.String())
	if r.Digest.Condition != "" {
		parts = append(parts, fmt.Sprintf("%s (%s)", ConditionText(r.Digest.Condition), quantity.Percent(r.Digest.P)))
	}
	if !r.Due.IsZero() {
		parts = append(parts, fmt.Sprintf(words().Row.Due, r.Due.UTC().Format(time.DateOnly)))
	}
	return strings.Join(parts, "; ")
}

// Reasons are why a visit needs attention now, the most urgent first.
func Reasons(r ledger.Row, now time.Time) (list []string) {
	for _, f := range r.Flags(ledger.Day(now)) {
		list = append(list, f.Text())
	}
	return list
}

// Text is a step in a line.
func (s Step) Text() string {
	if s.Answer.Kind == visiting.Note {
		return fmt.Sprintf(words().Row.Note, s.Title, s.Answer.Text())
	}
	return s.Title + ": " + s.Answer.Text()
}

// SaidText is a review in a line; step is the title of its step, "" for none.
func SaidText(e review.Entry, step string) string {
	text := fmt.Sprintf("%s, %s, %s", e.Who, e.At.Format(minute), e.Kind.Text())
	if step != "" {
		text += fmt.Sprintf(words().Row.On, step)
	}
	if e.Text != "" {
		text += ": " + e.Text
	}
	return text
}

// PractisedText is a result of practice in a line.
func PractisedText(p ledger.Practised) string {
	if p.Mode == practicelog.Quiz {
		return fmt.Sprintf(words().Row.Quiz, p.At.Format(minute), p.Who, p.Scenario, p.Level, p.Mode, p.Answers-len(p.Missed), p.Answers, p.Score.Total)
	}
	named := words().Row.Named
	if !p.Right {
		named = words().Row.NotNamed
	}
	text := words().Row.Practice.Of(p.Readings, p.At.Format(minute), p.Who, p.Scenario, p.Level, p.Mode, named, p.Score.Total)
	if n := len(p.Breaches); n > 0 {
		text += fmt.Sprintf(words().Row.Unsafe, n)
	}
	return text
}

// Text is a trend in numbers.
func (t Trend) Text() string {
	parts := make([]string, len(t.Points))
	for i, p := range t.Points {
		parts[i] = fmt.Sprintf("%s %.4g", p.At.Format(time.DateOnly), p.Value)
	}
	text := fmt.Sprintf("%s [%s]: %s", t.Quantity.Title(), t.Quantity.Unit(), strings.Join(parts, ", "))
	if n := len(t.Points); n > 1 {
		text += fmt.Sprintf(words().Row.Change, t.Points[n-1].Value-t.Points[0].Value)
	}
	return text
}

// ConditionText is the title of a condition, its id where the catalogue of today has
// none of that id.
func ConditionText(id condition.ID) string {
	if title := condition.Of(id).Title; title != "" {
		return title
	}
	return string(id)
}
