package plant

// withoutBattery solves a controller that has no battery.
func (s *solver) withoutBattery() {
	o, f, b := s.o, s.f, &s.bus
	v := &o.Value
	sp := s.setPoint()
	if o.Locked = s.u.Locked && !f.Dead; f.Dead || f.LoadOff || s.u.Locked {
		b.output.on = false
	}
	joined := !f.BatteryOpen // the posts, of a pack that is off, still hang on the controller
	alone := false
	if s.u.RunsAlone && s.live() && !s.asleep && s.array.openVoltage() > sp {
		need := b.own + b.drain
		var load, end float64
		if b.output.on {
			load, _, end = b.output.draw(sp)
			need += load
		}
		if joined && b.direct.on {
			i, _, at := b.direct.draw(sp)
			need += i
			if !b.output.on {
				load, end = i, at
			}
		}
		var amps, at float64
		if b.inverter.on = s.site.Inverter != nil && s.u.InverterOn && (b.atOutput && b.output.on || !b.atOutput && joined); b.inverter.on {
			amps, _, at = b.inverter.draw(sp)
			need += amps
		}
		if full := s.direct(sp); full > need {
			alone = true
			s.alone = sp
			s.hold(sp, need, full)
			o.Powered, o.BusV, o.DrawA = true, sp, need
			o.LoadsLive = b.output.on
			v[BatteryV] = sp
			if v[InverterA], v[InverterV] = amps, at; b.inverter.on {
				o.InverterRuns = at >= s.site.Inverter.CutV
			}
			if joined {
				v[PostV] = sp
				if b.direct.on {
					v[LoadA], v[LoadEndV] = load, end
				}
			}
			if b.output.on {
				v[LoadV], v[LoadA], v[LoadEndV] = sp, load, end
			}
		}
	}
	if !alone {
		s.arrayAlone()
		o.Floats[BatteryV], o.Floats[LoadV], o.Floats[LoadEndV] = true, true, true
	}
	if f.PackOff {
		o.Floats[PostV] = !alone || !joined
	} else { // the posts still feed what is wired to them
		var pt point
		out := b.output.on
		b.output.on = false
		own, drain := b.own, b.drain
		b.own, b.drain = 0, 0
		s.settle(&pt)
		b.own, b.drain = own, drain
		b.output.on = out
		s.o.eta = pt.eta
		s.pt = pt
		v[PostV], v[BatteryA] = pt.post, pt.ib
		if s.site.Inverter != nil && b.atOutput { // its readings are those of the output
			amps, at := v[InverterA], v[InverterV]
			s.recordParts(&pt)
			v[InverterA], v[InverterV] = amps, at
			o.Floats[InverterV] = !alone
		} else {
			s.recordParts(&pt)
		}
		if !s.site.Controller.LoadOutput && b.direct.on {
			v[LoadA], v[LoadEndV] = s.listedDraw(pt.direct), pt.end
			if f.LoadOpen {
				v[LoadEndV] = 0
				o.Floats[LoadEndV] = true
			}
			o.DrawA = pt.direct
		}
	}
	o.ArrayLive = o.Powered && v[ArrayV] > liveFrom*s.site.NominalV
}
