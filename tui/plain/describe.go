package plain

import (
	_ "embed"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/siteform"
)

//go:embed describe.toml
var describeFile []byte

// describeWords is describe.toml.
type describeWords struct {
	Begin, Part, Note, Question, Where, Against, Empty, Usual, Choice string

	Answer, Brief, Kept, Problem, Check, Doubt, Unwritten string

	Said map[string]string // what was done last, by siteform.Said

	Item, Nothing, None, Count, Wrong, Complete, Left, Elsewhere, Continue, Remark, Commands, Command string

	SoFar         string `toml:"so_far"`
	ChoiceMeaning string `toml:"choice_meaning"`
	AnswerKeep    string `toml:"answer_keep"`
	AnswerTypical string `toml:"answer_typical"`
	AnswerSkip    string `toml:"answer_skip"`
	AnswerNoMore  string `toml:"answer_no_more"`
	AnswerOver    string `toml:"answer_over"`
	OrNone        string `toml:"or_none"`
	NotRight      string `toml:"not_right"`
	AssumedAll    string `toml:"assumed_all"`
	Unkept        string

	Help []struct{ Name, Does string }
}

var wordsToDescribe = sync.OnceValue(func() describeWords { return datafile.Read[describeWords]("tui/plain/describe.toml", describeFile) })

// DescribeOptions is what describing a site line by line needs.
type DescribeOptions struct {
	Draft   siteform.Draft
	Path    string // as a person types it
	Keep    func(text []byte) error
	Remarks func(siteform.Draft) []string // on a complete description
	In      io.Reader
	Out     io.Writer
	Width   int // columns of the terminal, 0 for the usual ones
}

// Describe asks what is installed at a site until all is asked, the person is
// done, or the input ends: a face of siteform.Talk. Every answer confirmed by "Saved" is
// in the file.
func Describe(opt DescribeOptions) error {
	var unkept error // why the last change is not in the file
	keep := func(text []byte) error {
		unkept = opt.Keep(text)
		if unkept != nil {
			unkept = fmt.Errorf(wordsToDescribe().Unwritten, opt.Path, unkept)
		}
		return unkept
	}
	d := &description{DescribeOptions: opt, voice: newVoice(opt.In, opt.Out, opt.Width), talk: siteform.NewTalk(opt.Draft, keep)}
	d.sayf(wordsToDescribe().Begin, opt.Draft.Name(), opt.Path)
	if d.talk.Brief() {
		d.sayf(wordsToDescribe().Brief, len(d.talk.Questions()))
	}
	for !d.left && d.err == nil {
		if !d.quiet {
			d.show()
		}
		d.quiet = false
		d.ask()
		if d.err != nil {
			break // nobody could read the question
		}
		typed, ok := d.read()
		if !ok {
			break
		}
		d.hear(typed)
	}
	switch {
	case d.err != nil:
	case unkept != nil:
		d.sayf(wordsToDescribe().Unkept, opt.Path)
		return unkept
	default:
		d.end()
	}
	return d.err
}

// A description is one run: the talk and what was said of it.
type description struct {
	*voice
	DescribeOptions
	talk *siteform.Talk
	part string // whose heading was said last
}

// show asks a question.
func (d *description) show() {
	q, w := d.talk.Question(), wordsToDescribe()
	d.print("")
	if d.talk.Over() {
		d.standing()
		return
	}
	if q.Part != d.part {
		d.part = q.Part
		d.sayf(w.Part, q.Part)
		if q.Note != "" {
			d.sayf(w.Note, q.Note)
		}
	}
	d.sayf(w.Question, d.talk.At()+1, len(d.talk.Questions()), q.Title)
	for _, l := range []struct{ form, text string }{{w.Where, q.Where}, {w.Against, q.Agrees}, {w.Empty, q.Without}, {w.Usual, d.talk.UsualText()}, {w.SoFar, d.talk.Given(q)}} {
		if l.text != "" {
			d.sayf(l.form, l.text)
		}
	}
	for _, text := range d.talk.Draft().Wrong(q) {
		d.sayf(w.Check, text)
	}
	for i, c := range q.Choices {
		if i < len(q.Explain) {
			d.indentedf("  ", w.ChoiceMeaning, i+1, c, q.Explain[i])
			continue
		}
		d.indentedf("  ", w.Choice, i+1, c)
	}
}

// ask says what is expected and what an empty line does.
func (d *description) ask() {
	q, w := d.talk.Question(), wordsToDescribe()
	expected := q.Expected()
	if q.Optional {
		expected += w.OrNone
	}
	switch empty := d.talk.Empty(); {
	case d.talk.Doubt() != nil:
	case d.talk.Over():
		d.say(w.AnswerOver)
	case q.Form == siteform.More && empty == siteform.NoMore:
		d.sayf(w.AnswerNoMore, expected)
	case q.Form == siteform.More:
		d.sayf(w.Answer, expected)
	case empty == siteform.Kept:
		d.sayf(w.AnswerKeep, expected, d.talk.Draft().Answer(q))
	case empty == siteform.Assumed:
		t, _ := d.talk.Usual()
		d.sayf(w.AnswerTypical, expected, q.Named(t.Text))
	default:
		d.sayf(w.AnswerSkip, expected)
	}
}

// hear does what was typed: a command, or the answer.
func (d *description) hear(typed string) {
	word, rest, _ := strings.Cut(typed, " ")
	if do, ok := describeCommands[strings.ToLower(word)]; ok && (rest == "" || strings.EqualFold(word, "go")) {
		d.talk.Correct()
		do(d, strings.TrimSpace(rest))
		return
	}
	switch doubted := d.talk.Doubt() != nil; {
	case d.talk.Over():
		d.left = typed == ""
		return
	case doubted && typed == "":
		d.talk.Correct()
		return
	case doubted && (strings.EqualFold(typed, "yes") || strings.EqualFold(typed, "y")):
		typed = d.talk.Doubted()
	}
	d.after(d.talk.Answer(typed))
}

// after says what came of something that the talk was asked to do.
func (d *description) after(err error) {
	w := wordsToDescribe()
	switch {
	case errors.Is(err, siteform.ErrDoubt):
		for _, text := range d.talk.Doubt() {
			d.sayf(w.Check, text)
		}
		d.say(w.Doubt)
		d.quiet = true
		return
	case err != nil:
		d.sayf(w.Problem, err)
		d.quiet = true
		return
	}
	last := d.talk.Last()
	if text := w.Said[string(last.Said)]; text != "" {
		d.say(text)
	} else if text := d.talk.Given(last.On); text != "" {
		d.sayf(w.Kept, text)
	}
}

// standing says how far the description is, where the last question is behind.
func (d *description) standing() {
	w, draft := wordsToDescribe(), d.talk.Draft()
	for _, l := range []struct {
		heading string
		list    []siteform.Question
	}{{w.Left, d.talk.Left()}, {w.NotRight, draft.AllWrong()}} {
		if len(l.list) > 0 {
			d.say(l.heading)
		}
		for _, q := range l.list {
			d.indentedf("  ", "%s, %s", q.Part, q.Title)
		}
	}
	for _, text := range draft.Elsewhere() {
		d.sayf(w.Elsewhere, text)
	}
	var assumed []string
	for _, q := range draft.AssumedAnswers() {
		assumed = append(assumed, strings.TrimSuffix(q.Title, "?"))
	}
	if len(assumed) > 0 {
		d.sayf(w.AssumedAll, strings.Join(assumed, "; "))
	}
}

// end says how far the description is, and how to go on.
func (d *description) end() {
	w, draft := wordsToDescribe(), d.talk.Draft()
	d.print("")
	if !d.talk.Over() {
		d.standing()
	}
	if draft.Site() == nil {
		d.sayf(w.Continue, d.Path)
		return
	}
	if d.Remarks != nil {
		for _, text := range d.Remarks(draft) {
			d.sayf(w.Remark, text)
		}
	}
	d.sayf(w.Complete, d.Path)
}
