package procedure

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// texts are all that a person may read of s.
func texts(s Step) []string {
	list := []string{s.RungTitle, s.Title, s.Purpose, s.Do, s.Meter, s.Probes, s.Surprise, s.Caution, s.Who, s.StopText, s.Skip, s.Source,
		strings.ReplaceAll(s.Normal, "{range}", "1 to 2 V")}
	return slices.Concat(list, s.Reasons.Texts(), s.Choices.Texts(), s.Checks.Texts())
}

var sentenceEnd = regexp.MustCompile(`[.?!]( |$)`)

func sentences(text string) []string {
	return slices.DeleteFunc(sentenceEnd.Split(text, -1), func(s string) bool { return strings.TrimSpace(s) == "" })
}

// twoActions are the signs of a second action in what a step says to do: a
// "then", an "and" with another verb, or a second command. Reading, choosing,
// giving and showing what was done belong to the one action.
var twoActions = regexp.MustCompile(`[Tt]hen |, then|\. (Take|Open|Close|Connect|Switch|Set|Put|Wait|Check|Keep|Leave|Let|Write|Note|Do it|Press|Unplug)\b|and (press|close|open|connect|take|put|wait|check|write|switch)\b`)

func TestTexts(t *testing.T) {
	for _, s := range allSites() {
		for _, step := range For(s).Steps {
			t.Run(s.Name+"/"+step.ID, func(t *testing.T) {
				for _, text := range texts(step) {
					for _, sentence := range sentences(text) {
						assert.LessOrEqual(t, len(strings.Fields(sentence)), 25, "long sentence: %s", sentence)
					}
					assert.NotContains(t, text, "{")
					assert.NotContains(t, text, "<no value>")
					assert.NotContains(t, text, "  ")
					assert.Equal(t, -1, strings.IndexFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }), "%q", text)
				}
				assert.NotEmpty(t, step.Title)
				assert.NotEmpty(t, step.Purpose)
				assert.NotEmpty(t, step.Do)
				assert.NotEmpty(t, step.Who)
				assert.NotEmpty(t, step.Reasons)
				assert.NotEmpty(t, step.Skip)
				if step.Rung > Look && step.Rung < Leave {
					assert.Contains(t, step.Codes, "Local codes")
				}
				assert.Regexp(t, "read|from memory|common practice|makers|manual|choice of this project", step.Source, "a source, and whether it was at hand")
				assert.NotRegexp(t, twoActions, step.Do)
				for _, text := range slices.Concat(step.Choices, step.Checks).Texts() {
					assert.LessOrEqual(t, len(text), 60, "cut on a small screen: %s", text)
				}
				assert.Positive(t, step.Minutes)
				if step.ID != "limits" {
					assert.LessOrEqual(t, len(sentences(step.Do)), 2, step.Do)
				}
				if step.Kind == Confirm {
					assert.True(t, strings.HasSuffix(step.Do, "?"), "a confirmation ends in its question: %s", step.Do)
					assert.Contains(t, []string{"yes", "no"}, step.Good)
					assert.NotEmpty(t, step.StopText)
				}
			})
		}
	}
}

// What a reading's instrument asks of its step, from the trade: a voltmeter has
// two probes and a range, a clamp has one wire and an arrow and is zeroed
// (common practice). No current is measured with probes, across any source.
func TestReadingsSayHow(t *testing.T) {
	for _, s := range allSites() {
		for _, step := range For(s).Steps {
			for _, point := range []string{step.Red, step.Black, step.Clamp} {
				if point != "" {
					assert.Contains(t, Points, point, step.ID)
				}
			}
			if slices.Contains(activeTests, step.ID) {
				assert.NotEmpty(t, step.Clamp, step.ID)
				assert.Contains(t, step.Do, "What did ", "it ends in what was seen")
				continue
			}
			if step.Kind != Take {
				assert.Empty(t, step.Red+step.Black+step.Clamp, step.ID)
				continue
			}
			spec, ok := reading.SpecOf(step.Reading)
			require.True(t, ok, step.ID)
			assert.Equal(t, string(step.Reading), step.ID, "a reading's step is named by it")
			assert.NotEmpty(t, step.Surprise, step.ID)
			assert.NotEmpty(t, step.Normal, step.ID)
			if spec.Section != "place" && spec.Form != reading.Word && step.Reading != reading.Minutes && step.Reading != reading.StepA && step.Reading != reading.RunW {
				assert.Contains(t, step.Normal, "{range}", step.ID)
			}
			switch spec.Meter {
			case reading.Voltmeter:
				assert.Contains(t, step.Meter, "DC volts", step.ID)
				assert.Contains(t, step.Meter, "range", step.ID)
				assert.NotEmpty(t, step.Red, step.ID)
				assert.NotEmpty(t, step.Black, step.ID)
				assert.Empty(t, step.Clamp, step.ID)
				assert.NotEmpty(t, step.Caution, step.ID)
				if spec.Form == reading.Number {
					assert.InDelta(t, TouchV, step.StopAbove, 0, step.ID)
				}
			case reading.Clamp:
				assert.Contains(t, step.Meter, "DC amperes", step.ID)
				assert.Contains(t, step.Probes, "Zero with empty jaws", step.ID)
				assert.Regexp(t, "ONE (wire|post)", step.Probes, step.ID)
				assert.Contains(t, step.Probes, "Arrow", step.ID)
				assert.NotEmpty(t, step.Clamp, step.ID)
				assert.Empty(t, step.Red+step.Black, step.ID)
			case reading.NoMeter:
				if step.Reading == reading.USBV || step.Reading == reading.OutputW { // a meter of its own, which no file describes
					assert.Contains(t, step.Meter, "USB meter", step.ID)
					continue
				}
				assert.Empty(t, step.Meter+step.Probes, step.ID)
			default:
				assert.NotEmpty(t, step.Meter, step.ID)
				assert.NotEmpty(t, step.Probes, step.ID)
			}
		}
	}
}

// The catalogue names only steps, rungs and conditions that exist.
func TestCatalogue(t *testing.T) {
	c := embedded()
	ids := map[string]bool{}
	for r := Prepare; r <= Leave; r++ {
		ids[r.String()] = true
	}
	for _, s := range c.Steps {
		assert.False(t, ids[s.ID], "%s stands twice", s.ID)
		ids[s.ID] = true
	}
	last := Prepare
	for _, s := range c.Steps {
		for _, id := range slices.Concat(s.Opens, s.First, s.After) {
			assert.True(t, ids[id] || strings.HasPrefix(id, "place."), "%s names %s", s.ID, id)
		}
		for _, name := range s.If {
			assert.Contains(t, siteHas, name, s.ID)
		}
		assert.Contains(t, []circuit{noCircuit, arrayCircuit, controllerCircuit, loadCircuit, batteryCircuit}, s.Touches, s.ID)
		assert.Contains(t, []when{anytime, stopped, stoppedOpen, left, probed, measuring, byVisit, danger, emergency}, s.When, s.ID)
		assert.Contains(t, []Kind{Confirm, Take, Choose, Act, Say}, s.Kind, s.ID)
		assert.GreaterOrEqual(t, s.Rung, last, "%s stands after a higher rung", s.ID)
		last = s.Rung
	}
	assert.Len(t, c.Rungs, int(Leave)+1)
	taken := map[reading.Key]bool{}
	for _, s := range c.Steps {
		taken[s.Reading], taken[s.Notes] = true, true
		for _, o := range s.Choices {
			taken[reading.Seen] = taken[reading.Seen] || o.Sign != ""
			assert.True(t, o.Sign == "" || slices.Contains(reading.Damages, o.Sign), "%s: %s", s.ID, o.Sign)
			if spec, ok := reading.SpecOf(s.Notes); ok && spec.Form == reading.Several {
				assert.Contains(t, spec.Choices, o.ID, s.ID)
			}
		}
	}
	for _, spec := range reading.Specs {
		assert.True(t, taken[spec.Key], "no step takes %s", spec.Key)
	}
}

func TestTextsOfTheSite(t *testing.T) {
	step := func(s *site.Site, id string) Step {
		st, ok := For(s).Step(id)
		require.True(t, ok, id)
		return st
	}
	// Common practice: 20 V range at a 12 V system unless the array's
	// open-circuit voltage may exceed it (22.1 V here).
	assert.Equal(t, "DC volts, 20 V range or AUTO", step(flooded12(), "post_v").Meter)
	assert.Equal(t, "DC volts, 200 V range or AUTO", step(flooded12(), "array_v").Meter)
	assert.Equal(t, "DC volts, 200 V range or AUTO", step(mppt24(), "post_v").Meter)
	assert.Equal(t, "DC volts, 20 V range", step(mppt24(), "block_v").Meter)
	assert.Contains(t, step(mppt24(), "block_v").Do, "2 blocks")
	assert.Contains(t, step(flooded12(), "gravity").Do, "6 cells")
	assert.Contains(t, step(flooded12(), "array-isolate").Caution, "10 A fuse")
	assert.Contains(t, step(flooded12(), "load-step-on").Do, "ward lamps")
	// A load that comes and goes is no measure; several steady ones are a better one
	// (common practice).
	clinic := flooded12()
	clinic.Loads = []site.Load{{Label: "Fridge", PowerW: 60}, {Label: "radio", PowerW: 5}, {Label: "lamps", PowerW: 30}, {Label: "phone charger", PowerW: 40}}
	assert.Equal(t, `Switch on "lamps" and "radio", and nothing else.`, step(clinic, "load-step-on").Do)
	assert.Equal(t, `Switch "lamps" and "radio" off.`, step(clinic, "load-step-off").Do)
	clinic.Loads = clinic.Loads[:1]
	assert.Contains(t, step(clinic, "load-step-on").Do, "Fridge", "there is no other")
	// Ten times the load makes a larger drop; a load of a fifth of the capacity is not small.
	clinic.Loads = []site.Load{{Label: "lamps", PowerW: 200}}
	assert.NotContains(t, step(clinic, "load_step.post_v").Surprise, "small")
	assert.Contains(t, step(flooded12(), "load_step.post_v").Surprise, "More than 0.2 V below")
	assert.Contains(t, step(clinic, "load_step.post_v").Surprise, "More than 0.6 V below")
	// Between nearly full and nearly empty a lithium pack's voltage is flat.
	assert.Contains(t, step(lfp12(), "rest_v").Surprise, "Between 40 and 70 %")
	assert.NotContains(t, step(lfp12(), "rest").Do, "lamp")
	assert.Contains(t, step(flooded12(), "rest").Do, "run one lamp for 10 minutes")
	assert.NotContains(t, step(flooded12(), "rest_v").Surprise, "40 and 70")
	// The battery's current is the net at its post, also where loads are wired to it.
	assert.Contains(t, step(flooded12(), "battery_a").Probes, "around ONE wire.")
	assert.Contains(t, step(mppt24(), "battery_a").Do, "all wires of the battery's plus post")
	assert.Equal(t, []string{"lit", "out"}, step(flooded12(), "lamps.array lamp").Choices.IDs())
	assert.Equal(t, []string{"ward lamps", "phone charging"}, step(flooded12(), "loads-on").Choices.IDs())
	assert.Equal(t, []string{"dark", "overcast", "hazy", "clear"}, step(flooded12(), "sky").Choices.IDs())
}

var idForm = regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)

// What a journal keeps of a choice, a check or a reason has one meaning within its step.
func TestChoicesHaveIDs(t *testing.T) {
	for _, s := range embedded().Steps {
		var choices Choices
		for _, o := range s.Choices {
			choices = append(choices, o.choice())
		}
		for _, c := range slices.Concat(choices, s.Checks) {
			assert.Regexp(t, idForm, c.ID, "%s: %s", s.ID, c.Text)
		}
		ids := slices.Concat(choices, s.Checks).IDs()
		slices.Sort(ids)
		assert.Len(t, slices.Compact(ids), len(s.Choices)+len(s.Checks), s.ID)
	}
	for _, r := range embedded().Rungs {
		ids := r.Reasons.IDs()
		slices.Sort(ids)
		assert.Len(t, slices.Compact(ids), len(r.Reasons), r.Title)
		for _, id := range ids {
			assert.Regexp(t, idForm, id, r.Title)
		}
	}
}

func TestLabelsAreCleaned(t *testing.T) {
	s := flooded12()
	s.Controller.Lamps[0].Label = "red\x1b[2J lamp"
	s.Loads[0].Label = "ward\x07 lamps"
	p := For(s)
	lamp, ok := p.StepFor(reading.Lamp("red\x1b[2J lamp"))
	require.True(t, ok)
	assert.Equal(t, "Indicator: red lamp", lamp.Title)
	on, _ := p.Step("load-step-on")
	assert.Contains(t, on.Do, "ward lamps")
}

// Every site of the cases has a procedure with whole texts.
func TestSitesOfTheCases(t *testing.T) {
	files, err := filepath.Glob("../../../testdata/cases/*/site.toml")
	require.NoError(t, err)
	require.Len(t, files, 64)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		s, err := site.Parse(file, text)
		require.NoError(t, err)
		p := For(s)
		_, isolates := p.Step("array-isolate")
		assert.Equal(t, s.OpenCircuitColdV() <= TouchV, isolates, file)
		for _, step := range p.Steps {
			for _, text := range texts(step) {
				assert.NotContains(t, text, "{", file)
			}
		}
	}
}
