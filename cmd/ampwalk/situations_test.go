package main

import (
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose"
	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/plant"
	"ampwalk/diagnose/procedure"
	"ampwalk/diagnose/quantity"
	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
	"ampwalk/diagnose/summary"
	"ampwalk/tui/line"
)

// A person on site reads the question that a visit asks and types what the
// meters and lamps of a plant show, one line for each Read.
type person struct {
	t     *testing.T
	visit *diagnose.Visit
	out   *plant.Out
	sky   string
	loads string
	asked int
}

func (p *person) Read(b []byte) (int, error) {
	if p.asked++; p.asked > 150 {
		return 0, io.EOF
	}
	return copy(b, p.answer(p.visit.Prompt())+"\n"), nil
}

func (p *person) answer(q diagnose.Prompt) string {
	switch k := q.Step.Reading; {
	case k == reading.Sky:
		return p.sky
	case k == reading.Minutes:
		return "45"
	case q.Step.Kind == procedure.Choose:
		return p.loads
	case q.Step.Kind != procedure.Take:
		return goodAnswer(q)
	case q.Spec.Form == reading.Word && q.Spec.Section == "as_found.lamps":
		return p.lamp(q.Spec.Name)
	case q.Spec.Form == reading.Word:
		return q.Step.Choices[0] // no shade, clean glass
	default:
		return p.number(k)
	}
}

// number is what the instrument shows: the plant's value to its last place.
func (p *person) number(k reading.Key) string {
	spec, _ := reading.SpecOf(k)
	switch k {
	case reading.BlockV:
		return fmt.Sprintf("%.2f", p.out.Value[plant.RestV])
	case reading.Gravity:
		v := p.out.Value
		others := strings.Repeat(fmt.Sprintf(" %.3f", v[plant.GravityRest]), 5)
		return fmt.Sprintf("%.3f", v[plant.GravityLow]) + others
	}
	i, ok := plant.IndexOf(k)
	require.True(p.t, ok, k)
	return quantity.Format(p.out.Value[i], spec.Unit)
}

// lamp is how the demo site's lamp looks, by what its file says the looks mean.
func (p *person) lamp(label string) string {
	o, v := p.out, p.out.BusV
	means := map[string]map[bool]string{
		"array lamp": {o.ArrayLive: "lit", !o.ArrayLive: "out"},
		"load lamp":  {o.LoadsLive: "lit", !o.LoadsLive: "out"},
	}
	if m, ok := means[label]; ok {
		return m[true]
	}
	switch {
	case v > 12.8:
		return "three bars"
	case v > 12.0:
		return "two bars"
	default:
		return "one bar"
	}
}

// The visits that a newcomer meets first, line by line at the demo site from
// the first question to the summary. What each should say is common practice.
func TestSituationsEndInTheRightWords(t *testing.T) {
	if testing.Short() {
		t.Skip("five whole visits take a while")
	}
	noon := time.Date(2026, 11, 20, 12, 15, 0, 0, time.FixedZone("", 2*3600))
	tests := []struct {
		name   string
		at     time.Time
		sky    string
		change func(u *plant.Unknowns)
		leader condition.ID
		says   []string
	}{
		{"sound", noon, "clear", func(u *plant.Unknowns) { u.SoC = 0.5 }, condition.Sound, []string{
			"There is light on the array", "Current from the array reaches the battery side",
			"The controller holds back nothing", "Everything works as designed",
		}},
		{"disconnected in daylight", noon, "clear", func(u *plant.Unknowns) {
			u.SoC, u.Fault.ArrayOpen = 0.5, plant.AfterPlug
		}, condition.ArrayOpen, []string{
			"There is light on the array", "No current from the array reaches the battery side",
			"Something does not work as designed", "close what is open",
		}},
		{"held back, nearly full", noon, "clear", func(u *plant.Unknowns) {
			u.SoC, u.FloatStage, u.LoadW = 0.99, true, 0
		}, condition.Sound, []string{
			"The controller holds back part of the array's power", "Everything works as designed", "could give about",
		}},
		{"night", noon.Add(10 * time.Hour), "dark", func(u *plant.Unknowns) {
			u.SoC, u.Irradiance, u.IrradianceIsolated, u.CellC, u.CellCIsolated = 0.6, 0, 0, u.AirC, u.AirC
		}, condition.Sound, []string{
			"It is dark on the array", "No current from the array reaches the battery side", "Everything works as designed",
		}},
		{"blown load fuse", noon, "clear", func(u *plant.Unknowns) { u.SoC, u.Fault.LoadOpen = 0.5, true }, condition.LoadOpen, []string{
			"There is light on the array", "Current from the array reaches the battery side", "Something does not work as designed", "fuse",
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			u := plant.Typical()
			u.LoadW = site.Demo().AllListedW()
			tt.change(&u)
			var out plant.Out
			p := plant.New(site.Demo(), 45)
			p.Solve(&u, &out)
			loads := "all"
			if u.LoadW == 0 {
				loads = "none"
			}

			v, err := diagnose.New(diagnose.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: tt.at}, nowhere{})
			require.NoError(t, err)
			var text strings.Builder
			done, err := line.Run(line.Options{
				Visit: v, Infer: belief.Infer, Now: func() time.Time { return tt.at },
				Summary: func(v *diagnose.Visit) string { return summary.OfVisit(v).Text() },
				In:      &person{t: t, visit: v, out: &out, sky: tt.sky, loads: loads}, Out: &text,
			})
			require.NoError(t, err)
			require.True(t, done, "%s", text.String()[max(0, text.Len()-2000):])
			_, end, found := strings.Cut(text.String(), "VISIT SUMMARY")
			require.True(t, found)
			t.Logf("%d readings, %s %.2f", len(v.Input().Readings.Numbers)+len(v.Input().Readings.Words), v.Belief().Leader().ID, v.Belief().Leader().P)
			assert.Equal(t, tt.leader, v.Belief().Leader().ID, end)
			assert.Greater(t, v.Belief().Leader().P, 0.5)
			words := strings.Join(strings.Fields(end), " ")
			for _, s := range tt.says {
				assert.Contains(t, words, s)
			}
		})
	}
}
