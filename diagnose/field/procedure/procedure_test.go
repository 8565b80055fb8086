package procedure

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Limits of 60 V and 120 V DC: IEC 60364-4-41 and IEC 61140, from memory.
func TestTouchable(t *testing.T) {
	lead48 := func(absorbV, comp float64) *site.Site {
		s := highShunt()
		s.Controller.Kind, s.Controller.AbsorbV, s.Controller.CompMVPerCCell = site.MPPT, absorbV, comp
		s.Array.Series = 2
		return s
	}
	tests := []struct {
		name                       string
		site                       *site.Site
		array, controller, battery bool
		limits                     int
	}{
		{"12 V", flooded12(), true, true, true, 0},
		{"24 V", mppt24(), true, true, true, 0},
		{"mppt, array 84 V", highArray(), false, false, true, 1},
		{"shunt, array 74 V", highShunt(), false, false, true, 1},
		{"array 147 V", lookOnly(), false, false, false, 1},
		{"48 V lead-acid, 59.0 V at 10 C", lead48(57.6, -4), true, true, true, 0}, // 57.6 + 24·4 mV·15
		{"48 V lead-acid, 60.4 V at 10 C", lead48(58.6, -5), false, false, false, 1},
		{"48 V lfp, 57.6 V", lead48(57.6, 0), true, true, true, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.array, touchable(tt.site, arrayCircuit), "array")
			assert.Equal(t, tt.controller, touchable(tt.site, controllerCircuit), "controller")
			assert.Equal(t, tt.battery, touchable(tt.site, batteryCircuit), "battery")
			p := For(tt.site)
			assert.Len(t, p.Limits, tt.limits)
			_, clamps := p.Step("array_a")
			assert.True(t, clamps, "every site can be clamped")
		})
	}
}

func TestShortable(t *testing.T) {
	s := flooded12()
	s.Array.Strings, s.Array.Module.IscA = 2, 5.0
	assert.True(t, shortable(s), "10 A")
	s.Array.Module.IscA = 5.01
	assert.False(t, shortable(s), "above 10 A")
	s = highArray()
	s.Array.Strings, s.Array.Module.IscA = 1, 1
	assert.False(t, shortable(s), "above 60 V")
}

// only gives some readings a worth.
func only(bits map[reading.Key]float64) Worth {
	return func(k reading.Key) float64 { return bits[k] }
}

// answered is p after every confirmation got its good answer and every
// always-step was done.
func answered(p *Procedure) State {
	var st State
	for _, s := range p.Steps {
		if s.Rung < Restore && (s.Kind == Confirm || s.Always) {
			st = p.Apply(st, good(s))
		}
	}
	return st
}

// good is the first good answer to s.
func good(s Step) Outcome {
	if len(s.Checks) > 0 {
		return chosen(s, s.Checks.IDs()...)
	}
	for _, o := range s.options {
		if o.Good {
			return chosen(s, o.ID)
		}
	}
	return Outcome{Step: s.ID, Kind: Done, Yes: s.Good == "yes"}
}

func done(ids ...string) []Outcome {
	var outcomes []Outcome
	for _, id := range ids {
		outcomes = append(outcomes, Outcome{Step: id, Kind: Done, Yes: true})
	}
	return outcomes
}

func ids(steps []Step) []string {
	var ids []string
	for _, s := range steps {
		ids = append(ids, s.ID)
	}
	return ids
}

func apply(p *Procedure, st State, outcomes ...Outcome) State {
	for _, o := range outcomes {
		st = p.Apply(st, o)
	}
	return st
}

func TestNext(t *testing.T) {
	p := For(flooded12())
	tests := []struct {
		name  string
		done  []string
		worth map[reading.Key]float64
		want  string
	}{
		{"most per minute", []string{"covers-off"}, map[reading.Key]float64{reading.ArrayV: 0.2, reading.ModuleV: 0.5, reading.PostV: 0.1}, "array_v"}, // 0.2 against 0.5/(3+1) and 0.1/(1+1), at the controller
		{"the cover counts", nil, map[reading.Key]float64{reading.ArrayV: 0.2, reading.PostV: 0.15}, "post_v"},                                         // 0.2/2 against 0.15
		{"the lowest rung first", nil, map[reading.Key]float64{reading.ArrayV: 0.9, reading.ArrayA: 0.06}, "array_a"},
		{"too little", []string{"covers-off"}, map[reading.Key]float64{reading.ArrayA: 0.03, reading.ArrayV: 0.1}, "array_v"},
		{"setting up counts", nil, map[reading.Key]float64{reading.RestV: 0.1}, "appliances"}, // some 28 minutes
		{"setting up when worth it", nil, map[reading.Key]float64{reading.RestV: 0.5}, "loads-off"},
		{"then the array", []string{"loads-off"}, map[reading.Key]float64{reading.RestV: 0.5}, "array-isolate"},
		{"then the rest", []string{"loads-off", "array-isolate"}, map[reading.Key]float64{reading.RestV: 0.5}, "rest"},
		{"what explains it first", []string{"loads-off", "array-isolate", "rest"}, map[reading.Key]float64{reading.RestV: 0.5}, "minutes"},
		{"worth it once set up", []string{"loads-off", "array-isolate", "rest"}, map[reading.Key]float64{reading.RestV: 0.06}, "minutes"},
		{"rest voltage before the load step", []string{"loads-off", "array-isolate", "rest", "minutes", "battery_c"},
			map[reading.Key]float64{reading.RestV: 0.06, reading.StepPostV: 5}, "rest_v"},
		{"nothing is worth it", []string{"loads-off", "array-isolate"}, nil, "battery-connected"},
		{"the load step is ended first", []string{"loads-off", "array-isolate", "rest", "load-step-on"}, map[reading.Key]float64{reading.StandbyA: 5}, "load-step-off"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, why, ok := p.Next(apply(p, answered(p), done(tt.done...)...), only(tt.worth))
			require.True(t, ok)
			assert.Equal(t, tt.want, s.ID)
			assert.NotEmpty(t, why)
			assert.NotContains(t, why, "{")
		})
	}
}

// In the dark neither shadow nor dirt is seen; a sky corrected to clear asks
// for them after all.
func TestDarkSkips(t *testing.T) {
	p := For(flooded12())
	sky := func(word string) Outcome { return Outcome{Step: "sky", Kind: Done, Word: word} }
	for _, id := range []string{"shade", "glass"} {
		assert.Equal(t, Missed, p.Replay([]Outcome{sky("dark")}).Mark(id))
		assert.Equal(t, Open, p.Replay([]Outcome{sky("clear")}).Mark(id))
		assert.Equal(t, Open, p.Replay([]Outcome{sky("dark"), sky("clear")}).Mark(id))
		assert.Equal(t, Good, p.Replay([]Outcome{sky("clear"), {Step: id, Kind: Done}, sky("dark")}).Mark(id))
	}
}

// Who has no light meter is not asked for the light again; who could not reach the
// place is.
func TestNoInstrument(t *testing.T) {
	p := For(flooded12())
	for id, again := range map[string]string{"irradiance_w_m2": "array_isolated.irradiance_w_m2", "module_c": "array_isolated.module_c"} {
		s, ok := p.Step(id)
		require.True(t, ok)
		require.Contains(t, s.Reasons.IDs(), NoInstrument)
		for reason, want := range map[string]Mark{NoInstrument: Missed, "not-safe": Open} {
			assert.Equal(t, want, p.Replay([]Outcome{{Step: id, Kind: Cannot, Why: reason}}).Mark(again), reason)
		}
		assert.Equal(t, Open, p.Replay([]Outcome{{Step: id, Kind: Cannot, Why: NoInstrument}, {Step: id, Kind: Done}}).Mark(again), "one was found")
	}
}

// Every step and word that a skip names is there.
func TestSkipsName(t *testing.T) {
	for _, s := range For(flooded12()).Steps {
		for word, ids := range s.Skips {
			assert.Contains(t, s.Choices.IDs(), word)
			for _, id := range ids {
				_, ok := For(flooded12()).Step(id)
				assert.True(t, ok, id)
			}
		}
	}
}

// A refused precaution closes what needs it, and only that, with its reason.
func TestRefusal(t *testing.T) {
	p := For(flooded12())
	st := apply(p, answered(p), done("loads-off", "array-isolate", "rest", "minutes", "battery_c")...)
	st = p.Apply(st, Outcome{Step: "eyes", Kind: Done, Yes: false})
	assert.Equal(t, Refused, st.Mark("eyes"))
	assert.Equal(t, "There is no eye protection.", st.Reason("eyes"))
	for _, id := range []string{"rest_v", "gravity"} { // goggles before anything at the posts
		assert.NotContains(t, ids(p.Allowed(st)), id)
	}
	assert.Contains(t, ids(p.Allowed(st)), "standby_a")
	s, _, _ := p.Next(st, only(map[reading.Key]float64{reading.Gravity: 9, reading.StepPostV: 9}))
	assert.Equal(t, Restore, s.Rung, "acid and load step are closed")
}

func TestStops(t *testing.T) {
	p := For(flooded12())
	open := apply(p, answered(p), done("loads-off", "array-isolate")...)
	tests := []struct {
		name string
		o    Outcome
	}{
		{"danger seen", Outcome{Step: "battery-look", Kind: Done, Yes: true}},
		{"voltage above 60 V", Outcome{Step: "open_v", Kind: Done, Value: 60.5}},
		{"voltage below -60 V", Outcome{Step: "open_v", Kind: Done, Value: -60.5}},
		{"battery above 50 C", Outcome{Step: "battery_c", Kind: Done, Value: 51}},
		{"the person ends it", Outcome{Step: "open_v", Kind: Stop}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			st := p.Apply(open, tt.o)
			assert.NotEmpty(t, st.Stopped)
			assert.Empty(t, p.Allowed(st))
			s, _, _ := p.Next(st, everything)
			if tt.name == "voltage above 60 V" || tt.name == "voltage below -60 V" || tt.name == "battery above 50 C" {
				assert.Equal(t, "emergency", s.ID)
				assert.Contains(t, s.Do, "1. ")
				st = p.Apply(st, done("emergency")[0])
				s, _, _ = p.Next(st, everything)
			}
			assert.Equal(t, "safe-back", s.ID)
			st = p.Apply(st, Outcome{Step: "safe-back", Kind: Done, Yes: false, Reason: "lightning is near"})
			assert.Equal(t, []LeftOpen{{LoadsOff, "lightning is near"}, {ArrayIsolated, "lightning is near"}}, p.Left(st))
			s, _, _ = p.Next(st, everything)
			assert.Equal(t, "label-open", s.ID)
			assert.Empty(t, open.Stopped, "the state given is not changed")
		})
	}
	assert.Empty(t, p.Apply(open, Outcome{Step: "open_v", Kind: Done, Value: 60}).Stopped, "the limit itself is allowed")
}

// Who stops before a danger is made safe is shown its card first, and only once.
func TestStopWithADanger(t *testing.T) {
	p := For(flooded12())
	stop := Outcome{Step: "jewellery", Kind: Stop}
	for _, d := range p.dangers {
		t.Run(d.ID, func(t *testing.T) {
			st := answered(p)
			st.found = 1 << slices.IndexFunc(p.dangers, func(h hazard) bool { return h.ID == d.ID })
			st = p.Apply(st, stop)
			unsafe, ok := p.Unsafe(st)
			require.True(t, ok)
			assert.Equal(t, d.ID, unsafe.ID)
			s, _, _ := p.Next(st, everything)
			require.Equal(t, "emergency", s.ID)
			assert.Equal(t, d.Title, s.Title)
			s, _, _ = p.Next(p.Apply(st, done("emergency")[0]), everything)
			assert.GreaterOrEqual(t, s.Rung, Restore)

			if st.flags |= d.safe; d.safe == 0 {
				return
			}
			_, ok = p.Unsafe(st)
			assert.False(t, ok)
			s, _, _ = p.Next(st, everything)
			assert.NotEqual(t, "emergency", s.ID, "it is made safe")
		})
	}
}

// Battery before array before loads: common practice.
func TestRestoreOrder(t *testing.T) {
	p := For(flooded12())
	st := apply(p, answered(p), done("loads-off", "array-isolate", "short-on")...)
	st = p.Apply(st, Outcome{Step: "battery-connected", Kind: Done, Yes: false})
	assert.Equal(t, []string{"short-off", "battery-connect", "array-connect", "loads-back"}, ids(p.Restore(st)))
	assert.Empty(t, p.Left(st))

	st = p.Apply(st, Outcome{Step: "battery-connect", Kind: Cannot, Reason: "the fuse blew again"})
	assert.Equal(t, []LeftOpen{{ArrayIsolated, "the fuse blew again"}, {BatteryIsolated, "the fuse blew again"}}, p.Left(st),
		"no array without a battery")
}

func TestReplay(t *testing.T) {
	p := For(flooded12())
	var start []Outcome
	for _, s := range p.Steps {
		if s.Rung < Restore && (s.Kind == Confirm || s.Always) {
			start = append(start, good(s))
		}
	}
	replay := func(more ...Outcome) State { return p.Replay(append(append([]Outcome{}, start...), more...)) }
	cannot := func(id string) Outcome { return Outcome{Step: id, Kind: Cannot, Reason: "no access"} }
	stop := func(id string) Outcome { return Outcome{Step: id, Kind: Stop, Reason: "enough"} }
	yes := func(id string) Outcome { return done(id)[0] }
	step := func(id string) Step { s, _ := p.Step(id); return s }

	t.Run("a correction takes the place of the answer", func(t *testing.T) {
		st := replay(yes("array-isolate"), yes("open_v"), yes("battery-connected"), yes("array-connect"), yes("array-isolate"))
		assert.False(t, st.Has(ArrayIsolated), "it was isolated before it was connected")
		assert.Equal(t, Good, st.Mark("open_v"))
	})
	t.Run("isolated after all", func(t *testing.T) {
		st := replay(cannot("array-isolate"), yes("labels"), yes("array-isolate"))
		assert.True(t, st.Has(ArrayIsolated))
		s, _, _ := p.Next(st, nothing)
		assert.Equal(t, "battery-connected", s.ID, "leaving has begun, but it is put back")
	})
	t.Run("not put back after all", func(t *testing.T) {
		st := replay(yes("array-isolate"), yes("battery-connected"), yes("array-connect"), yes("labels"), cannot("array-connect"))
		assert.Equal(t, []LeftOpen{{ArrayIsolated, "no access"}}, p.Left(st))
		s, _, _ := p.Next(st, nothing)
		assert.Equal(t, "label-open", s.ID)
	})
	t.Run("labelled anew", func(t *testing.T) {
		st := replay(yes("loads-off"), yes("array-isolate"), yes("battery-connected"), yes("array-connect"), cannot("loads-back"), yes("label-open"))
		assert.Equal(t, Good, st.Mark("label-open"))
		st = replay(yes("loads-off"), yes("array-isolate"), yes("battery-connected"), yes("array-connect"), cannot("loads-back"), yes("label-open"), cannot("array-connect"))
		assert.Equal(t, Open, st.Mark("label-open"))
	})
	t.Run("a stop is withdrawn by answering", func(t *testing.T) {
		assert.NotEmpty(t, replay(stop("array_a")).Stopped)
		assert.Empty(t, replay(stop("array_a"), yes("array_a")).Stopped)
	})
	t.Run("but not by putting back", func(t *testing.T) {
		st := replay(yes("array-isolate"), stop("array-connect"), yes("safe-back"), yes("battery-connected"), yes("array-connect"))
		assert.Equal(t, "enough", st.Stopped)
		assert.False(t, st.Has(ArrayIsolated))
	})
	t.Run("a second stop while putting back leaves it open", func(t *testing.T) {
		st := replay(yes("array-isolate"), stop("array-connect"), yes("safe-back"), yes("battery-connected"), stop("array-connect"))
		assert.Equal(t, []LeftOpen{{ArrayIsolated, "enough"}}, p.Left(st))
	})
	t.Run("a danger that was a slip of the key", func(t *testing.T) {
		assert.NotEmpty(t, replay(Outcome{Step: "lightning", Kind: Done, Yes: true}).Stopped)
		assert.Empty(t, replay(Outcome{Step: "lightning", Kind: Done, Yes: true}, Outcome{Step: "lightning", Kind: Done}).Stopped)
	})
	t.Run("the battery was off after all", func(t *testing.T) {
		st := replay(yes("array-isolate"), yes("battery-connected"), yes("array-connect"), Outcome{Step: "battery-connected", Kind: Done})
		s, _, _ := p.Next(st, everything)
		assert.NotEqual(t, "array-connect", s.ID)
		assert.Equal(t, []string{"battery-connect", "array-connect"}, ids(p.Restore(st)), "the array is opened and comes after the battery again")
	})
	t.Run("a load step noted after the array was connected is only ended", func(t *testing.T) {
		st := replay(yes("loads-off"), yes("array-isolate"), yes("rest"), cannot("load-step-on"), yes("battery-connected"), good(step("polarity")),
			yes("array-connect"), yes("loads-back"), yes("load-step-on"))
		assert.True(t, st.Has(LoadStepOn))
		assert.NotContains(t, ids(p.Allowed(st)), "load_step.post_v")
		s, _, _ := p.Next(st, nothing)
		assert.Equal(t, "load-step-off", s.ID)
	})
	t.Run("isolated a second time", func(t *testing.T) {
		again := func(id string) Outcome { o := good(step(id)); o.Again = true; return o }
		first := []Outcome{yes("loads-off"), yes("array-isolate"), cannot("open_v"), yes("battery-connected"), good(step("polarity")), yes("array-connect"),
			yes("loads-back"), yes("proved"), yes("labels")}
		s, _, _ := p.Next(replay(first...), only(map[reading.Key]float64{reading.StandbyA: 9}))
		assert.Equal(t, "loads-off", s.ID, "leaving has begun, but a correction made a reading worth it")
		second := append(first, again("loads-off"))
		s, _, _ = p.Next(replay(second...), only(map[reading.Key]float64{reading.StandbyA: 9}))
		assert.Equal(t, "no-current", s.ID, "whether a current flows is asked anew")
		second = append(second, again("no-current"), again("array-isolate"), yes("standby_a"))
		st := replay(second...)
		assert.True(t, st.Has(ArrayIsolated))
		for _, want := range []string{"battery-connected", "polarity", "array-connect", "loads-back", "proved"} {
			s, _, _ := p.Next(st, nothing)
			require.Equal(t, want, s.ID)
			second = append(second, again(want))
			st = replay(second...)
		}
		assert.False(t, st.Has(ArrayIsolated) || st.Has(LoadsOff))
		assert.Equal(t, []LeftOpen{{ArrayIsolated, "no access"}}, p.Left(replay(append(second, cannot("array-connect"))...)), "a correction of the second time")
	})
	t.Run("an unknown step changes nothing", func(t *testing.T) {
		assert.Equal(t, replay(), replay(yes("no such step")))
	})
}

func TestNextReading(t *testing.T) {
	p := For(flooded12())
	taken := func(keys ...reading.Key) func(reading.Key) bool {
		return func(k reading.Key) bool {
			for _, x := range keys {
				if x == k {
					return true
				}
			}
			return false
		}
	}
	tests := []struct {
		name  string
		taken func(reading.Key) bool
		worth Worth
		want  string
	}{
		{"lowest rung", taken(), only(map[reading.Key]float64{reading.OpenV: 1, reading.PostV: 0.1}), "post_v"},
		{"a look that teaches nothing is not asked", taken(), only(map[reading.Key]float64{reading.Sky: 0.001, reading.PostV: 0.1}), "post_v"},
		{"not again", taken(reading.PostV), only(map[reading.Key]float64{reading.OpenV: 1, reading.PostV: 1}), "open_v"},
		{"the rest is not worth its minutes", taken(), only(map[reading.Key]float64{reading.RestV: 0.1}), ""},
		{"but was waited for", taken(reading.Minutes), only(map[reading.Key]float64{reading.RestV: 0.1}), "rest_v"},
		{"as found, though isolated readings are there", taken(reading.OpenV), only(map[reading.Key]float64{reading.ArrayV: 1}), "array_v"},
		{"nothing", taken(), nothing, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, ok := p.NextReading(tt.taken, tt.worth)
			assert.Equal(t, tt.want != "", ok)
			assert.Equal(t, tt.want, s.ID)
		})
	}
	s, ok := For(highArray()).NextReading(taken(), only(map[reading.Key]float64{reading.OpenV: 1, reading.ArrayV: 1}))
	assert.False(t, ok, "%s is above the limit", s.ID)
}

// A choice that rests on a check counts only where that check was made in this
// visit: a clamp that was not zeroed does not show that no current flows.
func TestChoiceRestsOnACheck(t *testing.T) {
	p := For(flooded12())
	noCurrent, _ := p.Step("no-current")
	const clamp = "plug-zero"
	require.Contains(t, noCurrent.Choices.IDs(), clamp)
	zeroed, _ := p.Step("clamp-fit")

	var st State
	assert.NotContains(t, p.Offer(st, noCurrent).Choices.IDs(), clamp)
	refused := p.Apply(st, chosen(noCurrent, clamp))
	assert.Equal(t, Refused, refused.Mark("no-current"))
	assert.Contains(t, refused.Reason("no-current"), zeroed.Title)
	assert.Equal(t, Good, p.Apply(st, chosen(noCurrent, "switch")).Mark("no-current"))

	for _, not := range []Outcome{{Step: "clamp-fit", Kind: Cannot}, {Step: "clamp-fit", Kind: Done}} {
		assert.NotContains(t, p.Offer(p.Apply(st, not), noCurrent).Choices.IDs(), clamp)
	}
	st = p.Apply(st, good(zeroed))
	assert.Contains(t, p.Offer(st, noCurrent).Choices.IDs(), clamp)
	assert.Equal(t, Good, p.Apply(st, chosen(noCurrent, clamp)).Mark("no-current"))
}

// The current of a short circuit is shown where posts are bare. 80 Ah at
// 0.10 ohm.Ah per cell: 2.108 V x 80 / 0.10 = 1690 A; ampere-hours scale it.
func TestShortCircuitCurrentIsInTheCautions(t *testing.T) {
	big := flooded12()
	big.Battery.CapacityAh = 800
	for s, amps := range map[*site.Site]string{flooded12(): "1700 A", big: "17000 A"} {
		for _, id := range []string{"jewellery", "tools", "post_v", "rest_v", "load_step.post_v", "battery-connect"} {
			step, _ := For(s).Step(id)
			assert.Contains(t, step.Caution, amps, id)
		}
	}
	isolate, _ := For(flooded12()).Step("array-isolate")
	assert.Contains(t, isolate.Caution, "25 V on a cold morning", "22.1 V x (1 + 0.0032 x 35) = 24.6 V") // computed by hand
}
