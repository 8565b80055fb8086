package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
)

// verify says whether a visit is what was accepted, and by whom. It needs the
// files and nothing else.
func (a *app) verify(f *pflag.FlagSet) action {
	namesFile := f.String("names", "", "")
	reviewsFile := f.String("reviews", "", "")
	where := f.String("ledger", "", "")
	data := f.String("data", "", "")
	return func(c *cobra.Command, args []string) error {
		if *where != "" && *reviewsFile != "" {
			return a.wrong(c, "%s", words().Wrong.ReviewsOrLedger)
		}
		names, err := a.readNames(*namesFile, *data)
		if err != nil {
			return err
		}
		var what claim
		if *where != "" {
			what, err = a.claimOfLedger(*where, *data, args[0])
		} else {
			what, err = a.claimOfFiles(*data, args[0], *reviewsFile)
		}
		if err != nil {
			return err
		}
		problems := what.tell(a, names)
		for _, p := range problems {
			a.printLine("Problem: " + plaintext.Clean(p))
		}
		if len(problems) > 0 {
			a.printLine("NOT VERIFIED")
			return errNotVerified
		}
		_, err = fmt.Fprintln(a.stdout, words().Verify.Verified)
		return err
	}
}

var errNotVerified = datafile.Error(func() string { return words().Failed.NotVerified })

// A claim is what is to be verified.
type claim struct {
	content record.Content
	reviews []review.Entry
	seen    func(review.Entry) time.Time // nil without a ledger
	damage  []string                     // of the files
}

func (a *app) claimOfFiles(data, visit, reviews string) (c claim, err error) {
	name, _, err := a.visitFile("verify", data, visit)
	if err != nil {
		return c, err
	}
	text, err := readUpTo(name, wholefile.Journal)
	if err != nil {
		return c, err
	}
	if c.content, err = record.Parse(text); err != nil {
		return c, err
	}
	switch {
	case c.content.Damage != nil:
		c.damage = append(c.damage, fmt.Sprintf(words().Verify.Journal, c.content.Damage))
	case !bytes.Equal(c.content.Bytes, text):
		c.damage = append(c.damage, words().Verify.LineEnds)
	}
	given := reviews != ""
	if !given {
		reviews = reviewsBeside(name)
	}
	said, err := readUpTo(reviews, wholefile.Journal)
	switch {
	case errors.Is(err, fs.ErrNotExist) && !given:
		return c, nil
	case err != nil:
		return c, err
	}
	if c.reviews, err = review.Parse(said); err != nil {
		c.damage = append(c.damage, fmt.Sprintf(words().Verify.Reviews, err))
	}
	return c, nil
}

// claimOfLedger is a visit of a ledger, which witnesses when it had each review.
func (a *app) claimOfLedger(where, data, id string) (c claim, err error) {
	v, err := a.ledgerVisit("verify", where, data, id)
	at := map[string]time.Time{}
	for _, s := range v.Reviews {
		at[s.Hash] = s.RecordedAt
	}
	return claim{content: v.Content, reviews: v.Said(), seen: func(e review.Entry) time.Time { return at[e.Hash] }}, err
}

// tell says what there is and gives what does not verify.
func (c claim) tell(a *app, names signature.Names) (problems []string) {
	say := func(format string, args ...any) {
		a.printLine(plaintext.Clean(fmt.Sprintf(format, args...)))
	}
	head, print := c.content.Head(), c.content.Fingerprint()
	say(words().Verify.Visit, head.ID, head.SiteName)
	say(words().Verify.Head, head.Who, head.StartedAt.Format("2006-01-02 15:04"), len(c.content.Hashes))
	say("%s", print)
	doubts := map[string]error{}
	problems = c.damage
	if names.None() && len(c.reviews) > 0 {
		problems = append(problems, words().Verify.NoNames)
	}
	for _, d := range review.Verify(head.ID, c.content.Hashes, c.reviews, names, c.seen) {
		doubts[d.Entry.Hash] = d.Cause
		problems = append(problems, d.Error())
	}
	for _, e := range c.reviews {
		good := words().Verify.Signed
		if doubts[e.Hash] != nil {
			good = words().Verify.NotValid
		}
		say(words().Verify.By, e.At.Format("2006-01-02 15:04"), e.Kind.Text(), e.Who, good)
		if e.Step != "" {
			say("  "+words().Verify.Step, e.Step)
		}
		for _, text := range append(e.Found, e.Text) {
			if text != "" {
				say("  %s", text)
			}
		}
	}
	switch d := review.Decision(c.reviews); {
	case len(c.reviews) == 0:
		problems = append(problems, words().Verify.NotSigned)
	case d == nil || d.Kind != review.Accept:
		problems = append(problems, words().Verify.NotAccepted)
	case d.Head != print && doubts[d.Hash] == nil:
		problems = append(problems, words().Verify.GoneOn)
	}
	return problems
}
