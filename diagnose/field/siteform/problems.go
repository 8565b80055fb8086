package siteform

import (
	"slices"
	"strings"

	"ampwalk/diagnose/base/tomlfile"
)

// Wrong are the sentences on what is wrong with the answer to q; that there is
// none yet is not among them.
func (d Draft) Wrong(q Question) []string {
	var list []string
	if q.together() && len(d.problems) > 0 {
		for _, w := range d.wrongs() {
			if q.owns(w.path) {
				list = append(list, w.title+": "+w.text)
			}
		}
		return list
	}
	for _, p := range d.problems {
		if d.concerns(p, q) && !p.Missing {
			list = append(list, inWords(p.Msg))
		}
	}
	return list
}

// concerns reports whether a problem is one of the answer to q: of its key, at
// its line, since several tables have the same keys.
func (d Draft) concerns(p tomlfile.Problem, q Question) bool {
	return q.Form != More && p.Key == bare(q.Path) && p.Line == d.text.Line(q.Path)
}

// Would are the sentences on what would be wrong because of an answer to q: with
// it, or with others that it does not agree with. Those others are named.
func (d Draft) Would(q Question, typed string) ([]string, error) {
	next, err := d.Put(q, typed)
	if err != nil {
		return nil, err
	}
	without, err := d.Clear(q)
	if err != nil {
		without = Draft{}
	}
	before := without.wrongs()
	var list []string
	for _, w := range next.wrongs() {
		if !q.owns(w.path) && slices.Contains(before, w) {
			continue
		}
		text := w.text
		if w.path != q.Path {
			text = w.title + ": " + text
		}
		list = append(list, text)
	}
	return list, nil
}

// A wrong is a problem with the question it belongs to.
type wrong struct{ path, title, text string }

func (d Draft) wrongs() []wrong {
	if len(d.problems) == 0 {
		return nil
	}
	var list []wrong
	for _, q := range d.Questions() {
		for _, text := range d.Wrong(q) {
			list = append(list, wrong{q.Path, q.Title, text})
		}
	}
	return list
}

// AllWrong are the questions whose answers are wrong or do not agree with others.
func (d Draft) AllWrong() []Question {
	if len(d.problems) == 0 {
		return nil
	}
	return slices.DeleteFunc(d.Questions(), func(q Question) bool { return len(d.Wrong(q)) == 0 })
}

// Elsewhere are problems that no question can mend: keys that nobody knows, and
// tables written as something else.
func (d Draft) Elsewhere() []string {
	questions := d.Questions()
	var list []string
	for _, p := range d.problems {
		asked := slices.ContainsFunc(questions, func(q Question) bool {
			return d.concerns(p, q) || q.Form == More && p.Missing && bare(q.Path) == p.Key
		})
		if !asked && !(p.Missing && d.isTable(p.Key, questions)) {
			list = append(list, p.Key+": "+p.Msg)
		}
	}
	return list
}

// isTable reports whether key is a table that an answer would begin.
func (d Draft) isTable(key string, questions []Question) bool {
	return slices.ContainsFunc(questions, func(q Question) bool { return strings.HasPrefix(q.Path, key+".") })
}

// inWords names the figures of a message as people do.
func inWords(msg string) string {
	for _, p := range parts() {
		for _, a := range p.Ask {
			if _, name, ok := cutLast(a.Key); ok && a.Short != "" {
				msg = strings.ReplaceAll(msg, name, a.Short)
			}
		}
	}
	return msg
}
