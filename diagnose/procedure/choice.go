package procedure

import (
	"fmt"
	"slices"
	"strings"
)

// An option is one of the choices of a step in steps.toml.
type option struct {
	Text   string   `toml:"text"`
	Good   bool     `toml:"good"`   // of a Confirm: it lets go on; of an Act: something was done
	Needs  string   `toml:"needs"`  // offered, and good, only once this confirmation is
	Skips  []string `toml:"skips"`  // steps that it leaves nothing to do for
	Danger string   `toml:"danger"` // the danger that it tells of
	Trust  float64  `toml:"trust"`  // by how much it widens the voltmeter's limits of error; 0: not at all
	Mend   string   `toml:"mend"`   // what is to be done about it
	Who    string   `toml:"who"`    // who may mend it
}

// Mending is what is to be done about something seen, by the text of its choice, and who
// may do it; "" where nothing is.
func (s Step) Mending(choice string) (do, who string) {
	o, _ := s.option(choice)
	return o.Mend, o.Who
}

// The words that answer an Act.
const (
	ActDone    = "done"
	ActNothing = "none" // there was nothing to do: no flag changes
)

// Word is what answers a Confirm or an Act by the choices made or the checks
// marked: "yes" or "no" for a Confirm, [ActDone] or [ActNothing] for an Act.
// Choices whose texts are not the step's are not good.
func (s Step) Word(labels []string) string {
	good := len(labels) > 0
	for _, l := range labels {
		o, ok := s.option(l)
		good = good && ok && o.Good
	}
	switch {
	case s.Kind == Act && good:
		return ActDone
	case s.Kind == Act:
		return ActNothing
	case good == (s.Good == "yes"):
		return "yes"
	default:
		return "no"
	}
}

// option finds the choice or the check with that text. A check is good.
func (s Step) option(text string) (option, bool) {
	if slices.Contains(s.Checks, text) {
		return option{Text: text, Good: true}, true
	}
	i := slices.IndexFunc(s.options, func(o option) bool { return o.Text == text })
	if i < 0 {
		return option{}, false
	}
	return s.options[i], true
}

// Offering is s with these choices after its own; each says that something was
// done.
func (s Step) Offering(done ...string) Step {
	s.Choices, s.options = slices.Clone(s.Choices), slices.Clone(s.options)
	for _, text := range done {
		s.Choices, s.options = append(s.Choices, text), append(s.options, option{Text: text, Good: true})
	}
	return s
}

// card is the step that shows what to do now about the danger that ends the measuring.
func (p *Procedure) card(st State, s Step) Step {
	b := p.emergency(st)
	if b < 0 {
		return s
	}
	s.Title = p.dangers[b].Title
	var lines []string
	for i, text := range p.dangers[b].Card {
		lines = append(lines, fmt.Sprintf("%d. %s", i+1, text))
	}
	s.Do = strings.Join(lines, " ")
	return s
}

// Offer is s with only the choices that the state permits: that a clamp shows
// no current cannot be chosen before the clamp was zeroed.
func (p *Procedure) Offer(st State, s Step) Step {
	if i, ok := p.index[s.ID]; ok && p.rules[i].when == emergency {
		return p.card(st, s)
	}
	if !slices.ContainsFunc(s.options, func(o option) bool { return o.Needs != "" }) {
		return s
	}
	s.Choices = nil
	for _, o := range s.options {
		if o.Needs == "" || st.Mark(o.Needs) == Good {
			s.Choices = append(s.Choices, o.Text)
		}
	}
	return s
}

// Trust is by how much an answer widens the voltmeter's limits of error, 1 for not at
// all: a meter that could not be proven may be somewhat off.
func (p *Procedure) Trust(step string, labels []string) float64 {
	by := 1.0
	s, ok := p.Step(step)
	for _, l := range labels {
		if o, known := s.option(l); ok && known {
			by = max(by, o.Trust)
		}
	}
	return by
}
