package signature

import (
	"fmt"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/tomlfile"
)

// A Person is a name bound to a key. One person may have several keys, one after
// the other.
type Person struct {
	Name    string
	Key     Public
	From    time.Time
	Until   time.Time // zero: without end
	Revoked time.Time // zero: it was not
	Reason  string    // why it was revoked
}

// Names say which key is whose. The zero value knows nobody.
type Names struct{ people []Person }

// ParseNames reads a names file, a [[person]] for each key; all that is wrong in
// it comes with its line.
func ParseNames(file string, data []byte) (Names, error) {
	top, err := tomlfile.Open(file, data)
	if err != nil {
		return Names{}, err
	}
	var n Names
	for _, t := range top.Tables("person") {
		p := Person{Name: t.Name("name"), From: t.Time("from")}
		key, err := ParsePublic(t.Text("key"))
		if p.Key = key; err != nil && t.Sound("key") {
			t.Report("key", words().ExpectedKey, err)
		}
		if t.Has("until") {
			if p.Until = t.Time("until"); t.Sound("from", "until") && !p.Until.After(p.From) {
				t.Report("until", "%s", words().Until)
			}
		}
		if t.Has("revoked") {
			p.Revoked, p.Reason = t.Time("revoked"), t.Text("reason")
		} else if t.Has("reason") {
			t.Report("reason", "%s", words().Reason)
		}
		if other, known := n.byKey(p.Key); known && t.Sound("key") {
			t.Report("key", words().KeyTwice, other.Name)
		}
		n.people = append(n.people, p)
	}
	return n, top.Err()
}

func (n Names) byKey(key Public) (Person, bool) {
	for _, p := range n.people {
		if p.Key == key {
			return p, true
		}
	}
	return Person{}, false
}

// None reports whether they bind no key at all.
func (n Names) None() bool { return len(n.people) == 0 }

// Of is the name that a key is bound to, "" if none.
func (n Names) Of(key Public) string {
	p, _ := n.byKey(key)
	return p.Name
}

// ErrUnknownKey says that the names file has no such key.
var ErrUnknownKey = datafile.Error(func() string { return words().Unknown })

// A Doubt says why a key that is bound to a name does not vouch.
type Doubt struct {
	Person Person
	Msg    string
}

func (d *Doubt) Error() string { return d.Msg }

// Vouch says whether a signature with a key counts as that of the person named.
// The time of signing is the signer's own claim; seen is when somebody else, such
// as a ledger, first had the signature, zero if nobody did.
//
// A key that has ended (until) was good while it lasted, and what was signed
// before stays good. A revoked key may be in wrong hands, and those can claim any
// time: what it signed counts only if it was seen before the revocation.
func (n Names) Vouch(key Public, name string, signed, seen time.Time) error {
	p, known := n.byKey(key)
	doubt := func(format string, args ...any) error { return &Doubt{p, fmt.Sprintf(format, args...)} }
	day := func(t time.Time) string { return t.Format("2006-01-02") }
	switch {
	case !known:
		return fmt.Errorf("%w: %s", ErrUnknownKey, key.Fingerprint())
	case p.Name != name:
		return doubt(words().OtherName, p.Name, name)
	case signed.Before(p.From):
		return doubt(words().NotYet, name, day(p.From), day(signed))
	case !p.Until.IsZero() && !signed.Before(p.Until):
		return doubt(words().NoLonger, name, day(p.Until), day(signed))
	case p.Revoked.IsZero(), !seen.IsZero() && seen.Before(p.Revoked):
		return nil
	case seen.IsZero():
		return doubt(words().Revoked, name, day(p.Revoked), p.Reason)
	default:
		return doubt(words().RevokedBefore, name, day(p.Revoked), p.Reason, day(seen))
	}
}
