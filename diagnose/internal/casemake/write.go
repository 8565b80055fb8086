package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// siteTOML is the site file.
func siteTOML(s *siteFile) ([]byte, error) { return toml.Marshal(s) }

// A page writes tables of a readings file; a table without a line is left out.
type page struct {
	strings.Builder
	table string
}

func (p *page) line(key, value string) {
	if p.table != "" {
		fmt.Fprintf(p, "\n[%s]\n", p.table)
		p.table = ""
	}
	fmt.Fprintf(p, "%s = %s\n", key, value)
}

func (p *page) quoted(key, value string) { p.line(key, strconv.Quote(value)) }

func decimal(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func decimals(vs []float64) string {
	var words []string
	for _, v := range vs {
		words = append(words, decimal(v))
	}
	return "[" + strings.Join(words, ", ") + "]"
}

func quotes(list []string) string {
	var words []string
	for _, w := range list {
		words = append(words, strconv.Quote(w))
	}
	return "[" + strings.Join(words, ", ") + "]"
}

// readingsTOML is the readings file.
func (n *notebook) readingsTOML() []byte {
	p := &page{}
	p.line("taken_at", n.at.Format("2006-01-02T15:04:05-07:00"))
	p.line("loads_on", quotes(n.loadsOn))
	t := &n.story
	if t.visit != "" {
		p.quoted("visit", t.visit)
	}
	if t.told {
		p.line("complaint", quotes(t.complaint))
		p.line("changed", quotes(t.changed))
	}
	for _, name := range []string{voltmeter, ampClamp, lightMeter, thermometer, hydrometer} {
		p.table = "instrument." + name
		i := n.instruments[name]
		if i.PlusMinus > 0 {
			p.line("plus_minus", decimal(i.PlusMinus))
			continue
		}
		p.line("percent", decimal(i.Percent))
		p.line("digits", decimal(i.Digits))
		p.line("resolution", decimal(i.Resolution))
	}
	for _, section := range []string{asFound, loadsOff, isolated, isRested, stepTaken} {
		n.section(p, section)
	}
	return []byte(p.String())
}

// section writes one table of readings.
func (n *notebook) section(p *page, section string) {
	p.table = section
	if section == asFound {
		for _, k := range []string{"sky", "shade", "glass"} {
			if w, ok := n.words[k]; ok {
				p.quoted(k, w)
			}
		}
	}
	if section == isRested && n.minutes > 0 {
		p.line("minutes", strconv.Itoa(n.minutes))
	}
	for _, s := range specs {
		if v, ok := n.numbers[s.key]; ok && s.section == section {
			p.line(s.name, decimal(v))
		}
	}
	list := func(name, key string) {
		if vs, ok := n.lists[key]; ok {
			p.line(name, decimals(vs))
		}
	}
	switch section {
	case asFound:
		list("string_a", "string_a")
		n.storyLines(p)
		n.lampLines(p, "as_found.lamps", n.lamps)
		n.lampLines(p, "as_found.inverter_lamps", n.invLamps)
	case isRested:
		list("block_v", "block_v")
		list("gravity", "gravity")
	case stepTaken:
		list("block_v", "load_step.block_v")
	}
}

func (n *notebook) storyLines(p *page) {
	t := &n.story
	if t.chargerOn != nil {
		p.line("charger_on", strconv.FormatBool(*t.chargerOn))
	}
	if t.alarm != nil {
		p.line("pack_percent", strconv.Itoa(t.percent))
		p.line("pack_alarm", strconv.FormatBool(*t.alarm))
	}
	if t.looked {
		p.line("not_working", quotes(t.notWorking))
		p.line("seen", quotes(t.seen))
	}
}

func (n *notebook) lampLines(p *page, table string, looks map[string]string) {
	p.table = table
	for _, label := range slices.Sorted(maps.Keys(looks)) {
		p.quoted(strconv.Quote(label), looks[label])
	}
	p.table = ""
}

// A truth is truth.json.
type truth struct {
	Conditions []string `json:"conditions"`
	Suspect    []string `json:"suspect"`
	State      state    `json:"state"`
	Note       string   `json:"note"`
}

type state struct {
	Daylight    bool    `json:"daylight"`
	Charging    bool    `json:"charging"`
	Regulating  bool    `json:"regulating"`
	LoadsCut    *bool   `json:"loads_cut"` // null: the output is off for another reason
	ChargeLevel float64 `json:"charge_level"`
	SpareW      float64 `json:"spare_w"`
}

// truthJSON is what was really the matter.
func (n *notebook) truthJSON(f *found, lucky bool) ([]byte, error) {
	w := n.w
	t := truth{Conditions: w.conditions, Suspect: append([]string{}, n.suspect...)}
	if len(t.Conditions) == 0 {
		t.Conditions = []string{"sound"}
	}
	t.State = state{
		Daylight: w.light >= daylightFrom, Charging: f.charging, Regulating: f.regulating,
		ChargeLevel: round(clamp(w.store.soc, 0, 1), 4), SpareW: round(f.spareW, 1),
	}
	if b := (&bench{world: w}); !w.fault.dead && !w.fault.loadOff && b.hasBattery() {
		t.State.LoadsCut = &f.cut
	}
	words := []string{strings.Join(t.Conditions, "+"), w.kind, map[bool]string{true: "lucky", false: "unlucky"}[lucky], "stage " + w.stage}
	words = append(words, w.fault.notes...)
	if n.slip != "" {
		words = append(words, "wrong reading: "+n.slip)
	}
	t.Note = strings.Join(words, "; ")
	data, err := json.Marshal(t)
	return append(data, '\n'), err
}
