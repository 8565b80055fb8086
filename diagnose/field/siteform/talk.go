package siteform

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ampwalk/diagnose/base/datafile"
)

// A Talk leads a person through the description of a site, without a screen: what is
// asked, what was answered, doubted, assumed, left open, undone. The full screen and the
// line-by-line mode only show what it says, so that both behave alike.
//
// A new site is asked by [Draft.First] alone; what is usual stands for the rest until
// somebody goes through it too ([Talk.Details]).
type Talk struct {
	keep  func(text []byte) error
	draft Draft
	past  []moment // before each change, the latest last

	list  []Question
	at    int
	brief bool // only the first questions are asked
	over  bool // the last question is behind

	usual   *Typical // for the question shown, nil: there is none
	doubt   []string // what does not agree with what was typed
	doubted string   // what was typed then
	last    Heard
}

// A moment is what Undo goes back to.
type moment struct {
	draft Draft
	path  string
}

// NewTalk begins at the first question that has no good answer. keep writes the file;
// every change is in it before the next question.
func NewTalk(d Draft, keep func(text []byte) error) *Talk {
	t := &Talk{keep: keep, draft: d}
	wrong := d.AllWrong()
	t.brief = len(d.leftOf(d.First())) > 0 && d.onlyFirst()
	t.list = t.asked()
	for _, todo := range [][]Question{wrong, d.leftOf(t.list)} {
		if len(todo) > 0 {
			t.at = t.index(todo[0].Path)
			break
		}
	}
	t.show()
	return t
}

// asked are the questions that the talk goes through.
func (t *Talk) asked() []Question {
	if t.brief {
		return t.draft.First()
	}
	return t.draft.Questions()
}

func (t *Talk) index(path string) int {
	return max(0, slices.IndexFunc(t.list, func(q Question) bool { return q.Path == path }))
}

// show turns to the question at t.at.
func (t *Talk) show() {
	t.Correct()
	t.usual = nil
	if u, ok := t.draft.usual(t.Question()); ok {
		t.usual = &u
	}
}

// Draft is the description so far.
func (t *Talk) Draft() Draft { return t.draft }

// Questions are those that are asked, in their order.
func (t *Talk) Questions() []Question { return t.list }

// At is the place of the question shown among them, from 0.
func (t *Talk) At() int { return t.at }

// Question is the one shown.
func (t *Talk) Question() Question { return t.list[t.at] }

// Brief reports whether only the first questions are asked.
func (t *Talk) Brief() bool { return t.brief }

// Over reports whether the last question is behind.
func (t *Talk) Over() bool { return t.over }

// Left are those of the questions that still need an answer.
func (t *Talk) Left() []Question { return t.draft.leftOf(t.list) }

// Usual is what can be assumed for the question shown.
func (t *Talk) Usual() (Typical, bool) {
	if t.usual == nil {
		return Typical{}, false
	}
	return *t.usual, true
}

// Empty says what an answer without a word means for the question shown.
func (t *Talk) Empty() Said {
	q := t.Question()
	switch {
	case q.Form == More:
		if _, some := t.draft.Count(q); some || !t.draft.lacks(q) {
			return NoMore
		}
		return LeftOpen
	case t.draft.Given(q):
		return Kept
	case t.usual != nil && !q.Optional:
		return Assumed
	case q.Optional:
		return None
	default:
		return LeftOpen
	}
}

// A Said is what came of an answer.
type Said string

// What can come of one.
const (
	Kept     Said = "kept"    // it is in the file
	Assumed  Said = "assumed" // the usual value is in the file
	None     Said = "none"    // there is no such thing
	LeftOpen Said = "open"    // the question waits
	Added    Said = "added"   // another indicator, look or load is to be described
	NoMore   Said = "no-more"
	Removed  Said = "removed"
	Undone   Said = "undone"
)

// Heard is what was done last: to which question, and its answer then.
type Heard struct {
	Said Said
	On   Question
	Text string // the answer with its unit, "" for none
}

// Last is what was done last; without Said nothing yet.
func (t *Talk) Last() Heard { return t.last }

// ErrDoubt says that an answer does not agree with others ([Talk.Doubt]). The same
// answer given again is kept.
var ErrDoubt = datafile.Error(func() string { return words().Doubt })

// Doubt is what does not agree with the answer given last, nil for nothing.
func (t *Talk) Doubt() []string { return t.doubt }

// Doubted is what was typed when the doubt came.
func (t *Talk) Doubted() string { return t.doubted }

// Correct drops the doubt: something else will be typed.
func (t *Talk) Correct() { t.doubt, t.doubted = nil, "" }

// Check says how what is typed so far would be taken and what it does not agree with.
func (t *Talk) Check(typed string) (understood string, against []string, err error) {
	q := t.Question()
	if q.Form == More || strings.TrimSpace(typed) == "" || t.saysNone(typed) {
		return "", nil, nil
	}
	against, err = t.draft.Would(q, typed)
	return q.Understood(typed), against, err
}

// saysNone reports whether typed is the 0 that says that there is no such thing.
func (t *Talk) saysNone(typed string) bool {
	return strings.TrimSpace(typed) == "0" && (t.Question().Optional || t.Question().Form == More)
}

// Answer takes what was typed and turns to the next question. Nothing typed keeps what is
// in the file, assumes what is usual, or leaves the question open ([Talk.Empty]). 0 says
// that there is none.
func (t *Talk) Answer(typed string) error {
	q := t.Question()
	typed = strings.TrimSpace(typed)
	switch {
	case t.saysNone(typed) && q.Form != More:
		return t.without(None)
	case q.Form == More:
		return t.more(typed)
	case typed == "":
		return t.nothing()
	case t.draft.Given(q) && typed == t.draft.Answer(q):
		t.pass(Kept)
		return nil
	}
	sure := t.doubt != nil && typed == t.doubted
	t.Correct()
	against, err := t.draft.Would(q, typed)
	switch {
	case err != nil:
		return err
	case len(against) > 0 && !sure:
		t.doubt, t.doubted = against, typed
		return ErrDoubt
	}
	next, err := t.draft.Put(q, typed)
	return t.change(next, err, Kept)
}

// nothing is an answer without a word.
func (t *Talk) nothing() error {
	said := t.Empty()
	if said == Assumed {
		return t.Assume()
	}
	t.pass(said)
	return nil
}

// more is the answer to whether there is another indicator, look or load.
func (t *Talk) more(typed string) error {
	q := t.Question()
	switch strings.ToLower(typed) {
	case "no", "n", "0":
		t.pass(NoMore)
		return nil
	case "":
		t.pass(t.Empty())
		return nil
	case "yes", "y":
	default:
		return fmt.Errorf(words().YesOrNo, typed)
	}
	n, _ := t.draft.Count(q)
	next, err := t.draft.Add(q)
	if err := t.write(next, err); err != nil {
		return err
	}
	t.last = Heard{Said: Added, On: q}
	group := join(q.Path, strconv.Itoa(n))
	t.at = max(0, slices.IndexFunc(t.list, func(q Question) bool { return q.Group == group }))
	t.show()
	return nil
}

// pass goes on from a question whose answer in the file stays as it is.
func (t *Talk) pass(said Said) {
	t.last = t.heard(said, t.Question())
	t.forward()
}

func (t *Talk) heard(said Said, q Question) Heard { return Heard{said, q, t.Given(q)} }

// Given is the answer to q with its unit and whether it is assumed, "" for none.
func (t *Talk) Given(q Question) string {
	if !t.draft.Given(q) || q.Form == More {
		return ""
	}
	text := q.Named(t.draft.Answer(q))
	if t.draft.Assumed(q) {
		text = fmt.Sprintf(words().Assumed, text)
	}
	return text
}

// UsualText is what can be assumed for the question shown, what it rests on, and how far
// nine in ten lie from it; "" for nothing.
func (t *Talk) UsualText() string {
	if t.usual == nil {
		return ""
	}
	text := fmt.Sprintf(words().Usual, t.Question().Named(t.usual.Text), t.usual.Why)
	if t.usual.Spread != "" {
		text = fmt.Sprintf(words().GiveOrTake, text, t.usual.Spread)
	}
	return text
}

// forward turns to the next question. After the last of the first questions what is usual
// is assumed for all others.
func (t *Talk) forward() {
	if t.at+1 < len(t.list) {
		t.at++
		t.show()
		return
	}
	t.over = true
	t.Correct()
	if !t.brief || len(t.Left()) > 0 {
		return
	}
	q := t.Question().Path
	filled, err := t.draft.Filled()
	if t.write(filled, err) == nil {
		t.brief = false
		t.list = t.asked()
		t.at = t.index(q)
	}
}

// change keeps the next draft and turns to the next question.
func (t *Talk) change(next Draft, err error, said Said) error {
	q := t.Question()
	if err := t.write(next, err); err != nil {
		return err
	}
	t.last = t.heard(said, q)
	t.forward()
	return nil
}

// write keeps a draft in the file; err is why there is none.
func (t *Talk) write(next Draft, err error) error {
	if err != nil {
		return err
	}
	q := t.Question()
	if !bytes.Equal(next.Bytes(), t.draft.Bytes()) {
		if err := t.keep(next.Bytes()); err != nil {
			return err
		}
		t.past = append(t.past, moment{t.draft, q.Path})
	}
	t.draft = next
	t.list = t.asked()
	if i := slices.IndexFunc(t.list, func(other Question) bool { return other.Path == q.Path }); i >= 0 {
		t.at = i
	}
	t.at = min(t.at, len(t.list)-1)
	return nil
}

// Assume answers with what is usual, marked as assumed.
func (t *Talk) Assume() error {
	if t.usual == nil {
		return ErrNoTypical
	}
	next, err := t.draft.assume(t.Question(), *t.usual)
	return t.change(next, err, Assumed)
}

// Clear takes the answer out of the file.
func (t *Talk) Clear() error { return t.without(LeftOpen) }

func (t *Talk) without(said Said) error {
	next, err := t.draft.Clear(t.Question())
	return t.change(next, err, said)
}

// Checked keeps an assumed value as one that was read.
func (t *Talk) Checked() error {
	q := t.Question()
	if !t.draft.Assumed(q) {
		return errors.New(words().NotAssumed)
	}
	next, err := t.draft.Put(q, t.draft.Answer(q))
	return t.change(next, err, Kept)
}

// Remove takes out the indicator, look or load of the question.
func (t *Talk) Remove() error {
	q := t.Question()
	if q.Group == "" {
		return errors.New(words().NoRemove)
	}
	next, err := t.draft.Remove(q)
	if err := t.write(next, err); err != nil {
		return err
	}
	t.last = Heard{Said: Removed, On: q}
	t.show()
	return nil
}

// CanUndo reports whether something was changed.
func (t *Talk) CanUndo() bool { return len(t.past) > 0 }

// Undo goes back to the description before the last change, and to its question.
func (t *Talk) Undo() error {
	n := len(t.past) - 1
	if n < 0 {
		return errors.New(words().NoUndo)
	}
	before := t.past[n]
	if err := t.write(before.draft, nil); err != nil {
		return err
	}
	t.past = t.past[:n:n]
	t.over = false
	if i := slices.IndexFunc(t.list, func(q Question) bool { return q.Path == before.path }); i >= 0 {
		t.at = i
	}
	t.last = t.heard(Undone, t.Question())
	t.show()
	return nil
}

// Back shows the question before.
func (t *Talk) Back() error {
	switch {
	case t.over:
		t.over = false
	case t.at == 0:
		return errors.New(words().First)
	default:
		t.at--
	}
	t.show()
	return nil
}

// Next leaves the question as it is.
func (t *Talk) Next() { t.forward() }

// Go shows the question of that path; false where it is not asked.
func (t *Talk) Go(path string) bool {
	i := slices.IndexFunc(t.list, func(q Question) bool { return q.Path == path })
	if i < 0 {
		return false
	}
	t.at, t.over = i, false
	t.show()
	return true
}

// GoNumber shows the question of that number, from 1, as it was typed.
func (t *Talk) GoNumber(typed string) error {
	n, err := strconv.Atoi(typed)
	if err != nil || n < 1 || n > len(t.list) {
		return fmt.Errorf(words().NoNumber, typed)
	}
	t.Go(t.list[n-1].Path)
	return nil
}

// Details goes on with every question there is: to the first that has no answer, or that
// nobody has read the answer of.
func (t *Talk) Details() error {
	if !t.brief && !t.over {
		return errors.New(words().AllShown)
	}
	t.brief, t.over = false, false
	t.list, t.at = t.asked(), 0
	for _, todo := range [][]Question{t.Left(), t.draft.AssumedAnswers()} {
		if len(todo) > 0 {
			t.at = t.index(todo[0].Path)
			break
		}
	}
	t.show()
	return nil
}
