package procedure

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ampwalk/diagnose/physics/reading"
)

// A Choice is one of the answers that a step offers, one of its checks, or a reason why
// it cannot be done.
type Choice struct {
	ID   string `toml:"id"`   // what is kept and gone by; of a word or a name of the site, that itself
	Text string `toml:"text"` // for people
}

// Choices are those of one step, in the order shown.
type Choices []Choice

// Texts are what people read.
func (c Choices) Texts() []string {
	var list []string
	for _, x := range c {
		list = append(list, x.Text)
	}
	return list
}

// IDs are what is kept.
func (c Choices) IDs() []string {
	var list []string
	for _, x := range c {
		list = append(list, x.ID)
	}
	return list
}

// With is the choice of that id.
func (c Choices) With(id string) (Choice, bool) {
	i := slices.IndexFunc(c, func(x Choice) bool { return x.ID == id })
	if i < 0 {
		return Choice{}, false
	}
	return c[i], true
}

// Typed is the choice that a person means who types its number or all of its text.
func (c Choices) Typed(text string) (Choice, bool) {
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= len(c) {
		return c[n-1], true
	}
	if i := slices.Index(c.Texts(), text); i >= 0 {
		return c[i], true
	}
	return Choice{}, false
}

// Named are choices that are their own ids: the words of a reading, the loads and the
// looks of lamps as the site's file names them.
func Named(names ...string) Choices {
	var list Choices
	for _, n := range names {
		list = append(list, Choice{ID: n, Text: n})
	}
	return list
}

// NoInstrument is the id of the reason that there is none for a reading. Readings that
// need the same one are then not asked for.
const NoInstrument = "no-instrument"

// An option is one of the choices of a step in steps.toml.
type option struct {
	ID     string   `toml:"id"`
	Text   string   `toml:"text"`
	Good   bool     `toml:"good"`   // of a Confirm: it lets go on; of an Act: something was done
	Needs  string   `toml:"needs"`  // offered, and good, only once this confirmation is
	Skips  []string `toml:"skips"`  // steps that it leaves nothing to do for
	Danger string   `toml:"danger"` // the danger that it tells of
	Trust  float64  `toml:"trust"`  // by how much it widens the voltmeter's limits of error; 0: not at all
	Repair string   `toml:"mend"`   // what is to be done about it
	Who    string   `toml:"who"`    // who may mend it
	Sign   string   `toml:"sign"`   // its id in the reading "seen"

	Concerns []reading.Key `toml:"concerns"` // readings that a call-out for it takes first
}

func (o option) choice() Choice { return Choice{o.ID, o.Text} }

// Mending is what is to be done about something seen, by the id of its choice, and who
// may do it; "" where nothing is.
func (s Step) RepairOf(id string) (do, who string) {
	o, _ := s.option(id)
	return o.Repair, o.Who
}

// ChoiceText is what an id of the reading k is called; of a word or a label, that itself.
func ChoiceText(k reading.Key, id string) string {
	for _, s := range embedded().Steps {
		if s.Reading != k && s.Notes != k && k != reading.Seen {
			continue
		}
		for _, o := range s.Choices {
			if k == reading.Seen && o.Sign == id || k != reading.Seen && o.ID == id {
				if text, err := (facts{Flooded: true}).write(o.Text); err == nil {
					return text
				}
			}
		}
	}
	return id
}

// Concerned are the readings that a call-out takes first for the complaints of those ids.
func (s Step) Concerned(complaints []string) (keys []reading.Key) {
	for _, id := range complaints {
		o, _ := s.option(id)
		keys = append(keys, o.Concerns...)
	}
	return keys
}

// Signs are the ids in the reading "seen" that the step looks for, and those of the choices
// made.
func (s Step) Signs(chosen []string) (looked, seen []string) {
	for _, o := range s.options {
		if o.Sign == "" {
			continue
		}
		looked = append(looked, o.Sign)
		if slices.Contains(chosen, o.ID) {
			seen = append(seen, o.Sign)
		}
	}
	return looked, seen
}

// The words that answer an Act.
const (
	ActDone    = "done"
	ActNothing = "none" // there was nothing to do: no flag changes
)

// Word is what answers a Confirm or an Act by the ids of the choices made or the checks
// marked: "yes" or "no" for a Confirm, [ActDone] or [ActNothing] for an Act.
// Choices that are not the step's are not good.
func (s Step) Word(chosen []string) string {
	good := len(chosen) > 0
	for _, id := range chosen {
		o, ok := s.option(id)
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

// option finds the choice or the check of that id. A check is good.
func (s Step) option(id string) (option, bool) {
	if c, ok := s.Checks.With(id); ok {
		return option{ID: c.ID, Text: c.Text, Good: true}, true
	}
	i := slices.IndexFunc(s.options, func(o option) bool { return o.ID == id })
	if i < 0 {
		return option{}, false
	}
	return s.options[i], true
}

// Offering is s with these choices after its own; each says that something was
// done.
func (s Step) Offering(done ...Choice) Step {
	s.Choices, s.options = slices.Clone(s.Choices), slices.Clone(s.options)
	for _, c := range done {
		s.Choices, s.options = append(s.Choices, c), append(s.options, option{ID: c.ID, Text: c.Text, Good: true})
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
			s.Choices = append(s.Choices, o.choice())
		}
	}
	return s
}

// Trust is by how much an answer, with the ids of its choices, widens the voltmeter's limits of error, 1 for not at
// all: a meter that could not be proven may be somewhat off.
func (p *Procedure) Trust(step string, chosen []string) float64 {
	by := 1.0
	s, ok := p.Step(step)
	for _, id := range chosen {
		if o, known := s.option(id); ok && known {
			by = max(by, o.Trust)
		}
	}
	return by
}
