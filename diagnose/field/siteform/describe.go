package siteform

import (
	_ "embed"
	"errors"
	"slices"
	"strings"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/site"
)

//go:embed new.site.toml
var newSite []byte

// fileName stands for the file in problems; nobody sees it.
const fileName = "site file"

// A Draft is a site file under way. It is a value: a change gives a new one.
type Draft struct {
	text     tomlfile.Text
	problems tomlfile.Problems
	site     *site.Site // nil while there are problems
}

// New is a draft with nothing but a name in it.
func New(name string) (Draft, error) {
	d, err := Open(fileName, newSite)
	if err != nil {
		return d, err
	}
	return d.set("name", name)
}

// Open reads a site file, whole or not; one that is no TOML gives
// [tomlfile.Problems].
func Open(file string, data []byte) (Draft, error) {
	text, err := tomlfile.NewText(file, data)
	if err != nil {
		return Draft{}, err
	}
	return checked(text), nil
}

// checked is a draft of the text with what the reader of site files says of it.
func checked(text tomlfile.Text) Draft {
	d := Draft{text: text}
	s, err := site.Parse(fileName, text.Bytes())
	d.site = s
	_ = errors.As(err, &d.problems)
	return d
}

// Bytes is the text of the file.
func (d Draft) Bytes() []byte { return d.text.Bytes() }

// Site is what the file describes; nil while something is missing or wrong.
func (d Draft) Site() *site.Site { return d.site }

// Name is the name of the site, as far as there is one.
func (d Draft) Name() string {
	v, _ := d.text.Value("name")
	name, _ := v.(string)
	return name
}

// Given reports whether the file has an answer to q.
func (d Draft) Given(q Question) bool {
	if q.together() {
		return d.allGiven(q)
	}
	_, ok := d.text.Value(q.Path)
	return ok
}

// Assumed reports whether the answer to q is a typical value, by its comment.
func (d Draft) Assumed(q Question) bool {
	if q.together() {
		return q.Form == Pair && slices.ContainsFunc(q.keys, func(key string) bool { return site.IsAssumed(d.text.Comment(key)) })
	}
	return site.IsAssumed(d.text.Comment(q.Path))
}

// own is a comment without the mark of what is assumed.
func own(comment string) string {
	if !site.IsAssumed(comment) {
		return comment
	}
	_, rest, _ := strings.Cut(comment, ";")
	return strings.TrimSpace(rest)
}

// set puts a value at path, in the order of the questions.
func (d Draft) set(path string, value any) (Draft, error) {
	text, err := d.text.Set(path, value, siblings(path)...)
	if err != nil {
		return d, err
	}
	return checked(text), nil
}

// comment marks what is given at path as assumed or not; title stands in the
// comment where there is none yet.
func (d Draft) comment(path, mark, title string, isNew bool) (Draft, error) {
	was := d.text.Comment(path)
	text := own(was)
	if text == "" && isNew {
		text = title
	}
	switch {
	case mark != "" && text != "":
		text = mark + "; " + text
	case mark != "":
		text = mark
	}
	if text == was {
		return d, nil
	}
	changed, err := d.text.SetComment(path, text)
	if err != nil {
		return d, err
	}
	return checked(changed), nil
}

// Put answers q with what was typed. A text that is no answer gives an error and
// leaves the draft as it was; an answer that does not agree with others is kept,
// and [Draft.Wrong] says so.
func (d Draft) Put(q Question, typed string) (Draft, error) {
	if q.together() {
		return d.putAll(q, typed)
	}
	value, err := q.read(typed)
	if err != nil {
		return d, err
	}
	isNew := !d.Given(q)
	next, err := d.set(q.Path, value)
	if err != nil {
		return d, err
	}
	mark := ""
	if q.Form == Month && yearOnly(typed) {
		mark = site.AssumedMark(words().HalfAYear)
	}
	if marked, err := next.comment(q.Path, mark, q.Title, isNew); err == nil {
		next = marked // a value in braces has no comment of its own
	}
	return next, nil
}

// Assume answers q with its typical value, marked as assumed.
func (d Draft) Assume(q Question) (Draft, error) {
	t, ok := d.Typical(q)
	if !ok {
		return d, ErrNoTypical
	}
	return d.assume(q, t)
}

// assume answers q with t, marked as assumed.
func (d Draft) assume(q Question, t Typical) (Draft, error) {
	if q.together() {
		return d.assumeAll(q)
	}
	value, err := q.read(t.Text)
	if err != nil {
		return d, err
	}
	isNew := !d.Given(q)
	next, err := d.set(q.Path, value)
	if err != nil {
		return d, err
	}
	if next, err = next.comment(q.Path, site.AssumedMark(t.Spread), q.Title, isNew); err != nil {
		return d, err
	}
	return next, nil
}

// ErrNoTypical says that no typical value is known, or not yet.
var ErrNoTypical = datafile.Error(func() string { return words().NoTypical })

// Clear takes the answer to q out of the file.
func (d Draft) Clear(q Question) (Draft, error) {
	if q.together() {
		return d.clearAll(q)
	}
	text, err := d.text.Remove(q.Path)
	if err != nil {
		return d, err
	}
	return checked(text), nil
}

// Add adds an empty lamp, look or load: what the question q asks for.
func (d Draft) Add(q Question) (Draft, error) {
	text, err := d.text.Append(q.Path)
	if err != nil {
		return d, err
	}
	return checked(text), nil
}

// Remove takes out the lamp, look or load that q belongs to.
func (d Draft) Remove(q Question) (Draft, error) {
	if q.Group == "" {
		return d, nil
	}
	text, err := d.text.Remove(q.Group)
	if err != nil {
		return d, err
	}
	return checked(text), nil
}

// Copy is a draft of another site that is built in the same way.
func (d Draft) Copy(name string) (Draft, error) { return d.set("name", name) }

// Left are the questions that still need an answer.
func (d Draft) Left() []Question { return d.leftOf(d.Questions()) }

func (d Draft) leftOf(list []Question) []Question {
	return slices.DeleteFunc(slices.Clone(list), func(q Question) bool {
		return q.Form == More && !d.lacks(q) || q.Form != More && (q.Optional || d.Given(q))
	})
}

// Count is how many lamps, looks or loads there are where a More asks for more.
func (d Draft) Count(q Question) (n int, some bool) {
	if q.Form == More {
		n = d.text.Count(q.Path)
	}
	return n, n > 0
}

// lacks reports whether the reader wants a table that q would add.
func (d Draft) lacks(q Question) bool {
	return q.Needed && d.text.Count(q.Path) == 0
}

// AssumedAnswers are the questions answered with typical values.
func (d Draft) AssumedAnswers() []Question {
	return slices.DeleteFunc(d.Questions(), func(q Question) bool { return !d.Assumed(q) })
}

// Assumptions are the answers that are typical values, in words.
func (d Draft) Assumptions() []string {
	var list []string
	for _, q := range d.AssumedAnswers() {
		list = append(list, q.Title+": "+q.Shown(d.Answer(q)))
	}
	return list
}
