package reading

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/site"
)

// meters in the order of the readings file.
var meters = []Meter{Voltmeter, Clamp, Light, Thermometer, Hydrometer}

// Limits of what an [instrument.…] table may say.
var (
	percent    = tomlfile.Range{Min: 0, Max: 50, Unit: words().Unit.Percent}
	digits     = tomlfile.Range{Min: 0, Max: 1000, Unit: words().Unit.Digits}
	resolution = tomlfile.Range{Min: 0.00001, Max: 100, Unit: words().Unit.Resolution}
	plusMinus  = tomlfile.Range{Min: 0.0001, Max: 100, Unit: words().Unit.Resolution}
)

// The years in which a visit can have been.
const (
	firstYear = 2000
	lastYear  = 2100
)

// Parse reads a readings file taken at the site. Everything that is wrong in
// it comes back at once, as [tomlfile.Problems]. Instruments that the file does
// not describe are [DefaultInstruments]; values that are not [Plausible] are
// kept and marked as doubted.
func Parse(file string, data []byte, s *site.Site) (*Set, error) {
	top, err := tomlfile.Open(file, data)
	if err != nil {
		return nil, err
	}
	p := parser{Set: NewSet(), site: s}
	p.visit(top)
	p.instruments(top.TableIfAny("instrument"))
	p.readings(top)
	p.notTaken(top)
	if err := top.Err(); err != nil {
		return nil, err
	}
	return p.Set, nil
}

// ParseInstruments reads a file that has the [instrument.…] tables of a readings
// file and nothing else. Instruments that it does not describe are
// [DefaultInstruments].
func ParseInstruments(file string, data []byte) (map[Meter]quantity.Instrument, error) {
	top, err := tomlfile.Open(file, data)
	if err != nil {
		return nil, err
	}
	if !top.Has("instrument") {
		top.Report("instrument", "%s", words().NoInstrument)
	}
	p := parser{Set: NewSet()}
	p.instruments(top.TableIfAny("instrument"))
	return p.Instruments, top.Err()
}

type parser struct {
	*Set
	site *site.Site
}

// visit reads when it was and what was switched on.
func (p parser) visit(top *tomlfile.Table) {
	if top.Has("taken_at") {
		p.TakenAt = top.Time("taken_at")
		if y := p.TakenAt.Year(); top.Sound("taken_at") && (y < firstYear || y > lastYear) {
			top.Report("taken_at", words().Year, y, firstYear, lastYear)
		}
	}
	if !top.Has("loads_on") {
		return
	}
	p.LoadsOn = top.Texts("loads_on")
	if !top.Sound("loads_on") {
		return
	}
	var listed []string
	for _, l := range p.site.Loads {
		listed = append(listed, l.Label)
	}
	for i, label := range p.LoadsOn {
		switch {
		case !slices.Contains(listed, label):
			top.Report("loads_on", words().NoLoad, label, quoted(listed))
		case slices.Contains(p.LoadsOn[:i], label):
			top.Report("loads_on", words().Twice, label)
		}
	}
}

func (p parser) instruments(t *tomlfile.Table) {
	for _, m := range meters {
		if t.Has(string(m)) {
			p.Instruments[m] = instrument(t.Table(string(m)))
		}
	}
}

// dayForms are how the day of a calibration may be given.
var dayForms = []string{"2006-01-02", "2006-01"}

// instrument reads the one form or the other, whole.
func instrument(t *tomlfile.Table) quantity.Instrument {
	in := limitsIn(t)
	in.Name, in.Calibrated = t.TextIfAny("name"), t.TextIfAny("calibrated")
	isDay := func(form string) bool { _, err := time.Parse(form, in.Calibrated); return err == nil }
	if in.Calibrated != "" && !slices.ContainsFunc(dayForms, isDay) {
		t.Report("calibrated", words().NoDay, in.Calibrated)
	}
	return in
}

// SoundInstrument reports whether an instrument is one that a readings file could
// describe.
func SoundInstrument(in quantity.Instrument) bool {
	if in.PlusMinus != 0 {
		return plusMinus.Contains(in.PlusMinus) && in.Percent == 0 && in.Digits == 0 && in.Resolution == 0
	}
	return percent.Contains(in.Percent) && digits.Contains(in.Digits) && resolution.Contains(in.Resolution) && (in.Percent > 0 || in.Digits > 0)
}

func limitsIn(t *tomlfile.Table) quantity.Instrument {
	if t.Has("plus_minus") {
		in := quantity.Instrument{PlusMinus: t.Number("plus_minus", plusMinus)}
		for _, name := range []string{"percent", "digits", "resolution"} {
			if t.Has(name) {
				t.Report(name, "%s", words().BesidePlusMinus)
			}
		}
		return in
	}
	in := quantity.Instrument{
		Percent:    t.Number("percent", percent),
		Digits:     t.Number("digits", digits),
		Resolution: t.Number("resolution", resolution),
	}
	if t.Sound("percent", "digits", "resolution") && in.Percent == 0 && in.Digits == 0 {
		t.Report("digits", "%s", words().NoError)
	}
	return in
}

// readings reads what [Specs] lists, section by section.
func (p parser) readings(top *tomlfile.Table) {
	sections := map[string]*tomlfile.Table{"": top}
	for _, spec := range Specs {
		t, ok := sections[spec.Section]
		if !ok {
			t = top.TableIfAny(spec.Section)
			sections[spec.Section] = t
		}
		if t.Has(spec.Name) {
			p.reading(t, spec)
		}
	}
	found := sections["as_found"]
	p.lamps(found.TableIfAny("lamps"), p.site.Controller.Lamps, Lamp)
	var lamps []site.Lamp
	if p.site.Inverter != nil {
		lamps = p.site.Inverter.Lamps
	}
	p.lamps(found.TableIfAny("inverter_lamps"), lamps, InverterLamp)
}

func (p parser) reading(t *tomlfile.Table, spec Spec) {
	if why := missingAt(spec.Key, p.site); why != "" {
		t.Report(spec.Name, words().LeaveOut, why)
		return
	}
	switch spec.Form {
	case Word:
		p.Words[spec.Key] = t.Word(spec.Name, spec.Choices...)
	case Number:
		v := t.Number(spec.Name, limitsOf(spec.Key, p.site).outer)
		p.Numbers[spec.Key] = v
		p.doubt(spec.Key, v)
	case List:
		p.list(t, spec)
	case YesNo:
		p.Words[spec.Key] = strconv.FormatBool(t.Bool(spec.Name))
	case Several:
		p.several(t, spec)
	}
}

// several reads a list of ids or labels, none twice. "none" beside others says nothing.
func (p parser) several(t *tomlfile.Table, spec Spec) {
	choices := ChoicesOf(spec, p.site)
	given := t.Texts(spec.Name)
	if !t.Sound(spec.Name) {
		return
	}
	for i, id := range given {
		switch {
		case !slices.Contains(choices, id):
			t.Report(spec.Name, words().NoChoice, id, quoted(choices))
		case slices.Contains(given[:i], id):
			t.Report(spec.Name, words().Twice, id)
		case id == None && len(given) > 1:
			t.Report(spec.Name, words().NoneBeside, id)
		}
	}
	p.Several[spec.Key] = slices.DeleteFunc(slices.Clone(given), func(id string) bool { return id == None })
}

// ChoicesOf are the choices of a reading at the site.
func ChoicesOf(spec Spec, s *site.Site) []string {
	if spec.Key != NotWorking {
		return spec.Choices
	}
	var labels []string
	for _, l := range s.Loads {
		labels = append(labels, l.Label)
	}
	return labels
}

func (p parser) list(t *tomlfile.Table, spec Spec) {
	vs := t.Numbers(spec.Name, limitsOf(spec.Key, p.site).outer)
	want, of := ListLen(spec.Key, p.site)
	all := want * p.site.Battery.Parallel()
	if fits := len(vs) == want || spec.Key != StringA && spec.Key != USBV && len(vs) == all; t.Sound(spec.Name) && !fits {
		t.Report(spec.Name, "%s", words().ListLength.Of(len(vs), want, of))
	}
	p.Lists[spec.Key] = vs
	p.doubt(spec.Key, vs...)
}

func (p parser) doubt(k Key, vs ...float64) {
	for _, v := range vs {
		if Plausible(k, v, p.site) != nil {
			p.Doubted[k] = true
		}
	}
}

// ListLen is how many numbers the list k has at the site, and of what there
// is one each. A list of blocks or cells may also be of all strings, one after the other.
func ListLen(k Key, s *site.Site) (int, string) {
	switch k {
	case Gravity:
		return s.Battery.Cells(), words().Cell
	case StringA:
		return s.Battery.Parallel(), words().String
	case USBV:
		return s.Kit.USB, words().USB
	}
	return s.Battery.Blocks, words().Block
}

// Offered reports whether the reading k is asked for at the site. Some that a file may give
// are not: what a monitor beside a lead-acid battery shows.
func Offered(k Key, s *site.Site) bool {
	if s.Kit != nil {
		return OfKit(k, s)
	}
	switch k {
	case BlockV, StepBlockV:
		return s.Battery.Blocks*s.Battery.Parallel() > 1
	case LoadA, LoadEndV:
		return len(s.LoadsFrom(s.MainSource())) > 0 || s.Inverter != nil && s.Inverter.From == s.MainSource() && k == LoadA
	case NotWorking:
		return len(s.Loads) > 0
	case PlusEarthV, MinusEarthV:
		return s.Earthing != ""
	case PackPercent, PackAlarm:
		return !s.Battery.Chemistry.LeadAcid()
	}
	return missingAt(k, s) == ""
}

// onlyKit are the readings at the outputs of a closed kit, and what people tell of it.
var onlyKit = []Key{Locked, USBV, OutputW, RunW, RunH}

// inKit are the readings inside a closed kit, which nobody can take.
var inKit = []Key{
	BatteryV, PostV, BatteryA, LoadA, LoadEndV, StandbyA, Minutes, RestV, BlockV, Gravity, StepA, StepPostV, StepBlockV,
	InverterA, InverterV, ChargerOn, ChargerA, StringA, PackPercent, PackAlarm, PlusEarthV, MinusEarthV, ModuleV, BatteryC,
}

// OfKit reports whether the closed kit s shows the reading k to somebody who does not open it.
func OfKit(k Key, s *site.Site) bool {
	switch k {
	case USBV:
		return s.Kit.USB > 0
	case Locked:
		return s.Kit.Locks
	case NotWorking, OutputW:
		return len(s.Loads) > 0
	}
	return !slices.Contains(inKit, k)
}

// missingAt says why the site has no such reading, "" if it has.
func missingAt(k Key, s *site.Site) string {
	switch {
	case slices.Contains(onlyKit, k) && (s.Kit == nil || !OfKit(k, s)):
		return words().NoKit
	case s.Kit != nil && !OfKit(k, s):
		return words().Closed
	case k == Gravity && s.Battery.Chemistry != site.Flooded:
		return fmt.Sprintf(words().NoElectrolyte, s.Battery.Chemistry)
	case k == LoadV && !s.Controller.LoadOutput:
		return words().NoLoadOutput
	case (k == InverterA || k == InverterV) && s.Inverter == nil:
		return words().NoInverter
	case (k == ChargerA || k == ChargerOn) && s.Charger == nil:
		return words().NoCharger
	case k == StringA && s.Battery.Parallel() < 2:
		return words().NoStrings
	default:
		return ""
	}
}

func (p parser) lamps(t *tomlfile.Table, lamps []site.Lamp, key func(string) Key) {
	for _, label := range t.Names() {
		t.Has(label)
		i := slices.IndexFunc(lamps, func(l site.Lamp) bool { return l.Label == label })
		if i < 0 {
			t.Report(label, words().NoLamp, quoted(lampLabels(lamps)))
			continue
		}
		p.Words[key(label)] = t.Word(label, lampLooks(lamps[i])...)
	}
}

func lampLabels(lamps []site.Lamp) []string {
	var labels []string
	for _, l := range lamps {
		labels = append(labels, l.Label)
	}
	return labels
}

func lampLooks(l site.Lamp) []string {
	var looks []string
	for _, look := range l.Looks {
		looks = append(looks, look.Look)
	}
	return looks
}

func (p parser) notTaken(top *tomlfile.Table) {
	if !top.Has("not_taken") {
		return
	}
	for _, name := range top.Texts("not_taken") {
		k := Key(name)
		if err := known(k, p.site); err != nil {
			top.Report("not_taken", "%v", err)
			continue
		}
		switch {
		case p.Has(k):
			top.Report("not_taken", words().HasValue, name)
		case slices.Contains(p.NotTaken, k):
			top.Report("not_taken", words().Twice, name)
		default:
			p.NotTaken = append(p.NotTaken, k)
		}
	}
}

// known refuses a key that is no reading of the site.
func known(k Key, s *site.Site) error {
	if label, ok := k.LampLabel(); ok {
		if _, ok := s.Lamp(label); !ok {
			return fmt.Errorf(words().NoSuchLamp, label, quoted(lampLabels(s.Controller.Lamps)))
		}
		return nil
	}
	if label, ok := k.InverterLabel(); ok {
		if _, ok := s.InverterLamp(label); !ok {
			return fmt.Errorf(words().NoSuchLamp, label, quoted(nil))
		}
		return nil
	}
	if _, ok := SpecOf(k); ok {
		return nil
	}
	if i := slices.IndexFunc(Specs, func(sp Spec) bool { return sp.Section+"."+sp.Name == string(k) }); i >= 0 {
		return fmt.Errorf(words().InFull, k, Specs[i].Key)
	}
	return fmt.Errorf(words().NoReading, k)
}

func quoted(names []string) string {
	if len(names) == 0 {
		return words().NoneListed
	}
	q := make([]string, len(names))
	for i, w := range names {
		q[i] = fmt.Sprintf("%q", w)
	}
	return fmt.Sprintf(words().OneOf, strings.Join(q, ", "))
}
