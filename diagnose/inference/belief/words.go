package belief

import (
	"math"
	"slices"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A word is one reading in words: sky, shade, glass, how a lamp looks, yes or no, or a list
// of what was noted.
type word struct {
	key    reading.Key
	lamp   *site.Lamp
	choice int      // index of what was seen; 0 of a list
	noted  []string // of a list
	list   bool     // its one chance is a weight against nothing noted
}

// observeWords makes the words of a set.
func (m *model) observeWords() {
	for _, spec := range reading.Specs {
		switch spec.Form {
		case reading.Word:
			if w, ok := m.set.Words[spec.Key]; ok && spec.Key != reading.Visit {
				m.words = append(m.words, word{key: spec.Key, choice: slices.Index(spec.Choices, w)})
			}
		case reading.YesNo:
			if w, ok := m.set.Words[spec.Key]; ok && spec.Key == reading.PackAlarm {
				m.words = append(m.words, word{key: spec.Key, choice: slices.Index(yesNo, w)})
			}
		case reading.Several:
			if noted, ok := m.set.Several[spec.Key]; ok {
				m.words = append(m.words, word{key: spec.Key, noted: noted, list: true})
			}
		}
	}
	seen := func(lamps []site.Lamp, key func(string) reading.Key) {
		for i := range lamps {
			l := &lamps[i]
			k := key(l.Label)
			if w, ok := m.set.Words[k]; ok {
				choice := slices.IndexFunc(l.Looks, func(x site.Look) bool { return x.Look == w })
				m.words = append(m.words, word{key: k, lamp: l, choice: choice})
			}
		}
	}
	seen(m.site.Controller.Lamps, reading.Lamp)
	if m.site.Inverter != nil {
		seen(m.site.Inverter.Lamps, reading.InverterLamp)
	}
}

// yesNo are the choices of what is answered with yes or no.
var yesNo = []string{"false", "true"}

// Words against the truth (judgement): eyes on the sky misjudge by a step, a
// shadow is sometimes overlooked, dust on the glass is common.
var (
	shadeSeen   = [2][]float64{{0.88, 0.08, 0.04}, {0.12, 0.58, 0.30}} // not shaded, shaded
	shadeInDark = []float64{0.5, 0.1, 0.4}
	glassSeen   = [2][]float64{{0.74, 0.22, 0.04}, {0.15, 0.45, 0.40}} // clean, soiled
)

// chances of each choice of the word, given the plant.
func (m *model) chances(w *word, h *hypothesis, out *plant.Out, p []float64) []float64 {
	p = p[:0]
	g := out.Value[plant.Irradiance]
	switch w.key {
	case reading.NotWorking:
		return append(p, m.workingWeight(w.noted, h, out))
	case reading.Seen, reading.Complaint, reading.Changed:
		var looked []string
		if w.key == reading.Seen {
			looked = m.set.Looked
		}
		return append(p, fastmath.Exp(condition.LogWeight(w.key, w.noted, looked, h.ids, m.noticed(out))))
	case reading.PackAlarm:
		alarm := 0.04
		switch {
		case h.has(condition.BatteryOff):
			alarm = 0.6
		case h.has(condition.CellShort):
			alarm = 0.4
		}
		return append(p, 1-alarm, alarm)
	case reading.Shade:
		if g < 20 {
			return append(p, shadeInDark...)
		}
		k := 0
		if h.has(condition.ArrayShaded) {
			k = 1
		}
		return append(p, shadeSeen[k]...)
	case reading.Glass:
		k := 0
		if h.has(condition.ArraySoiled) {
			k = 1
		}
		return append(p, glassSeen[k]...)
	case reading.Sky:
		return m.skyChances(g, p)
	}
	return lampChances(w.lamp, m.scale12, h, out, p)
}

// idle reports whether a condition that the plant of the last solution has is none by the
// meaning of the word (formats of conditions): a cut-off with nothing to cut, an output
// that is off where it should be, loads that draw too much while none is on, a dead
// appliance that nobody switched on or asked about.
func (e *evaluator) idle(h *hypothesis) bool {
	switch {
	case len(h.ids) == 0:
		return false
	case h.has(condition.CutOffFails) && !e.out.StaysOn,
		h.has(condition.LoadOutputOpen) && !e.out.LoadsLive && e.out.BusV < e.m.site.Controller.RestoreV-restoreStrays*e.m.scale12,
		h.has(condition.LoadOutputOpen) && e.out.Locked,
		h.has(condition.LoadExcess) && e.m.noneOn:
		return true
	}
	if k := e.out.DeadLoad; k > 0 && e.m.listed != nil && e.m.listed[k-1] == 0 {
		_, asked := e.m.set.Several[reading.NotWorking]
		return !asked
	}
	return false
}

// restoreStrays is how far the reconnect voltage may lie from the file's, at 12 V [V].
const restoreStrays = 0.3

// lnIdle is the likelihood of such a plant, as good as none.
const lnIdle = -40

// noticed is how the plant stands as people notice it.
func (m *model) noticed(out *plant.Out) []condition.PlantState {
	var states [3]condition.PlantState
	list := states[:0]
	if !out.LoadsLive {
		list = append(list, condition.NoSupply)
	}
	if out.Value[plant.PackPercent] < runDownBelow {
		list = append(list, condition.RunDown)
	}
	if out.BusV > m.site.Controller.AbsorbV+overchargedBy*m.scale12 {
		list = append(list, condition.Overcharged)
	}
	return list
}

const (
	runDownBelow  = 33  // [%]
	overchargedBy = 0.4 // above the set-point at 12 V [V]
)

// The chance that a load does not work when it is switched on, by what is so of it (judgement).
const (
	deadDead      = 0.97 // it does not work
	deadNoSupply  = 0.93 // its supply is not there
	deadWeak      = 0.3  // it is fed by far too little
	deadWorking   = 0.03
	deadOneOutput = 0.3 // it may be at the output that is dead
	deadResting   = 0.1 // it switches on and off by itself
	weakFrom      = 0.8 // of the nominal voltage
)

// workingWeight is the likelihood of a list of loads that do not work.
func (m *model) workingWeight(noted []string, h *hypothesis, out *plant.Out) float64 {
	weight := 1.0
	for i := range m.site.Loads {
		dead := m.deadChance(i, h, out)
		if slices.Contains(noted, m.site.Loads[i].Label) {
			weight *= dead
		} else {
			weight *= 1 - dead
		}
	}
	return weight
}

// deadChance is the chance that the i-th load does not work when it is switched on.
func (m *model) deadChance(i int, h *hypothesis, out *plant.Out) float64 {
	supply, end := true, out.Value[plant.PostV]
	switch from := m.site.SourceOf(m.site.Loads[i]); {
	case from == site.FromInverter: // one that was switched off is switched on for it
		supply = out.InverterRuns || !out.InverterLow && !h.has(condition.InverterOff) && out.Value[plant.InverterV] > m.site.Inverter.CutV
	case from == m.site.MainSource():
		supply, end = out.LoadsLive && !h.has(condition.LoadOpen), out.Value[plant.LoadEndV]
	}
	switch {
	case out.DeadLoad == i+1:
		return deadDead
	case !supply:
		return deadNoSupply
	case h.has(condition.LoadOutputOpen): // one of the outputs of a closed kit
		return deadOneOutput
	case end < weakFrom*m.site.NominalV:
		return deadWeak
	case m.site.Loads[i].Kind == site.Cycling:
		return deadResting
	}
	return deadWorking
}

// skyChances of dark, overcast, hazy, clear under light g.
func (m *model) skyChances(g float64, p []float64) []float64 {
	clear := m.clear
	if math.IsNaN(clear) || clear < 30 {
		clear = max(g, 300) // the clock does not help
	}
	k := g / clear
	bell := func(mid, width float64) float64 { d := (k - mid) / width; return fastmath.Exp(-0.5 * d * d) }
	dark := 1 / (1 + fastmath.Exp((g-9)/3))
	p = append(p, dark, (1-dark)*bell(0.2, 0.25), (1-dark)*bell(0.6, 0.25), (1-dark)*bell(0.95, 0.25))
	if k > 0.95 {
		p[3] = (1 - dark)
	}
	var sum float64
	for _, x := range p {
		sum += x
	}
	// Among the words of the day eyes differ; that it is dark they see.
	const misjudged, mistaken = 0.15, 0.01
	for i := range p {
		p[i] /= sum
	}
	day := 1 - p[0]
	for i := range p[1:] {
		p[1+i] = (1-misjudged)*p[1+i] + misjudged*day/3 + mistaken/4
	}
	p[0] += mistaken / 4
	for i := range p {
		p[i] /= 1 + mistaken
	}
	return p
}

// lampWrong is the chance that a lamp was noted wrong or shows something else
// (judgement).
const lampWrong = 0.03

// offUnnamed is the chance that an inverter shows only that it is off, where its lamp has a look
// of its own for the reason (judgement).
const offUnnamed = 0.15

// lampChances of each look of a lamp.
func lampChances(l *site.Lamp, scale12 float64, h *hypothesis, out *plant.Out, p []float64) []float64 {
	var sum float64
	for i := range l.Looks {
		x := 1.0
		for _, means := range l.Looks[i].Means {
			x *= meaning(means, &l.Looks[i], scale12, h, out)
			if means == site.InverterOff && (out.InverterLow && l.Shows(site.InverterLow) || out.InverterOver && l.Shows(site.InverterOverload)) {
				x *= offUnnamed
			}
		}
		p = append(p, x)
		sum += x
	}
	n := float64(len(p))
	for i := range p {
		x := 1 / n
		if sum > 1e-9 {
			x = p[i] / sum
		}
		p[i] = (1-lampWrong)*x + lampWrong/n
	}
	return p
}

// meaning is the chance that a controller in this state shows it.
func meaning(w site.Meaning, l *site.Look, scale12 float64, h *hypothesis, out *plant.Out) float64 {
	if w == site.Unpowered {
		return truth(!out.Powered)
	}
	if !out.Powered {
		return 0
	}
	above := func(volts float64) float64 { return phi((out.BusV - volts) / (0.06 * scale12)) }
	charging := truth(out.Charging)
	if h.has(condition.ChargePathOpen) && out.ArrayLive {
		charging = 0.3 // some show what they command, not what flows
	}
	loadsLive := truth(out.LoadsLive)
	if h.has(condition.LoadOutputOpen) {
		loadsLive = 0.6
	}
	switch w {
	case site.InverterOn:
		return runs(h, out)
	case site.InverterOff:
		return 1 - runs(h, out)
	case site.InverterLow:
		return truth(out.InverterLow)
	case site.InverterOverload:
		return truth(out.InverterOver)
	case site.ArrayLive:
		return truth(out.ArrayLive)
	case site.ArrayDead:
		return 1 - truth(out.ArrayLive)
	case site.Charging:
		return charging
	case site.NotCharging:
		return 1 - charging
	case site.Regulating:
		return truth(out.Regulating)
	case site.NotRegulating:
		return 1 - truth(out.Regulating)
	case site.BatteryAbove:
		return above(l.Volts)
	case site.BatteryBelow:
		return 1 - above(l.Volts)
	case site.BatteryBetween:
		return above(l.Volts) * (1 - above(l.VoltsTo))
	case site.LoadsLive:
		return loadsLive
	case site.LoadsCut:
		return 1 - loadsLive
	case site.Fault:
		if len(h.ids) == 0 {
			return 0.01
		}
		return 0.2
	case site.Powered:
		return 1
	}
	return 0.5
}

// runs is the chance that an inverter's lamp says it runs; some say so though it gives nothing.
func runs(h *hypothesis, out *plant.Out) float64 {
	if h.has(condition.InverterOff) {
		return 0.4
	}
	return truth(out.InverterRuns)
}

// truth leaves a little room for thresholds that a controller sets elsewhere.
func truth(b bool) float64 {
	if b {
		return 0.99
	}
	return 0.01
}
