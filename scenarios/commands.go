package scenarios

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/scenarios/virtualsite"
)

// A command is what a trainee can do; words.toml says how it is typed and what
// it does.
type command func(s *Session, fields []string) ([]string, error)

var commands = map[string]command{
	"look":  (*Session).look,
	"meter": (*Session).setMeter,
	"probe": (*Session).probe,
	"zero": func(s *Session, _ []string) ([]string, error) {
		s.b.Zero()
		return []string{words().Session.Zeroed}, nil
	},
	"range":      (*Session).clampRange,
	"clamp":      (*Session).embrace,
	"light":      func(s *Session, _ []string) ([]string, error) { return s.shown(s.b.Light()) },
	"warm":       (*Session).temperature,
	"outputs":    (*Session).outputs,
	"acid":       func(s *Session, _ []string) ([]string, error) { return s.shown(s.b.Gravity()) },
	"loads":      (*Session).loads,
	"array":      (*Session).array,
	"fuse":       (*Session).fuse,
	"short":      (*Session).short,
	"shade":      (*Session).shade,
	"inverter":   (*Session).inverter,
	"charger":    (*Session).charger,
	"ask":        (*Session).ask,
	"wear":       func(s *Session, _ []string) ([]string, error) { s.b.Wear(); return []string{words().Session.Worn}, nil },
	"ready":      (*Session).ready,
	"wait":       (*Session).wait,
	"conditions": func(s *Session, _ []string) ([]string, error) { return s.conditions(), nil },
	"believe":    (*Session).believe,
	"weigh":      (*Session).weigh,
	"data":       func(s *Session, _ []string) ([]string, error) { return s.implied() },
	"hint":       func(s *Session, _ []string) ([]string, error) { return s.hint() },
	"history":    func(s *Session, _ []string) ([]string, error) { return s.history(), nil },
	"state":      func(s *Session, _ []string) ([]string, error) { return s.State(), nil },
	"answer":     func(s *Session, f []string) ([]string, error) { return s.answered(strings.Join(f, " ")) },
	"name":       (*Session).name,
	"do":         (*Session).do,
	"help":       func(*Session, []string) ([]string, error) { return help(), nil },
	"?":          func(*Session, []string) ([]string, error) { return help(), nil },
}

// Do does what was typed and gives what there is to say, line by line. An error
// says what was expected; it changes nothing.
func (s *Session) Do(typed string) ([]string, error) {
	fields := strings.Fields(plaintext.Clean(typed))
	if len(fields) == 0 {
		return nil, fmt.Errorf(words().Problem.NothingTyped, errUnknown)
	}
	word := strings.ToLower(fields[0])
	if _, err := strconv.Atoi(word); err == nil { // a number answers what is open
		switch {
		case s.question != nil:
			word, fields = "answer", append([]string{"answer"}, fields...)
		case s.Naming():
			word, fields = "do", append([]string{"do"}, fields...)
		}
	}
	c, ok := commands[word]
	switch t := words().Session; {
	case !ok:
		return nil, fmt.Errorf(words().Problem.NoCommand, errUnknown, fields[0])
	case s.Ended():
		return []string{t.IsOver}, nil
	case s.question != nil && word != "answer" && word != "help" && word != "?":
		return append([]string{t.AnswerFirst}, s.question.lines()...), nil
	}
	before, readings := len(s.b.Breaches()), s.measured()
	lines, err := c(s, fields[1:])
	if err != nil {
		return nil, err
	}
	for _, b := range s.b.Breaches()[before:] {
		if s.Ended() { // the debrief has told it
			break
		}
		lines = append(lines, fmt.Sprintf(words().Session.Unsafe, b.Title, b.Text))
	}
	if s.measured()/askEvery > readings/askEvery && !s.Ended() && !s.guided {
		q, err := s.openQuestion()
		if err != nil {
			return nil, err
		}
		lines = append(lines, q...)
	}
	return lines, nil
}

func help() []string {
	t := words()
	lines := []string{t.Session.Commands}
	for _, h := range t.Help {
		lines = append(lines, fmt.Sprintf("  %s: %s", h.Type, h.Does))
	}
	return lines
}

// shown says what a display shows and keeps it.
func (s *Session) shown(d virtualsite.Display) ([]string, error) {
	s.take(d)
	lines := []string{fmt.Sprintf(words().Session.Shows, d.Text)}
	if d.Note != "" {
		lines = append(lines, d.Note)
	}
	return lines, nil
}

// oneOf finds a word among those known, by its whole or by a beginning that no
// other has.
func oneOf[T ~string](typed string, known []T) (T, error) {
	var like []T
	for _, k := range known {
		if strings.EqualFold(typed, string(k)) {
			return k, nil
		}
		if len(typed) < len(k) && strings.EqualFold(typed, string(k[:len(typed)])) {
			like = append(like, k)
		}
	}
	if len(like) == 1 && typed != "" {
		return like[0], nil
	}
	list := make([]string, len(known))
	for i, k := range known {
		list[i] = string(k)
	}
	return "", fmt.Errorf(words().Problem.OneOf, errUnknown, typed, strings.Join(list, ", "))
}

// arg is the i-th word typed, "" where there is none.
func arg(fields []string, i int) string {
	if i < len(fields) {
		return fields[i]
	}
	return ""
}

func (s *Session) look(fields []string) ([]string, error) {
	place, err := oneOf(arg(fields, 0), virtualsite.Places)
	if err != nil {
		return nil, err
	}
	lines, looks := s.b.Look(place)
	s.note(looks)
	return lines, nil
}

// note takes what was seen or told, but for what is known already.
func (s *Session) note(looks []virtualsite.Display) {
	for _, d := range looks {
		if len(s.events) > 0 && d.Word != "" && s.data.Words[d.Reading] == d.Word {
			continue // seen before
		}
		s.take(d)
	}
}

var functionWords = []string{"dc-volts", "ac-volts", "ohms", "dc-amperes"}

func (s *Session) setMeter(fields []string) ([]string, error) {
	m := s.b.Meter()
	word, err := oneOf(arg(fields, 0), functionWords)
	if err != nil {
		return nil, err
	}
	m.Function = virtualsite.Functions[slices.Index(functionWords, word)]
	if text := arg(fields, 1); text != "" {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil || !slices.Contains(virtualsite.Ranges, x) {
			return nil, fmt.Errorf(words().Problem.MeterRange, errUnknown, text)
		}
		m.Range = x
	}
	if text := arg(fields, 2); text != "" {
		socket, err := oneOf(text, []virtualsite.Socket{virtualsite.VoltSocket, virtualsite.AmpSocket})
		if err != nil {
			return nil, err
		}
		m.Socket = socket
	}
	s.b.SetMeter(m)
	return []string{s.meterText()}, nil
}

func (s *Session) meterText() string {
	m := s.b.Meter()
	function := string(m.Function)
	if m.Function == virtualsite.DCVolts || m.Function == virtualsite.ACVolts {
		function = fmt.Sprintf(words().Session.MeterRange, m.Function, m.Range)
	}
	return fmt.Sprintf(words().Session.Meter, function, m.Socket)
}

func (s *Session) probe(fields []string) ([]string, error) {
	red, black := arg(fields, 0), arg(fields, 1)
	if black == "" && red != "" { // a pair by its name
		red, black = red+"+", red+"-"
	}
	d, err := s.b.Probe(red, black)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errUnknown, err)
	}
	return s.shown(d)
}

func (s *Session) clampRange(fields []string) ([]string, error) {
	x, err := strconv.ParseFloat(arg(fields, 0), 64)
	if err != nil || !slices.Contains(virtualsite.ClampRanges, x) {
		return nil, fmt.Errorf(words().Problem.ClampRange, errUnknown, arg(fields, 0))
	}
	s.b.SetClamp(x)
	return []string{fmt.Sprintf(words().Session.ClampRange, x)}, nil
}

func (s *Session) embrace(fields []string) ([]string, error) {
	turned := false
	switch arg(fields, 1) {
	case "":
	case "turned":
		turned = true
	default:
		return nil, fmt.Errorf(words().Problem.Turned, errUnknown, fields[1])
	}
	d, err := s.b.Embrace(arg(fields, 0), turned)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", errUnknown, err)
	}
	return s.shown(d)
}

func (s *Session) temperature(fields []string) ([]string, error) {
	spot, err := oneOf(arg(fields, 0), virtualsite.Spots)
	if err != nil {
		return nil, err
	}
	return s.shown(s.b.Temperature(spot))
}

func (s *Session) loads(fields []string) ([]string, error) {
	all := s.sc.Site.Loads
	var on []string
	switch arg(fields, 0) {
	case "":
		return nil, fmt.Errorf(words().Problem.Loads, errUnknown)
	case "as-found":
		on = s.b.LoadsAsFound()
	case "none":
	case "all":
		for _, l := range all {
			on = append(on, l.Label)
		}
	default:
		for _, f := range fields {
			n, err := strconv.Atoi(f)
			if err != nil || n < 1 || n > len(all) {
				return nil, fmt.Errorf(words().Problem.NoLoad, errUnknown, f, len(all))
			}
			if label := all[n-1].Label; !slices.Contains(on, label) {
				on = append(on, label)
			}
		}
	}
	s.b.SwitchLoads(on)
	return s.moved([]string{s.loadsText()}), nil
}

// moved says that an earlier moment is over where it is.
func (s *Session) moved(lines []string) []string {
	if s.data.renew(s.b) {
		lines = append(lines, words().Session.NewMoment)
	}
	return lines
}

func (s *Session) loadsText() string {
	on := s.b.LoadsOn()
	if len(on) == 0 {
		return words().Session.LoadsOff
	}
	return fmt.Sprintf(words().Session.LoadsOn, plaintext.Clean(strings.Join(on, ", ")))
}

func (s *Session) array(fields []string) ([]string, error) {
	word, err := oneOf(arg(fields, 0), []string{"open", "close"})
	if err != nil {
		return nil, err
	}
	s.b.SwitchArray(word == "open")
	return s.moved(s.openText()), nil
}

func (s *Session) fuse(fields []string) ([]string, error) {
	fuses := s.b.Fuses()
	if len(fuses) == 0 {
		return nil, fmt.Errorf(words().Problem.NoFuse, errUnknown)
	}
	f, err := oneOf(arg(fields, 0), fuses)
	if err != nil {
		return nil, err
	}
	word, err := oneOf(arg(fields, 1), []string{"out", "in"})
	if err != nil {
		return nil, err
	}
	s.b.PullFuse(f, word == "out")
	return s.moved(s.openText()), nil
}

func (s *Session) short(fields []string) ([]string, error) {
	word, err := oneOf(arg(fields, 0), []string{"on", "off"})
	if err != nil {
		return nil, err
	}
	s.b.Short(word == "on")
	return s.openText(), nil
}

// ready makes something ready before the work.
func (s *Session) ready(fields []string) ([]string, error) {
	r, err := oneOf(arg(fields, 0), virtualsite.Readies)
	if err != nil {
		return nil, err
	}
	return []string{s.b.Prepare(r)}, nil
}

// longest wait at once [min].
const longest = 24 * 60

func (s *Session) wait(fields []string) ([]string, error) {
	n, err := strconv.Atoi(arg(fields, 0))
	if err != nil || n < 1 || n > longest {
		return nil, fmt.Errorf(words().Problem.Minutes, errUnknown, arg(fields, 0), longest)
	}
	s.b.Wait(time.Duration(n) * time.Minute)
	return s.moved([]string{s.clock()}), nil
}

func (s *Session) clock() string {
	return fmt.Sprintf(words().Session.Clock, s.b.Now().Format("15:04"))
}

// openText says what is open.
func (s *Session) openText() []string {
	t, o := words().Session, s.b.State()
	var list []string
	for _, x := range []struct {
		on   bool
		text string
	}{{o.Array, t.ArrayOpen}, {o.Shorted, t.ArrayShorted}, {o.ArrayFuse, t.ArrayFuse}, {o.BatteryFuse, t.BatteryFuse}, {o.LoadFuse, t.LoadFuse}} {
		if x.on {
			list = append(list, x.text)
		}
	}
	if o.ByHand > 0 {
		list = append(list, fmt.Sprintf(t.ByHand, o.ByHand))
	}
	if list == nil {
		return []string{t.NothingOpen}
	}
	return []string{fmt.Sprintf(t.Open, strings.Join(list, ", "))}
}

// State says how meters, switches and clock stand.
func (s *Session) State() []string {
	t := words().Session
	lines := append([]string{s.clock(), s.meterText()}, fmt.Sprintf(t.ClampRange, s.b.Clamp().Range), s.loadsText())
	lines = append(lines, s.partsText()...)
	lines = append(lines, s.openText()...)
	if m := s.b.RestMinutes(); m > 0 {
		lines = append(lines, fmt.Sprintf(t.Resting, m))
	}
	return lines
}

// conditions lists what it can be at this site, numbered.
func (s *Session) conditions() []string {
	lines := []string{words().Session.Conditions}
	for i, c := range condition.Applicable(s.sc.Site) {
		lines = append(lines, fmt.Sprintf("  %d %s: %s", i+1, c.ID, c.Title))
	}
	return lines
}

func (s *Session) history() []string {
	if len(s.events) == 0 {
		return []string{words().Session.NothingRead}
	}
	var lines []string
	for i, e := range s.events {
		lines = append(lines, fmt.Sprintf("  %d %s  %s: %s", i+1, e.at.Format("15:04"), plaintext.Clean(e.title), plaintext.Clean(e.display.Text)))
	}
	return lines
}

// name takes what the trainee says is wrong and offers what to do about it.
func (s *Session) name(fields []string) ([]string, error) {
	if len(fields) == 0 || len(fields) > 2 {
		return nil, fmt.Errorf(words().Problem.Conditions, errUnknown)
	}
	var ids []condition.ID
	for _, f := range fields {
		id, err := s.condition(f)
		if err != nil {
			return nil, err
		}
		if slices.Contains(ids, id) {
			return nil, fmt.Errorf(words().Problem.Twice, errUnknown, id)
		}
		ids = append(ids, id)
	}
	s.named, s.actions = ids, s.offered(ids)
	return s.standing(), nil
}

// toDo offers what to do about what was named.
func (s *Session) toDo() []string {
	lines := []string{words().Session.WhatToDo}
	for i, a := range s.actions {
		lines = append(lines, fmt.Sprintf("  %d %s", i+1, a.do))
	}
	return lines
}

// A work is what is to be done about a condition.
type work struct{ key, do string }

// offered are the first actions for what was named and, among them, for what the
// readings hold likeliest besides, in the catalogue's order.
func (s *Session) offered(named []condition.ID) (list []work) {
	ids := slices.Clone(named)
	if r, err := s.current(); err == nil {
		for _, c := range r.Conditions {
			if len(ids) < len(named)+4 && !slices.Contains(ids, c.ID) {
				ids = append(ids, c.ID)
			}
		}
	}
	for _, c := range condition.All() {
		actions := condition.OfSite(c.ID, s.sc.Site).ActionsFor(s.sc.Site.Battery.Chemistry)
		if !slices.Contains(ids, c.ID) || len(actions) == 0 {
			continue
		}
		w := work{actions[0].Key(c.ID), actions[0].Do}
		if !slices.ContainsFunc(list, func(o work) bool { return o.key == w.key }) {
			list = append(list, w)
		}
	}
	return list
}

// do chooses an action and closes the case.
func (s *Session) do(fields []string) ([]string, error) {
	if s.named == nil {
		return nil, fmt.Errorf(words().Problem.NameFirst, errUnknown)
	}
	n, err := strconv.Atoi(arg(fields, 0))
	if err != nil || n < 1 || n > len(s.actions) {
		return nil, fmt.Errorf(words().Problem.Number, errUnknown, arg(fields, 0), len(s.actions))
	}
	if err := s.finish(s.actions[n-1]); err != nil {
		return nil, err
	}
	return nil, nil // the debrief is asked for
}

// Unsafe reports whether a line of [Session.Do] tells of an unsafe act.
func Unsafe(line string) bool {
	before, _, _ := strings.Cut(words().Session.Unsafe, "%s")
	return strings.HasPrefix(line, before)
}
