package desk

import (
	"context"
	"errors"
	"fmt"
	"time"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
)

// ErrUnderWay says that a visit cannot be accepted, since it has not ended.
var ErrUnderWay = errors.New("the visit has not ended; it can be sent back, not accepted")

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
	conclusion := "The visit kept no conclusion."
	if v.Digest.Condition != "" {
		conclusion = fmt.Sprintf("Found: %s (%s).", ConditionText(v.Digest.Condition), visiting.Percent(v.Digest.P))
	}
	list := []string{conclusion}
	for _, o := range v.Digest.Left {
		list = append(list, LeftText(o))
	}
	for _, f := range v.Flags(time.Time{}) {
		list = append(list, "Needs eyes: "+f.Text())
	}
	return list
}

// LeftText is what stays to be done, with who does it by when.
func LeftText(o visiting.Outstanding) string {
	text := "To be done: " + ConditionText(o.Condition)
	if o.Who != "" {
		text += ", by " + o.Who
	}
	switch {
	case o.By != "":
		text += ", agreed for " + o.By
	case o.Due != "":
		text += ", due " + o.Due
	}
	return text + "."
}

// OvertakenText says who was quicker.
func OvertakenText(o *ledger.Overtaken) string {
	if o.By == nil {
		return "Meanwhile the staff went on with this visit. Nothing was signed; look at it again."
	}
	return fmt.Sprintf("Meanwhile %s said of it: %s, at %s. Nothing of yours was kept; look at it again.", o.By.Who, o.By.Kind.Text(), o.By.At.Format("2006-01-02 15:04"))
}
