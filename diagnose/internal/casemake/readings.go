package main

import (
	"math"
)

// tests solves what is read with something switched off or apart: standby, rest, the
// load step, and the poles against earth.
func (b *bench) tests(f *found) error {
	c := &netlist{}
	st := f.stand
	st.frozen = nil
	st.inverter = st.inverter && b.standbyOn
	b.wireBus(c, "y", st, true)
	if b.site.parts {
		b.wireEarth(c, max(f.out["v(p)"], 0))
	}
	out, err := b.sp.solve(c)
	if err != nil {
		return err
	}
	b.standbyOut = out

	c = &netlist{}
	left := b.etas(f.out, "")
	for _, step := range []bool{false, true} {
		prefix, r := "r", rested{minutes: max(b.restMinutes, 0.01), share: 1, left: left}
		if step {
			prefix = "u"
			q := &b.store
			r.share = q.quick*(1-math.Exp(-1/q.tQuick)) + (1-q.quick)*(1-math.Exp(-1/q.tSlow))
		}
		p := prefix + "p"
		if b.fault.packOff {
			c.voltage(prefix+"pack", "0", float64(b.site.cells())*b.store.emf(b.store.soc))
			c.resistor(prefix+"pack", p, b.packLeak)
		} else {
			b.battery(c, p, prefix, r, nil)
		}
		c.meter(p)
		if step {
			c.draw(p, b.stepA)
		}
	}
	b.restOut, err = b.sp.solve(c)
	return err
}

// read takes every reading as a meter without any error would show it.
func (b *bench) read(f *found) {
	out, s := f.out, b.site
	v := map[string]float64{
		"array_v": out["v(a)"], "module_v": out["v(m)"], "array_a": out["i(vaa)"],
		"battery_v": out["v(b)"], "post_v": out["v(p)"], "load_a": out["i(vil)"], "load_end_v": out["v(e)"],
		"open_v": b.openV, "short_a": b.shortA, "rest_v": b.restOut["v(rp)"],
		"load_step.post_v": b.restOut["v(up)"], "step_a": b.stepA,
		"battery_a": b.total(out, ""), "standby_a": -b.total(b.standbyOut, "y"),
	}
	if s.Control.Output {
		v["load_v"] = out["v(l)"]
	}
	if b.fault.reversed { // by the controller's labels
		for _, k := range []string{"array_v", "array_a", "open_v", "short_a"} {
			v[k] = -v[k]
		}
	}
	if s.Inverter != nil {
		v["inverter_a"], v["inverter_v"] = out["i(vinv)"], out["v(iv)"]
	}
	if s.Charger != nil {
		v["charger_a"] = out["i(vchg)"]
	}
	if s.parts {
		v["plus_earth_v"] = max(out["v(p)"], 0) - b.standbyOut["v(gp)"]
		v["minus_earth_v"] = -b.standbyOut["v(gm)"]
	}
	f.values = v
	for k := range b.store.strings {
		f.stringA = append(f.stringA, out["i(v"+stringName("", k)+")"])
	}
	if b.fault.packOff {
		return
	}
	f.block, f.blockStep = b.blocks(b.restOut, "r"), b.blocks(b.restOut, "u")
	f.gravity = b.acid()
}

func stringName(prefix string, k int) string { return prefix + "s" + string(rune('0'+k)) }

// total is the net current at the battery's positive post, positive in charge.
func (b *bench) total(out solved, prefix string) (amps float64) {
	for k := range b.store.strings {
		amps += out["i(v"+stringName(prefix, k)+")"]
	}
	return amps
}

// blocks are the voltages of all blocks, string by string.
func (b *bench) blocks(out solved, prefix string) []float64 {
	var list []float64
	s := b.site.Battery
	for k, str := range b.store.strings {
		top := out["v("+prefix+"p)"]
		if str.open { // at rest by itself
			top = float64(b.site.cells()) * b.store.emf(b.store.soc)
		}
		each := top / float64(s.Blocks)
		odd := each
		if str.odd.cells > 0 {
			odd = top
			if s.Blocks > 1 {
				odd = b.oddV(out, prefix, k, top)
				each = (top - odd) / float64(s.Blocks-1)
			}
		}
		for n := range s.Blocks {
			if str.odd.cells > 0 && n == str.odd.block {
				list = append(list, odd)
			} else {
				list = append(list, each)
			}
		}
	}
	return list
}

// oddV is the voltage of the odd block: the last section of its string.
func (b *bench) oddV(out solved, prefix string, k int, top float64) float64 {
	if v, ok := out["v("+stringName(prefix, k)+"m0)"]; ok {
		return v
	}
	return top
}

// acid is the density of every cell as a hydrometer reads it, uncorrected: by the rule
// density = rest voltage − 0.84 to 0.848, and 0.0007 less for each kelvin above 25 °C (TM
// 5-4210: 0.004 for 5.5 K).
func (b *bench) acid() []float64 {
	s := b.site.Battery
	if s.Chemistry != flooded {
		return nil
	}
	var list []float64
	for k, str := range b.store.strings {
		soc := clamp(b.store.soc+b.store.strings[k].socD, 0, 1)
		base := b.store.emf(soc) - b.store.plus + b.store.dense - 0.0007*(b.batteryC-stcC)
		for n := range b.site.cells() {
			g := base
			if str.odd.cells > 0 && n/s.CellsEach == str.odd.block {
				g -= str.odd.below
				if n%s.CellsEach == str.odd.badCell {
					g -= str.odd.acid
				}
			}
			list = append(list, g)
		}
	}
	return list
}
