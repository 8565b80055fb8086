package review

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/internal/hashchain"
	"ampwalk/diagnose/office/signature"
)

// Suffix ends the name of every file of reviews.
const Suffix = ".reviews.jsonl"

// Purpose is what a signature of a review counts for.
const Purpose = "ampwalk-review"

// version is what is written.
const version = 1

// A Kind says what a review does.
type Kind string

// The kinds of review.
const (
	Comment  Kind = "comment"   // on a step or the whole; decides nothing
	SendBack Kind = "send-back" // with a question; somebody goes on with the visit
	Accept   Kind = "accept"
)

// Text is the kind in a word for people.
func (k Kind) Text() string {
	switch k {
	case SendBack:
		return "question"
	case Accept:
		return "acceptance"
	default:
		return string(k)
	}
}

// Decides reports whether a review of this kind changes the state of the visit.
func (k Kind) Decides() bool { return k == SendBack || k == Accept }

// A Review is one thing said of a visit.
type Review struct {
	Version int       `json:"version"` // of the format
	Visit   string    `json:"visit"`   // the visit's id
	Head    string    `json:"head"`    // the fingerprint of its journal as it was seen
	Kind    Kind      `json:"kind"`
	Who     string    `json:"who"`
	At      time.Time `json:"at"` // by the signer's clock
	Step    string    `json:"step,omitempty"`
	Text    string    `json:"text,omitempty"` // the comment, the question
	// Found is what an acceptance accepts, in the words that stood before the
	// signer: conclusion, actions that stay open, what asked for eyes.
	Found []string `json:"found,omitempty"`
}

// An Entry is one whole line of a file of reviews.
type Entry struct {
	Review
	Key  signature.Public // that signed it
	Line []byte           // with its line feed
	Hash string
}

// ErrReview says that a review does not say what its kind needs.
var ErrReview = datafile.Error(func() string { return words().Incomplete })

func (r Review) check() error {
	missing := func(what string) error { return fmt.Errorf("%w: %s", ErrReview, what) }
	switch {
	case r.Version != version:
		return fmt.Errorf(words().Version, ErrReview, r.Version)
	case r.Visit == "" || r.Head == "":
		return missing(words().Missing.Visit)
	case strings.TrimSpace(r.Who) == "":
		return missing(words().Missing.Who)
	case r.At.IsZero():
		return missing(words().Missing.When)
	case !slices.Contains([]Kind{Comment, SendBack, Accept}, r.Kind):
		return missing("its kind")
	case r.Kind != Accept && strings.TrimSpace(r.Text) == "":
		return missing(words().Missing.Text)
	case (r.Kind == Accept) != (len(r.Found) > 0):
		return missing(words().Missing.Found)
	}
	return nil
}

// Sign makes the entry that follows one with hash prev, "" for the first.
func Sign(prev string, r Review, key signature.Key) (Entry, error) {
	r.Version = version
	if err := r.check(); err != nil {
		return Entry{}, err
	}
	text, err := json.Marshal(r)
	if err != nil {
		return Entry{}, err
	}
	sig, err := key.Sign(Purpose, message(prev, text))
	if err != nil {
		return Entry{}, err
	}
	line, _ := hashchain.Link(prev, object(sig, text))
	return read(prev, line)
}

func message(prev string, review []byte) []byte { return append([]byte(prev+"\n"), review...) }

func object(sig string, review []byte) []byte {
	return fmt.Appendf(nil, `{"signature":%q,"review":%s}`, sig, review)
}

// read reads one line, without its line feed.
func read(prev string, line []byte) (e Entry, err error) {
	text, hash, err := hashchain.Unlink(prev, line)
	if err != nil {
		return e, err
	}
	var parts struct {
		Signature string          `json:"signature"`
		Review    json.RawMessage `json:"review"`
	}
	if err := json.Unmarshal(text, &parts); err != nil {
		return e, fmt.Errorf(words().Unreadable, err)
	}
	if !bytes.Equal(object(parts.Signature, parts.Review), text) { // one way to write it
		return e, hashchain.ErrChanged
	}
	e.Key, err = signature.Verify(Purpose, message(prev, parts.Review), parts.Signature)
	if err != nil {
		return e, err
	}
	if err := json.Unmarshal(parts.Review, &e.Review); err != nil {
		return e, fmt.Errorf(words().Unreadable, err)
	}
	e.Line, e.Hash = append(slices.Clip(line), '\n'), hash
	return e, e.check()
}

// A Damage says where a file of reviews stops being whole.
type Damage struct {
	Line  int // from 1
	Cause error
}

func (d *Damage) Error() string { return fmt.Sprintf(words().Damaged, d.Line, d.Cause) }

func (d *Damage) Unwrap() error { return d.Cause }

var (
	errTorn   = datafile.Error(func() string { return words().Torn })
	errOthers = datafile.Error(func() string { return words().Others })
)

// Parse reads a file of reviews up to the first that is not whole, not signed as
// it stands, or about another visit; the error is then a *[Damage]. Whose keys
// signed is for [Verify].
func Parse(data []byte) (list []Entry, err error) {
	prev := ""
	for rest := data; len(rest) > 0; {
		line, after, ended := bytes.Cut(rest, []byte("\n"))
		e, err := read(prev, line)
		switch {
		case !ended:
			err = errTorn
		case err == nil && len(list) > 0 && e.Visit != list[0].Visit:
			err = errOthers
		}
		if err != nil {
			return list, &Damage{Line: len(list) + 1, Cause: err}
		}
		list, prev, rest = append(list, e), e.Hash, after
	}
	return list, nil
}

// Mend puts right what mail programs do to line ends. A file that was not mailed
// stays as it is.
func RepairLineEnds(data []byte) []byte {
	return bytes.ReplaceAll(bytes.TrimPrefix(data, []byte("\ufeff")), []byte("\r\n"), []byte("\n"))
}

// Bytes is the file of a list of entries.
func Bytes(list []Entry) []byte {
	var all []byte
	for _, e := range list {
		all = append(all, e.Line...)
	}
	return all
}

// Last is the hash of the last entry, "" if there is none: what the next one
// follows.
func Last(list []Entry) string {
	if len(list) == 0 {
		return ""
	}
	return list[len(list)-1].Hash
}

// Decision is the last entry that decides, nil if none does.
func Decision(list []Entry) *Entry {
	for i := range slices.Backward(list) {
		if list[i].Kind.Decides() {
			return &list[i]
		}
	}
	return nil
}
