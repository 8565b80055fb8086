package reading_test

import (
	"errors"
	"maps"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// oddSite has labels that need care in TOML.
func oddSite() *site.Site {
	s := site.Demo()
	s.Loads[0].Label = `lamps "A" \ B`
	s.Loads[1].Label = "pompe à eau, 診療所"
	s.Controller.Lamps[0].Label = `sun.lamp`
	s.Controller.Lamps[1].Label = `"#1" = [x]`
	s.Battery.Strings, s.Earthing = 2, site.PoleUnknown
	s.Inverter = &site.Inverter{RatedW: 300, IdleW: 6, Efficiency: 0.9, CutV: 10.5, RestoreV: 12.5, From: site.FromBattery, Lamps: s.Controller.Lamps[:1]}
	s.Charger = &site.Charger{RatedA: 10, AbsorbV: 14.4, FloatV: 13.6}
	return s
}

// anySet draws a set that a visit to the site could end with.
func anySet(t *rapid.T, s *site.Site) *reading.Set {
	set := reading.NewSet()
	yes := func(what string) bool { return rapid.Bool().Draw(t, what) }
	if yes("time known") {
		zone := time.FixedZone("", 900*rapid.IntRange(-48, 56).Draw(t, "offset"))
		set.TakenAt = time.Unix(rapid.Int64Range(1e9, 4e9).Draw(t, "time"), rapid.Int64Range(0, 999_999_999).Draw(t, "ns")).In(zone)
	}
	if yes("loads known") {
		set.LoadsOn = []string{}
		for _, l := range s.Loads {
			if yes(l.Label) {
				set.LoadsOn = append(set.LoadsOn, l.Label)
			}
		}
	}
	for _, m := range slices.Sorted(maps.Keys(set.Instruments)) {
		limit := rapid.Float64Range(0.001, 10)
		if yes(string(m)) {
			set.Instruments[m] = quantity.Instrument{PlusMinus: limit.Draw(t, "±")}
		} else {
			set.Instruments[m] = quantity.Instrument{Percent: limit.Draw(t, "%"), Digits: limit.Draw(t, "digits"), Resolution: limit.Draw(t, "resolution")}
		}
		in := set.Instruments[m]
		in.Name = rapid.SampledFrom([]string{"", "meter 3", `"#1" \\`}).Draw(t, "name")
		in.Calibrated = rapid.SampledFrom([]string{"", "2026-05", "2026-05-14"}).Draw(t, "calibrated")
		set.Instruments[m] = in
	}
	number := func(k reading.Key) float64 {
		var outer *reading.LimitError
		require.ErrorAs(t, reading.Possible(k, math.Inf(1), s), &outer)
		v := rapid.Float64Range(outer.Limits.Min, outer.Limits.Max).Draw(t, string(k))
		if reading.Plausible(k, v, s) != nil {
			set.Doubted[k] = true
		}
		return v
	}
	for _, spec := range reading.Specs {
		if !reading.Offered(spec.Key, s) {
			continue
		}
		switch rapid.IntRange(0, 2).Draw(t, "given") {
		case 0:
			continue
		case 1:
			set.NotTaken = append(set.NotTaken, spec.Key)
			continue
		}
		switch spec.Form {
		case reading.Word:
			set.Words[spec.Key] = rapid.SampledFrom(spec.Choices).Draw(t, string(spec.Key))
		case reading.Number:
			set.Numbers[spec.Key] = number(spec.Key)
		case reading.List:
			n, _ := reading.ListLen(spec.Key, s)
			for range n {
				set.Lists[spec.Key] = append(set.Lists[spec.Key], number(spec.Key))
			}
		case reading.YesNo:
			set.Words[spec.Key] = rapid.SampledFrom([]string{"false", "true"}).Draw(t, string(spec.Key))
		case reading.Several:
			choices := slices.DeleteFunc(slices.Clone(reading.ChoicesOf(spec, s)), func(id string) bool { return id == reading.None })
			set.Several[spec.Key] = rapid.SliceOfDistinct(rapid.SampledFrom(choices), rapid.ID).Draw(t, string(spec.Key))
		}
	}
	for _, l := range s.Controller.Lamps {
		if yes(l.Label) {
			set.Words[reading.Lamp(l.Label)] = rapid.SampledFrom(l.Looks).Draw(t, "look").Look
		}
	}
	for _, l := range s.Inverter.Lamps {
		if yes(l.Label) {
			set.Words[reading.InverterLamp(l.Label)] = rapid.SampledFrom(l.Looks).Draw(t, "look").Look
		}
	}
	return set
}

func TestFormatParses(t *testing.T) {
	s := oddSite()
	rapid.Check(t, func(t *rapid.T) {
		set := anySet(t, s)
		text := reading.Format(set)
		again, err := reading.Parse("f", text, s)
		require.NoError(t, err, "%s", text)
		assert.True(t, set.TakenAt.Equal(again.TakenAt))
		_, offset := set.TakenAt.Zone()
		_, offsetAgain := again.TakenAt.Zone()
		assert.Equal(t, offset, offsetAgain)
		again.TakenAt = set.TakenAt
		assert.Equal(t, set, again)
		assert.Equal(t, string(text), string(reading.Format(again)))
	})
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(whole))
	for _, text := range []string{
		"", "\ufeff", "taken_at = 2026-01-01", "loads_on = [1, nan]", "[as_found.lamps]\n\"array lamp\" = \"lit\"",
		"as_found = {sky = \"clear\", lamps = {x = 1}}", "[[as_found]]", "[instrument]\nclamp = 1", "not_taken = [\"lamps.\", \"\\u001b\"]",
		"[battery_rested]\ngravity = [nan, inf, 1, 1, 1, 1]\nminutes = 1e400",
	} {
		f.Add([]byte(text))
	}
	s := site.Demo()
	f.Fuzz(func(t *testing.T, data []byte) {
		set, err := reading.Parse("f", data, s)
		if err != nil {
			assert.Nil(t, set)
			var problems tomlfile.Problems
			require.True(t, errors.As(err, &problems) && len(problems) > 0)
			for _, p := range problems {
				assert.Equal(t, plaintext.Clean(p.Error()), p.Error())
			}
			return
		}
		for k, v := range set.Numbers {
			assert.NoError(t, reading.Possible(k, v, s)) // no NaN among them
		}
		for k, vs := range set.Lists {
			for _, v := range vs {
				assert.NoError(t, reading.Possible(k, v, s))
			}
		}
		for m, in := range set.Instruments {
			assert.Positive(t, in.Limit(1), m)
		}
		again, err := reading.Parse("again", reading.Format(set), s)
		require.NoError(t, err)
		assert.True(t, set.TakenAt.Equal(again.TakenAt))
		again.TakenAt = set.TakenAt
		assert.Equal(t, set, again)
	})
}
