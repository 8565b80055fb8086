package plain

import (
	"fmt"

	"ampwalk/diagnose/field/siteform"
)

// describeCommands are what may be typed in place of an answer; describe.toml says
// what each does.
var describeCommands map[string]func(d *description, text string)

func init() { // help lists them
	asked := func(do func(*siteform.Talk) error) func(*description, string) {
		return func(d *description, _ string) { d.after(do(d.talk)) }
	}
	moved := func(do func(t *siteform.Talk, text string) error) func(*description, string) {
		return func(d *description, text string) {
			if err := do(d.talk, text); err != nil {
				d.after(err)
			}
		}
	}
	describeCommands = map[string]func(*description, string){
		"back":    moved(func(t *siteform.Talk, _ string) error { return t.Back() }),
		"next":    moved(func(t *siteform.Talk, _ string) error { t.Next(); return nil }),
		"assume":  asked((*siteform.Talk).Assume),
		"checked": asked((*siteform.Talk).Checked),
		"open":    asked((*siteform.Talk).Clear),
		"remove":  asked((*siteform.Talk).Remove),
		"undo":    asked((*siteform.Talk).Undo),
		"more":    moved(func(t *siteform.Talk, _ string) error { return t.Details() }),
		"list":    func(d *description, _ string) { d.all(); d.quiet = true },
		"go":      moved((*siteform.Talk).GoNumber),
		"show":    func(*description, string) {},
		"done":    func(d *description, _ string) { d.left = true },
		"help":    func(d *description, _ string) { d.help() },
		"?":       func(d *description, _ string) { d.help() },
	}
}

// all lists the questions with their answers.
func (d *description) all() {
	w, part := wordsToDescribe(), ""
	for i, q := range d.talk.Questions() {
		if q.Part != part {
			part = q.Part
			d.sayf(w.Part, part)
		}
		d.indentedf("  ", w.Item, i+1, q.Title, d.state(q))
	}
}

func (d *description) state(q siteform.Question) string {
	w := wordsToDescribe()
	text := d.talk.Given(q)
	n, some := d.talk.Draft().Count(q)
	switch {
	case some:
		return fmt.Sprintf(w.Count, n)
	case q.Form == siteform.More, text == "" && q.Optional:
		return w.None
	case text == "":
		return w.Nothing
	case len(d.talk.Draft().Wrong(q)) > 0:
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
