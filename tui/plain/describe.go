package plain

import (
	"bytes"
	_ "embed"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/siteform"
)

//go:embed describe.toml
var describeFile []byte

// describeWords is describe.toml.
type describeWords struct {
	Begin, Part, Note, Question, Where, Against, Empty, Typical, Spread, Assumed, Choice string

	Answer, Kept, Added, Removed, Undone, Problem, Check, Doubt, Unwritten, First string

	Item, Nothing, None, Count, Wrong, Complete, Left, Elsewhere, Continue, Remark, Commands, Command string

	SoFar         string `toml:"so_far"`
	ChoiceMeaning string `toml:"choice_meaning"`
	AnswerKeep    string `toml:"answer_keep"`
	AnswerTypical string `toml:"answer_typical"`
	AnswerSkip    string `toml:"answer_skip"`
	LeftOpen      string `toml:"left_open"`
	NoUndo        string `toml:"no_undo"`
	NoRemove      string `toml:"no_remove"`
	NotAssumed    string `toml:"not_assumed"`
	NoNumber      string `toml:"no_number"`
	NotRight      string `toml:"not_right"`
	YesOrNo       string `toml:"yes_or_no"`
	Unkept        string
	AssumedAll    string `toml:"assumed_all"`

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
// done, or the input ends. Every answer confirmed by "Saved" is in the file.
func Describe(opt DescribeOptions) error {
	d := &description{DescribeOptions: opt, voice: newVoice(opt.In, opt.Out, opt.Width)}
	d.list = opt.Draft.Questions()
	for _, todo := range [][]siteform.Question{opt.Draft.AllWrong(), opt.Draft.Left()} {
		if len(todo) > 0 {
			d.at = d.index(todo[0].Path)
			break
		}
	}
	d.sayf(wordsToDescribe().Begin, opt.Draft.Name(), opt.Path)
	for !d.left && d.at < len(d.list) && d.err == nil {
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
	case d.unkept != nil:
		d.sayf(wordsToDescribe().Unkept, d.Path)
		return d.unkept
	default:
		d.end()
	}
	return d.err
}

// A description is one run: the draft and where the person is.
type description struct {
	*voice
	DescribeOptions
	list   []siteform.Question
	at     int
	part   string // whose heading was said last
	past   []siteform.Draft
	unkept error  // why the last change is not in the file
	doubt  string // what was typed and does not agree, "" if nothing
}

func (d *description) index(path string) int {
	return max(0, slices.IndexFunc(d.list, func(q siteform.Question) bool { return q.Path == path }))
}

func (d *description) question() siteform.Question { return d.list[d.at] }

// show asks a question.
func (d *description) show() {
	q, w := d.question(), wordsToDescribe()
	d.print("")
	if q.Part != d.part {
		d.part = q.Part
		d.sayf(w.Part, q.Part)
		if q.Note != "" {
			d.sayf(w.Note, q.Note)
		}
	}
	d.sayf(w.Question, d.at+1, len(d.list), q.Title)
	for _, l := range []struct{ form, text string }{{w.Where, q.Where}, {w.Against, q.Agrees}, {w.Empty, q.Without}, {w.Typical, d.typical(q)}, {w.SoFar, d.given(q)}} {
		if l.text != "" {
			d.sayf(l.form, l.text)
		}
	}
	for _, text := range d.Draft.Wrong(q) {
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

func (d *description) typical(q siteform.Question) string {
	t, ok := d.Draft.Typical(q)
	if !ok {
		return ""
	}
	text := q.Shown(t.Text) + ": " + t.Why
	if t.Spread != "" {
		text += fmt.Sprintf(wordsToDescribe().Spread, t.Spread)
	}
	return text
}

func (d *description) given(q siteform.Question) string {
	if !d.Draft.Given(q) {
		return ""
	}
	text := q.Shown(d.Draft.Answer(q))
	if d.Draft.Assumed(q) {
		text += wordsToDescribe().Assumed
	}
	return text
}

// ask says what is expected and what an empty line does.
func (d *description) ask() {
	if d.doubt != "" {
		return
	}
	q, w := d.question(), wordsToDescribe()
	t, typical := d.Draft.Typical(q)
	switch {
	case q.Form == siteform.More:
		d.sayf(w.Answer, q.Expected())
	case d.Draft.Given(q):
		d.sayf(w.AnswerKeep, q.Expected(), d.Draft.Answer(q))
	case typical:
		d.sayf(w.AnswerTypical, q.Expected(), q.Shown(t.Text))
	default:
		d.sayf(w.AnswerSkip, q.Expected())
	}
}

// hear does what was typed: a command, or the answer.
func (d *description) hear(typed string) {
	word, rest, _ := strings.Cut(typed, " ")
	if do, ok := describeCommands[strings.ToLower(word)]; ok && (rest == "" || strings.EqualFold(word, "go")) {
		d.doubt = ""
		do(d, strings.TrimSpace(rest))
		return
	}
	q := d.question()
	_, typical := d.Draft.Typical(q)
	switch {
	case q.Form == siteform.More:
		d.more(typed)
	case typed == "" && d.doubt != "":
		d.doubt = ""
	case typed == "" && !d.Draft.Given(q) && typical:
		d.assume()
	case typed == "":
		if !d.Draft.Given(q) {
			d.say(wordsToDescribe().LeftOpen)
		}
		d.at++
	default:
		d.answer(q, typed)
	}
}

func (d *description) answer(q siteform.Question, typed string) {
	sure := d.doubt != "" && (typed == d.doubt || strings.EqualFold(typed, "yes") || strings.EqualFold(typed, "y"))
	if sure {
		typed = d.doubt
	}
	d.doubt = ""
	would, err := d.Draft.Would(q, typed)
	switch {
	case err != nil:
		d.refuse(err)
		return
	case len(would) > 0 && !sure:
		for _, text := range would {
			d.sayf(wordsToDescribe().Check, text)
		}
		d.say(wordsToDescribe().Doubt)
		d.doubt, d.quiet = typed, true
		return
	}
	next, err := d.Draft.Put(q, typed)
	d.change(next, err, func() {
		d.sayf(wordsToDescribe().Kept, d.given(q))
		d.at++
	})
}

// refuse says what keeps something from being done, and asks again.
func (d *description) refuse(err error) {
	d.sayf(wordsToDescribe().Problem, err)
	d.quiet = true
}

// change keeps the next draft, and then says so.
func (d *description) change(next siteform.Draft, err error, then func()) {
	if err == nil && !bytes.Equal(next.Bytes(), d.Draft.Bytes()) {
		if err = d.Keep(next.Bytes()); err != nil {
			err = fmt.Errorf(wordsToDescribe().Unwritten, d.Path, err)
		}
		d.unkept = err
	}
	if err != nil {
		d.refuse(err)
		return
	}
	path := d.question().Path
	if !bytes.Equal(next.Bytes(), d.Draft.Bytes()) {
		d.past = append(d.past, d.Draft)
	}
	d.Draft, d.list = next, next.Questions()
	d.at = d.index(path)
	then()
}

func (d *description) more(typed string) {
	q := d.question()
	n, _ := d.Draft.Count(q)
	switch strings.ToLower(typed) {
	case "no", "n":
		d.at++
	case "yes", "y":
		next, err := d.Draft.Add(q)
		d.change(next, err, func() {
			d.say(wordsToDescribe().Added)
			group := q.Path + "." + strconv.Itoa(n)
			d.at = slices.IndexFunc(d.list, func(q siteform.Question) bool { return q.Group == group })
		})
	default:
		d.refuse(fmt.Errorf(wordsToDescribe().YesOrNo, typed))
	}
}

func (d *description) assume() {
	q := d.question()
	next, err := d.Draft.Assume(q)
	d.change(next, err, func() {
		d.sayf(wordsToDescribe().Kept, d.given(q))
		d.at++
	})
}

// end says how far the description is.
func (d *description) end() {
	w := wordsToDescribe()
	d.print("")
	for _, l := range []struct {
		heading string
		list    []siteform.Question
	}{{w.Left, d.Draft.Left()}, {w.NotRight, d.Draft.AllWrong()}} {
		if len(l.list) > 0 {
			d.say(l.heading)
		}
		for _, q := range l.list {
			d.indentedf("  ", "%s, %s", q.Part, q.Title)
		}
	}
	for _, text := range d.Draft.Elsewhere() {
		d.sayf(w.Elsewhere, text)
	}
	var assumed []string
	for _, q := range d.Draft.AssumedAnswers() {
		assumed = append(assumed, q.Title)
	}
	if len(assumed) > 0 {
		d.sayf(w.AssumedAll, strings.Join(assumed, "; "))
	}
	if d.Draft.Site() == nil {
		d.sayf(w.Continue, d.Path)
		return
	}
	if d.Remarks != nil {
		for _, text := range d.Remarks(d.Draft) {
			d.sayf(w.Remark, text)
		}
	}
	d.sayf(w.Complete, d.Path)
}
