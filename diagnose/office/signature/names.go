package signature

import (
	"errors"
	"fmt"
	"time"

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
		p := Person{Name: t.Text("name"), From: t.Time("from")}
		key, err := ParsePublic(t.Text("key"))
		if p.Key = key; err != nil && t.Sound("key") {
			t.Report("key", "%v; expected what ampwalk key show prints, \"ssh-ed25519 AAAA...\"", err)
		}
		if t.Has("until") {
			if p.Until = t.Time("until"); t.Sound("from", "until") && !p.Until.After(p.From) {
				t.Report("until", "it is not after from")
			}
		}
		if t.Has("revoked") {
			p.Revoked, p.Reason = t.Time("revoked"), t.Text("reason")
		} else if t.Has("reason") {
			t.Report("reason", "only a revoked key has one; expected revoked beside it")
		}
		if other, known := n.byKey(p.Key); known && t.Sound("key") {
			t.Report("key", "it stands above already, for %q; expected each key once", other.Name)
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
var ErrUnknownKey = errors.New("the key is bound to no name")

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
		return doubt("the key is bound to %q, not to %q", p.Name, name)
	case signed.Before(p.From):
		return doubt("the key of %q is valid from %s; this was signed on %s", name, day(p.From), day(signed))
	case !p.Until.IsZero() && !signed.Before(p.Until):
		return doubt("the key of %q was valid until %s; this was signed on %s", name, day(p.Until), day(signed))
	case p.Revoked.IsZero(), !seen.IsZero() && seen.Before(p.Revoked):
		return nil
	case seen.IsZero():
		return doubt("the key of %q was revoked on %s (%s); no ledger witnesses that this was signed before", name, day(p.Revoked), p.Reason)
	default:
		return doubt("the key of %q was revoked on %s (%s); this was first seen on %s", name, day(p.Revoked), p.Reason, day(seen))
	}
}
