package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// An outlookAsked is what an outlook is wanted for, as typed.
type outlookAsked struct {
	site, readings, visit, data string

	without, noon, evening      []string
	modules, capacity, cable    string
	clean, repaired, newBattery bool
}

// outlook tells how much power there is and until when.
func (a *app) outlook(f *pflag.FlagSet) action {
	var q outlookAsked
	f.StringVar(&q.site, "site", "", "")
	f.StringVar(&q.readings, "readings", "", "")
	f.StringVar(&q.visit, "visit", "", "")
	format := choose(f, "format", "json", "text")
	f.StringArrayVar(&q.without, "without", nil, "")
	f.StringArrayVar(&q.noon, "noon", nil, "")
	f.StringArrayVar(&q.evening, "evening", nil, "")
	f.StringVar(&q.modules, "modules", "", "")
	f.StringVar(&q.capacity, "capacity", "", "")
	f.StringVar(&q.cable, "cable", "", "")
	f.BoolVar(&q.newBattery, "new-battery", false, "")
	f.BoolVar(&q.clean, "clean", false, "")
	f.BoolVar(&q.repaired, "repaired", false, "")
	f.StringVar(&q.data, "data", "", "")
	return func(c *cobra.Command, _ []string) error {
		switch {
		case q.site == "" && q.visit == "":
			return a.wrong(c, "%s", words().Wrong.NoSite)
		case q.readings != "" && q.visit != "":
			return a.wrong(c, "%s", words().Wrong.ReadingsAndVisit)
		}
		in, err := a.knownOf(q)
		if err != nil {
			return err
		}
		change, err := q.change(in.Site)
		if err != nil {
			return a.wrong(c, "%v", err)
		}
		o, err := outlookFrom(in, a.now(), change)
		if err != nil {
			return err
		}
		text := []byte(summary.OfOutlook(in.Site, o).Text())
		if *format == "json" {
			if text, err = o.JSON(); err != nil {
				return err
			}
		}
		_, err = a.stdout.Write(text)
		return err
	}
}

// outlookFrom is the outlook from the time of the readings on, or from now where there is none.
func outlookFrom(in belief.Input, now time.Time, change outlook.Change) (*outlook.Outlook, error) {
	if in.Readings.TakenAt.IsZero() {
		known := *in.Readings
		known.TakenAt = now
		in.Readings = &known
	}
	draws, err := belief.Draws(in, outlook.DrawsOf)
	if err != nil {
		return nil, err
	}
	return outlook.Look(in, draws, in.Readings.TakenAt, change), nil
}

// outlookOf is the outlook of a visit by its latest readings.
func (a *app) outlookOf(v *visiting.Visit) (*outlook.Outlook, error) {
	return outlookFrom(v.Input(), a.now(), outlook.Change{})
}

// knownOf is what is known of a site: its file, and the readings of a file or a visit.
func (a *app) knownOf(q outlookAsked) (in belief.Input, err error) {
	in.Readings = reading.NewSet()
	if q.visit != "" {
		name, _, err := a.visitFile("outlook", q.data, q.visit)
		if err != nil {
			return in, err
		}
		v, err := a.recorded(name)
		if err != nil {
			return in, err
		}
		in = v.Input()
	}
	if q.site == "" {
		return in, nil
	}
	if in.Site, _, err = readSite(q.site); err != nil || q.readings == "" {
		return in, err
	}
	data, err := read(q.readings)
	if err != nil {
		return in, err
	}
	if in.Readings, err = reading.Parse(q.readings, data, in.Site); err != nil {
		return in, inputError{err}
	}
	return in, nil
}

// change is what the flags say is to be tried.
func (q outlookAsked) change(s *site.Site) (ch outlook.Change, err error) {
	for _, list := range []struct {
		flag  string
		typed []string
		into  *[]string
	}{{"without", q.without, &ch.Without}, {"noon", q.noon, &ch.AtNoon}, {"evening", q.evening, &ch.InEvening}} {
		for _, label := range list.typed {
			if !slices.ContainsFunc(s.Loads, func(l site.Load) bool { return l.Label == label }) {
				return ch, fmt.Errorf(words().Wrong.NoLoad, list.flag, label, loadLabels(s))
			}
			*list.into = append(*list.into, label)
		}
	}
	if ch.Strings, err = q.strings(s); err != nil {
		return ch, err
	}
	if ch.CapacityAh, err = positive("capacity", q.capacity, "Ah", 20000); err != nil {
		return ch, err
	}
	if ch.ArrayMM2, err = positive("cable", q.cable, "mm2", 400); err != nil {
		return ch, err
	}
	ch.Clean, ch.Repaired, ch.NewBattery = q.clean, q.repaired, q.newBattery
	return ch, nil
}

// strings are those that so many modules more make.
func (q outlookAsked) strings(s *site.Site) (int, error) {
	if q.modules == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(q.modules)
	per := s.Array.Series
	least := -(s.Array.Strings - 1) * per
	const most = 100
	if err != nil || n < least || n > most || n%per != 0 {
		if per > 1 {
			return 0, fmt.Errorf(words().Wrong.ModulesBy, q.modules, least, most, per, per)
		}
		return 0, fmt.Errorf(words().Wrong.Modules, q.modules, least, most, per)
	}
	return n / per, nil
}

// positive reads a figure that may be left out.
func positive(flag, typed, unit string, most float64) (float64, error) {
	if typed == "" {
		return 0, nil
	}
	x, err := strconv.ParseFloat(strings.Replace(typed, ",", ".", 1), 64)
	if err != nil || !(x > 0 && x <= most) {
		return 0, fmt.Errorf(words().Wrong.Positive, flag, typed, most, unit)
	}
	return x, nil
}

// loadLabels are the loads that can be named.
func loadLabels(s *site.Site) string {
	var list []string
	for _, l := range s.Loads {
		list = append(list, strconv.Quote(l.Label))
	}
	if list == nil {
		return words().Wrong.NoLoads
	}
	return orList(list)
}
