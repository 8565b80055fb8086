package scenarios

import (
	"fmt"
	"strconv"

	"ampwalk/scenarios/virtualsite"
)

func (s *Session) ask([]string) ([]string, error) {
	lines, told := s.b.Ask()
	s.note(told)
	return append([]string{words().Session.Asked}, lines...), nil
}

// shade holds a board over a module, or takes it away.
func (s *Session) shade(fields []string) ([]string, error) {
	n, most := 0, s.b.Modules()
	if word := arg(fields, 0); word != "off" {
		var err error
		if n, err = strconv.Atoi(word); err != nil || n < 1 || n > most {
			return nil, fmt.Errorf(words().Problem.Module, errUnknown, word, most)
		}
	}
	s.b.ShadeByHand(n)
	return s.openText(), nil
}

// outputs reads the USB meter at the outputs of a closed kit.
func (s *Session) outputs([]string) ([]string, error) {
	lines, err := s.shown(s.b.USB())
	if err != nil {
		return nil, err
	}
	more, err := s.shown(s.b.OutputPower())
	return append(lines, more...), err
}

func (s *Session) inverter(fields []string) ([]string, error) {
	return s.part(fields, s.sc.Site.Inverter != nil, (*virtualsite.Bench).SwitchInverter)
}

func (s *Session) charger(fields []string) ([]string, error) {
	return s.part(fields, s.sc.Site.Charger != nil, (*virtualsite.Bench).SwitchCharger)
}

// part switches a part of the site.
func (s *Session) part(fields []string, has bool, by func(*virtualsite.Bench, bool)) ([]string, error) {
	if !has {
		return nil, fmt.Errorf(words().Problem.NoPart, errUnknown)
	}
	word, err := oneOf(arg(fields, 0), []string{"on", "off"})
	if err != nil {
		return nil, err
	}
	by(s.b, word == "on")
	return s.moved(s.partsText()), nil
}

// partsText says how the switches of the inverter and the charger stand.
func (s *Session) partsText() (lines []string) {
	t := words().Session
	say := func(has, on bool, onText, offText string) {
		switch {
		case has && on:
			lines = append(lines, onText)
		case has:
			lines = append(lines, offText)
		}
	}
	say(s.sc.Site.Inverter != nil, s.b.InverterOn(), t.InverterOn, t.InverterOff)
	say(s.sc.Site.Charger != nil, s.b.ChargerOn(), t.ChargerOn, t.ChargerOff)
	return lines
}
