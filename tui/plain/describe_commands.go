package plain

import (
	"errors"
	"fmt"
	"strconv"

	"ampwalk/diagnose/field/siteform"
)

// describeCommands are what may be typed in place of an answer; describe.toml says
// what each does.
var describeCommands map[string]func(d *description, text string)

func init() { // help lists them
	describeCommands = map[string]func(*description, string){
		"back":    func(d *description, _ string) { d.back() },
		"next":    func(d *description, _ string) { d.at++ },
		"assume":  func(d *description, _ string) { d.assume() },
		"checked": func(d *description, _ string) { d.checked() },
		"open":    func(d *description, _ string) { d.open() },
		"remove":  func(d *description, _ string) { d.remove() },
		"undo":    func(d *description, _ string) { d.undo() },
		"list":    func(d *description, _ string) { d.all(); d.quiet = true },
		"go":      (*description).goTo,
		"show":    func(*description, string) {},
		"done":    func(d *description, _ string) { d.left = true },
		"help":    func(d *description, _ string) { d.help() },
		"?":       func(d *description, _ string) { d.help() },
	}
}

func (d *description) back() {
	if d.at == 0 {
		d.say(wordsToDescribe().First)
		d.quiet = true
		return
	}
	d.at--
}

func (d *description) checked() {
	q := d.question()
	if !d.Draft.Assumed(q) {
		d.refuse(errors.New(wordsToDescribe().NotAssumed))
		return
	}
	next, err := d.Draft.Put(q, d.Draft.Answer(q))
	d.change(next, err, func() {
		d.sayf(wordsToDescribe().Kept, d.given(q))
		d.at++
	})
}

func (d *description) open() {
	next, err := d.Draft.Clear(d.question())
	d.change(next, err, func() {
		d.say(wordsToDescribe().LeftOpen)
		d.at++
	})
}

func (d *description) remove() {
	q := d.question()
	if q.Group == "" {
		d.say(wordsToDescribe().NoRemove)
		d.quiet = true
		return
	}
	at := d.at
	next, err := d.Draft.Remove(q)
	d.change(next, err, func() {
		d.say(wordsToDescribe().Removed)
		d.at = min(at, len(d.list)-1)
	})
}

func (d *description) undo() {
	n := len(d.past) - 1
	if n < 0 {
		d.say(wordsToDescribe().NoUndo)
		d.quiet = true
		return
	}
	before := d.past[n]
	d.change(before, nil, func() {
		d.past = d.past[:n]
		d.say(wordsToDescribe().Undone)
	})
}

func (d *description) goTo(number string) {
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 || n > len(d.list) {
		d.refuse(fmt.Errorf(wordsToDescribe().NoNumber, number))
		return
	}
	d.at = n - 1
}

// all lists the questions with their answers.
func (d *description) all() {
	w, part := wordsToDescribe(), ""
	for i, q := range d.list {
		if q.Part != part {
			part = q.Part
			d.sayf(w.Part, part)
		}
		d.indentedf("  ", w.Item, i+1, q.Title, d.state(q))
	}
}

func (d *description) state(q siteform.Question) string {
	w := wordsToDescribe()
	text := d.given(q)
	n, some := d.Draft.Count(q)
	switch {
	case some:
		return fmt.Sprintf(w.Count, n)
	case q.Form == siteform.More, text == "" && q.Optional:
		return w.None
	case text == "":
		return w.Nothing
	case len(d.Draft.Wrong(q)) > 0:
		return text + w.Wrong
	}
	return text
}

func (d *description) help() {
	w := wordsToDescribe()
	d.say(w.Commands)
	for _, h := range w.Help {
		d.indentedf("  ", w.Command, h.Name, h.Does)
	}
	d.quiet = true
}
