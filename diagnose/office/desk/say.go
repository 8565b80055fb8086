package desk

import (
	"context"
	"fmt"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/quantity"
)

// ErrUnderWay says that a visit cannot be accepted, since it has not ended.
var ErrUnderWay = datafile.Error(func() string { return words().UnderWay })

// Say signs something said of a visit and puts it into the ledger, over the journal
// and after the last review that v shows. An acceptance accepts [Visit.Found]. A key
// that is bound to no name is refused by the ledger, which keeps that it was tried;
// where another was quicker the error is a *ledger.Overtaken.
func (d *Desk) Say(ctx context.Context, v *Visit, key signature.Key, kind review.Kind, step, text string) error {
	who := d.Names.Of(key.Public())
	if who == "" {
		who = key.Public().Fingerprint()
	}
	r := review.Review{Visit: v.Digest.ID, Head: v.Head, Kind: kind, Who: who, At: d.Now(), Step: step, Text: text}
	if kind == review.Accept {
		if !v.Digest.Finished {
			return ErrUnderWay
		}
		r.Step, r.Text, r.Found = "", "", v.Found()
	}
	e, err := review.Sign(v.LastReview, r, key)
	if err != nil {
		return err
	}
	return d.Ledger.Review(ctx, e, d.Names)
}

// Found is what there is to accept: the conclusion, what stays to be done, what asks
// for eyes.
func (v *Visit) Found() []string {
	conclusion := words().Say.NoConclusion
	if v.Digest.Condition != "" {
		conclusion = fmt.Sprintf(words().Say.Found, ConditionText(v.Digest.Condition), quantity.Percent(v.Digest.P))
	}
	list := []string{conclusion}
	for _, o := range v.Digest.Left {
		list = append(list, LeftText(o))
	}
	for _, f := range v.Flags(time.Time{}) {
		list = append(list, fmt.Sprintf(words().Say.NeedsAttention, f.Text()))
	}
	return list
}

// LeftText is what stays to be done, with who does it by when.
func LeftText(o visiting.Outstanding) string {
	text := fmt.Sprintf(words().Say.ToDo, ConditionText(o.Condition))
	if o.Who != "" {
		text += fmt.Sprintf(words().Say.By, o.Who)
	}
	switch {
	case o.By != "":
		text += fmt.Sprintf(words().Say.AgreedFor, o.By)
	case o.Due != "":
		text += fmt.Sprintf(words().Say.Due, o.Due)
	}
	return text + "."
}

// OvertakenText says who was quicker.
func OvertakenText(o *ledger.Overtaken) string {
	if o.By == nil {
		return words().Say.GoneOn
	}
	return fmt.Sprintf(words().Say.Overtaken, o.By.Who, o.By.Kind.Text(), o.By.At.Format("2006-01-02 15:04"))
}
