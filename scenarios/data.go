package scenarios

import (
	"slices"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

// data is what a trainee has read, as the diagnosis takes it. Readings as found
// of an earlier moment are set aside when the next one begins.
type data struct {
	*reading.Set
	moment int
}

func newData(b *virtualsite.Bench) *data {
	set := reading.NewSet()
	set.TakenAt, set.LoadsOn = b.Now(), b.LoadsOfMoment()
	for m, in := range b.Instruments() {
		set.Instruments[m] = in
	}
	return &data{set, b.Moment()}
}

// tests are the sections that stay true when the moment as found changes.
var tests = []string{"loads_off", "array_isolated", "battery_rested", "load_step"}

// renew sets aside what belongs to an earlier moment; it reports whether there
// was anything.
func (d *data) renew(b *virtualsite.Bench) bool {
	if b.Moment() == d.moment {
		return false
	}
	d.moment = b.Moment()
	d.TakenAt, d.LoadsOn = b.Now(), b.LoadsOfMoment()
	old := false
	for k := range d.Numbers {
		if spec, _ := reading.SpecOf(k); !slices.Contains(tests, spec.Section) {
			delete(d.Numbers, k)
			old = true
		}
	}
	if _, ok := d.Several[reading.NotWorking]; ok {
		delete(d.Several, reading.NotWorking)
		old = true
	}
	for k := range d.Lists {
		if spec, _ := reading.SpecOf(k); !slices.Contains(tests, spec.Section) {
			delete(d.Lists, k)
			old = true
		}
	}
	for k := range d.Words {
		if k != reading.Glass {
			delete(d.Words, k)
			old = true
		}
	}
	return old
}

// note puts a list of ids or labels into the data; of what is seen at one place, what was
// seen at others stays.
func (d *data) note(x virtualsite.Display) {
	if x.Looked == nil {
		d.Several[x.Reading] = slices.Clone(x.Several)
		return
	}
	keep := slices.DeleteFunc(slices.Clone(d.Several[x.Reading]), func(id string) bool { return slices.Contains(x.Looked, id) })
	d.Several[x.Reading] = append(append([]string{}, keep...), x.Several...)
	for _, id := range x.Looked {
		if !slices.Contains(d.Looked, id) {
			d.Looked = append(d.Looked, id)
		}
	}
}

// add puts a display into the data; one that is no reading of a visit changes
// nothing.
func (d *data) add(x virtualsite.Display) {
	switch {
	case x.Reading == "" || !x.Shown:
		return
	case x.Several != nil:
		d.note(x)
	case x.Word != "":
		d.Words[x.Reading] = x.Word
	case x.List != nil:
		d.Lists[x.Reading] = slices.Clone(x.List)
	default:
		d.Numbers[x.Reading] = x.Reads
	}
	spec, _ := reading.SpecOf(x.Reading)
	if in, ok := d.Instruments[spec.Meter]; ok && x.Coarse > in.Resolution && spec.Meter != reading.Thermometer && spec.Meter != reading.Hydrometer {
		in.Resolution = x.Coarse
		d.Instruments[spec.Meter] = in
	}
}
