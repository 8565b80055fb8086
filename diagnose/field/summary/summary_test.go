package summary

import (
	"flag"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

var update = flag.Bool("update", false, "write the golden files anew")

var start = time.Date(2026, 11, 20, 10, 30, 0, 0, time.FixedZone("", 2*3600))

type nowhere struct{}

func (nowhere) Append(visiting.Entry) error { return nil }

// visit is a visit to the demo site with the steps answered as typed;
// "cannot …", "note …" and "stop …" are given as such.
func visit(t require.TestingT, answers ...[2]string) *visiting.Visit {
	v, err := visiting.New(visiting.Head{
		ID: "20261120-1030-lantern-hill-clinic", SiteTOML: string(site.DemoTOML()), Who: "A. Visitor", StartedAt: start,
	}, nowhere{})
	require.NoError(t, err)
	for i, a := range answers {
		s, ok := v.Procedure().Step(a[0])
		require.True(t, ok, a[0])
		p := visiting.Prompt{Step: s}
		p.Spec, _ = reading.SpecOf(s.Reading)
		kind, rest, _ := strings.Cut(a[1], " ")
		answer := visiting.Answer{Step: s.ID, Kind: visiting.AnswerKind(kind), Reason: rest}
		switch answer.Kind {
		case visiting.Cannot:
			answer.Reading = s.Reading
		case visiting.Note, visiting.Stop:
		default:
			answer, err = v.ReadAnyway(p, a[1])
			require.NoError(t, err)
		}
		answer.At = start.Add(time.Duration(i+1) * time.Minute)
		require.NoError(t, v.Give(answer))
	}
	return v
}

func dayState() belief.State {
	return belief.State{
		Daylight: 0.999, Charging: 0.02, LoadsCut: 0.01, AsDesigned: 0.03,
		ChargeLevel: belief.Interval{Mean: 0.55, P05: 0.42, P95: 0.68},
		HoursToCut:  belief.Interval{Mean: 14.2, P05: 9.4, P95: 20},
	}
}

// arrayOpen is a belief as daylight, a live module and no array current give.
func arrayOpen() *belief.Result {
	return &belief.Result{
		Conditions: []belief.Posterior{{ID: condition.ArrayOpen, P: 0.94}, {ID: condition.ChargePathOpen, P: 0.06}, {ID: condition.Sound, P: 0.003}},
		State:      dayState(),
		Evidence: []belief.Evidence{
			{Reading: reading.ArrayA, ForLeader: 0.1, AgainstSound: 2.4, Expected: belief.Range{Lo: 0, Hi: 0.1}, Sound: belief.Range{Lo: 3.9, Hi: 5.1}, HasRange: true},
			{Reading: reading.ArrayV, ForLeader: 1.6, AgainstSound: 1.2, Expected: belief.Range{Lo: 0, Hi: 0.1}, Sound: belief.Range{Lo: 12.6, Hi: 13.9}, HasRange: true},
			{Reading: reading.ModuleV, Sound: belief.Range{Lo: 12.9, Hi: 14.2}, HasRange: true, AgainstSound: 0.2},
			{Reading: reading.Sky, AgainstSound: 0.1},
			{Reading: reading.BatteryV, Sound: belief.Range{Lo: 12.1, Hi: 13.1}, HasRange: true},
		},
		Suspects: []belief.Suspect{{Reading: reading.ModuleV, P: 0.02}},
	}
}

func undecided() *belief.Result {
	r := arrayOpen()
	r.Conditions = []belief.Posterior{{ID: condition.Sound, P: 0.52}, {ID: condition.ArrayOpen, P: 0.41}, {ID: condition.ArrayJoint, P: 0.04}}
	r.State.Daylight, r.State.Charging, r.State.AsDesigned = 0.5, 0.03, 0.52
	r.State.Regulating = 0.6
	r.State.SpareW = belief.Interval{Mean: 12, P05: 0, P95: 31}
	r.Suspects = []belief.Suspect{{Reading: reading.ArrayV, P: 0.62}}
	for i := range r.Evidence { // against sound there is nothing to say: it leads
		r.Evidence[i].AgainstSound = 0
	}
	return r
}

func both() *belief.Result {
	r := arrayOpen()
	r.Conditions = []belief.Posterior{
		{ID: condition.ArrayOpen, P: 0.94, With: []condition.ID{condition.BatteryWorn}},
		{ID: condition.BatteryWorn, P: 0.83, With: []condition.ID{condition.ArrayOpen}},
		{ID: condition.Sound, P: 0.001},
	}
	return r
}

var whole = [][2]string{
	{"permission", "1"}, {"people", "1 2"}, {"lightning", "1"}, {"dry", "1 2"}, {"battery-look", "1"},
	{"cables-look", "1"}, {"sky", "clear"}, {"shade", "none"}, {"glass", "clean"}, {"lamps.array lamp", "out"},
	{"lamps.load lamp", "lit"}, {"loads-on", "ward lamps, radio"}, {"array_a", "0"},
	{"battery_v", "12.4"}, {"array_v", "0.02"}, {"module_v", "20.9"},
	{"gravity", "1.24 1.25 1.24 1.24 1.25 1.24"}, {"post_v", "cannot the cover is locked"},
	{"array_v", "note the plug at the array switch looks burnt, and a sticker with older readings hangs beside it"},
	{"battery_c", "61"}, {"array-isolate", "1 2"}, {"open_v", "0.1"}, {"terminals-look", "1 3"}, {"eyes", "cannot no goggles here"},
}

func TestGolden(t *testing.T) {
	stopped := append(append([][2]string{}, whole...), [2]string{"open_v", "stop it smells burnt"}, [2]string{"array-connect", "cannot owner wants it off"}, [2]string{"label-open", "1"})
	tests := []struct {
		name    string
		answers [][2]string
		result  *belief.Result
	}{
		{"array open", whole, arrayOpen()},
		{"undecided", whole[:15], undecided()},
		{"two at once, stopped", stopped, both()},
		{"nothing yet", nil, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v := visit(t, tt.answers...)
			if tt.result != nil {
				require.True(t, v.Learn(v.Seq(), tt.result))
			}
			golden(t, strings.NewReplacer(" ", "-", ",", "").Replace(tt.name), OfVisit(v).Text())
		})
	}
	t.Run("readings", func(t *testing.T) {
		in := visit(t, whole...).Input()
		golden(t, "readings", OfReadings(in, arrayOpen(), Beside{}).Text())
	})
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name+".golden")
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
	checkLines(t, got)
	for _, r := range got {
		require.True(t, r == '\n' || r >= ' ' && r <= '~' || strings.ContainsRune("±°µΩ", r), "%q would not print everywhere", r)
	}
}

func checkLines(t require.TestingT, text string) {
	for _, l := range strings.Split(text, "\n") {
		require.LessOrEqual(t, ansi.StringWidth(l), document.Width, l)
		require.Equal(t, strings.TrimRight(l, " "), l)
	}
}

func TestVerdict(t *testing.T) {
	r := belief.Range{Lo: 12, Hi: 14}
	tests := []struct {
		name    string
		volts   float64
		against float64
		wrong   float64
		doubted bool
		want    verdict
	}{
		{"inside", 13, 0, 0, false, "expected"},
		{"just outside", 14.15, 0, 0, false, "expected"},
		{"clearly outside", 14.3, 0, 0, false, "surprising"},
		{"clearly below", 11.7, 0, 0, false, "surprising"},
		{"may be wrong", 11.4, 0, 0.5, false, "suspect"},
		{"confirmed though doubtful", 13, 0, 0, true, "suspect"},
		{"speaks against sound but fits", 13.9, 2, 0, false, "expected"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			set := reading.NewSet()
			set.Numbers[reading.BatteryV] = tt.volts
			set.Doubted[reading.BatteryV] = tt.doubted
			f := facts{readings: set, result: &belief.Result{
				Evidence: []belief.Evidence{{Reading: reading.BatteryV, Sound: r, HasRange: true, AgainstSound: tt.against}},
				Suspects: []belief.Suspect{{Reading: reading.BatteryV, P: tt.wrong}},
			}}
			assert.Equal(t, tt.want, f.verdict(reading.BatteryV))
			assert.Equal(t, noted, f.verdict(reading.PostV), "without evidence")
		})
	}
}

// Every text that the program uses stands in the data file.
func TestTextsAreComplete(t *testing.T) {
	var walk func(name string, v reflect.Value)
	walk = func(name string, v reflect.Value) {
		switch v.Kind() {
		case reflect.String:
			assert.NotEmpty(t, v.String(), name)
		case reflect.Slice, reflect.Map:
			assert.NotZero(t, v.Len(), name)
		case reflect.Struct:
			for i := range v.NumField() {
				walk(name+"."+v.Type().Field(i).Name, v.Field(i))
			}
		}
	}
	walk("texts", reflect.ValueOf(texts()))
}
