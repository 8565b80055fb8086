package virtualsite

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// What a USB meter errs by, and what people's hours do (judgement, as in the diagnosis).
const (
	usbError  = 0.01
	hourError = 0.1
)

// kit is the closed kit that the site is, nil for a plant of parts.
func (b *Bench) kit() *site.Kit { return b.setup.Site.Kit }

// USB plugs the USB meter into each output of a closed kit in turn [V].
func (b *Bench) USB() Display {
	if b.kit() == nil || b.kit().USB == 0 {
		return Display{Text: texts().Problem.NoOutputs}
	}
	b.touch(AtController)
	d := Display{Shown: true, Coarse: 0.01}
	if b.asFound() {
		d.Reading = reading.USBV
	}
	o := &b.solve().found
	dead := b.random("usb output", 0).IntN(b.kit().USB) // which one, where one is
	for i := range b.kit().USB {
		at := plant.USBRest
		if i == dead {
			at = plant.USBLow
		}
		x := o.Value[at]
		if o.Floats[at] { // a meter that is fed by the output shows nothing at all
			x = 0
		}
		x = b.misled(reading.USBV, x*(1+usbError*b.random(fmt.Sprint("usb ", i), 0).NormFloat64()))
		d.List = append(d.List, math.Round(100*x)/100)
	}
	b.takes[reading.USBV]++
	b.pass(oneReading)
	d.Text = listText(d.List, "V")
	return d
}

// OutputPower is what the meter between the outputs and the appliances shows, all together [W].
func (b *Bench) OutputPower() Display {
	if b.kit() == nil {
		return Display{Text: texts().Problem.NoOutputs}
	}
	b.touch(AtLoads)
	k := reading.OutputW
	x := b.solve().found.Value[plant.OutputW] * (1 + usbError*b.random("output", b.takes[k]).NormFloat64())
	x = max(0, math.Round(10*b.misled(k, x))/10)
	b.takes[k]++
	b.pass(2 * time.Minute)
	d := Display{Text: fmt.Sprintf("%.1f W", x), Value: x, Reads: x, Shown: true, Coarse: 0.1}
	if b.asFound() {
		d.Reading = k
	}
	return d
}

// told is what people say of an evening on which the kit was full: what was on, and how long
// it ran.
func (b *Bench) told() (list []Display) {
	if b.kit() == nil || b.u.RunW <= 0 {
		return nil
	}
	hours := b.solve().found.Value[plant.RunH] * (1 + hourError*b.random("hours", 0).NormFloat64())
	for _, x := range []struct {
		k    reading.Key
		at   float64
		unit string
	}{{reading.RunW, b.u.RunW, "W"}, {reading.RunH, b.misled(reading.RunH, math.Round(2*hours)/2), "h"}} {
		list = append(list, Display{Text: fmt.Sprintf("%g %s", x.at, x.unit), Value: x.at, Reads: x.at, Shown: true, Reading: x.k, Coarse: 0.5})
	}
	return list
}

// Told is what people say of the reading k; not shown where they say nothing.
func (b *Bench) Told(k reading.Key) Display {
	for _, d := range b.told() {
		if d.Reading == k {
			return d
		}
	}
	return Display{Text: texts().Problem.NotTold}
}

// lock is how the lock of a closed kit looks, and in a sentence; false where it has none.
func (b *Bench) lock() (d Display, line string, has bool) {
	if b.kit() == nil || !b.kit().Locks {
		return d, "", false
	}
	line = texts().Unlocked
	if b.u.Locked {
		line = texts().Locked
	}
	return Display{Text: line, Word: strconv.FormatBool(b.u.Locked), Shown: true, Reading: reading.Locked}, line, true
}
