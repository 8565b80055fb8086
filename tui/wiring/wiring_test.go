package wiring_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/wiring"
)

func text(lines []wiring.Line) string {
	var b strings.Builder
	for _, l := range lines {
		for _, sp := range l {
			b.WriteString(sp.Text)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// direct is the demo site with its loads wired to a battery of two blocks and
// four strings of three modules.
func direct() *site.Site {
	s := site.Demo()
	s.Controller.LoadOutput = false
	s.Battery.Blocks = 2
	s.Array.Strings, s.Array.Series = 4, 3
	return s
}

// closedKit is a kit with one panel and two USB outputs.
func closedKit() *site.Site {
	s := site.Demo()
	s.Kit, s.Array.Strings, s.Array.FuseA, s.Battery.CapacityAh = &site.Kit{USB: 2}, 1, 0, 6
	return s
}

func TestDraw(t *testing.T) {
	looks := map[string]string{"array lamp": "lit", "battery lamp": "two bars"}
	tests := []struct {
		name string
		view wiring.View
	}{
		{"probes at the array terminals", wiring.View{Site: site.Demo(), Red: "array+", Black: "array-", Looks: looks}},
		{"array off, probes on its side", wiring.View{Site: site.Demo(), Red: "array-side+", Black: "array-side-", Open: wiring.Open{Array: true}}},
		{"array shorted, loads off, clamp", wiring.View{Site: site.Demo(), Clamp: "array-wire", Open: wiring.Open{Array: true, Shorted: true, Loads: true}}},
		{"lamp asked", wiring.View{Site: site.Demo(), Lamp: "load lamp", Looks: looks}},
		{"direct loads, one block", wiring.View{Site: direct(), Red: "block+", Black: "block-"}},
		{"direct loads, clamp at the post", wiring.View{Site: direct(), Clamp: "battery-wire"}},
		{"clamp along the flow", wiring.View{Site: site.Demo(), Clamp: "array-wire", Arrow: wiring.Along}},
		{"clamp against the flow", wiring.View{Site: site.Demo(), Clamp: "load-wire", Arrow: wiring.Against}},
		{"clamp into the battery", wiring.View{Site: site.Demo(), Clamp: "battery-wire", Arrow: wiring.Along}},
		{"clamp around both", wiring.View{Site: site.Demo(), Clamp: "battery-wire", Both: true}},
		{"read, the fault held to be at the array's wires", wiring.View{Site: site.Demo(), Red: "array+", Black: "array-", Fault: wiring.AtArrayWire,
			Taken: wiring.Taken{Array: wiring.Pair{V: "0.02 V", A: "0.00 A"}, Battery: wiring.Pair{V: "12.31 V", A: "-1.45 A"}, Loads: wiring.Pair{A: "1.45 A"}}}},
		{"read, the fault held to be in the battery", wiring.View{Site: direct(), Fault: wiring.AtBattery, Taken: wiring.Taken{Battery: wiring.Pair{V: "23.10 V"}, Array: wiring.Pair{V: "70.3 V", A: "4.10 A"}}}},
		{"parts, probes at the inverter", wiring.View{Site: equipped(), Red: "inverter+", Black: "inverter-"}},
		{"parts, clamp toward the inverter", wiring.View{Site: equipped(), Clamp: "inverter-wire", Arrow: wiring.Along}},
		{"parts, clamp on the charger", wiring.View{Site: equipped(), Clamp: "charger-wire", Arrow: wiring.Along}},
		{"parts, clamp on each string", wiring.View{Site: equipped(), Clamp: "string-wires"}},
		{"parts, plus to earth", wiring.View{Site: equipped(), Red: "post+", Black: "earth"}},
		{"parts, inverter's lamp", wiring.View{Site: equipped(), InverterLamp: "front light", InverterLooks: map[string]string{"front light": "green"}}},
		{"kit, probes at the adapter lead", wiring.View{Site: closedKit(), Red: "array+", Black: "array-"}},
		{"kit, at a lamp socket", wiring.View{Site: closedKit(), Red: "load+", Black: "load-", Fault: wiring.AtBattery}},
		{"kit, its plug out", wiring.View{Site: closedKit(), Red: "array-side+", Black: "array-side-", Open: wiring.Open{Array: true}}},
		{"direct loads, battery off", wiring.View{Site: direct(), Red: "load-end+", Black: "load-end-", Open: wiring.Open{Battery: true}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			golden.RequireEqual(t, []byte(text(wiring.Draw(tt.view, 80, 8, true))+"\n"+text(wiring.Draw(tt.view, 60, 24, true))+"\n"+
				text(wiring.Draw(tt.view, 58, 16, true))+"\n"+text(wiring.Draw(tt.view, 58, 16, false))))
		})
	}
}

// anySite is a site of any make that the drawing may meet.
func anySite(t *rapid.T) *site.Site {
	s := site.Demo()
	s.NominalV = rapid.SampledFrom([]float64{12, 24, 48}).Draw(t, "volts")
	s.Array.Series, s.Array.Strings = rapid.IntRange(1, 12).Draw(t, "series"), rapid.IntRange(1, 40).Draw(t, "strings")
	s.Array.FuseA = rapid.SampledFrom([]float64{0, 7.5, 10, 250}).Draw(t, "array fuse")
	s.Battery.FuseA = rapid.SampledFrom([]float64{0, 20, 250}).Draw(t, "battery fuse")
	s.LoadWiring.FuseA = rapid.SampledFrom([]float64{0, 5, 100}).Draw(t, "load fuse")
	s.Battery.Blocks = rapid.IntRange(1, 24).Draw(t, "blocks")
	s.Battery.CapacityAh = rapid.Float64Range(7, 3000).Draw(t, "capacity")
	s.Controller.LoadOutput = rapid.Bool().Draw(t, "load output")
	s.Controller.Kind = rapid.SampledFrom([]site.Kind{site.Series, site.Shunt, site.MPPT}).Draw(t, "kind")
	if rapid.Bool().Draw(t, "parts") {
		addParts(s)
		s.Earthing = rapid.SampledFrom([]site.Pole{"", site.PoleNone, site.PolePlus, site.PoleMinus, site.PoleUnknown}).Draw(t, "pole")
		s.Inverter.From = rapid.SampledFrom([]site.Source{site.FromBattery, site.FromOutput}).Draw(t, "inverter from")
		s.Inverter.RatedW = rapid.Float64Range(30, 20000).Draw(t, "inverter")
	}
	return s
}

// addParts adds an inverter, a charger, a second battery string, a load past the controller
// and an earthed pole.
func addParts(s *site.Site) {
	s.Earthing, s.Battery.Strings = site.PoleMinus, 2
	s.Loads = append(slices.Clone(s.Loads), site.Load{Label: "alarm", PowerW: 4, From: site.FromBattery}, site.Load{Label: "laptop", PowerW: 60, From: site.FromInverter})
	s.Inverter = &site.Inverter{RatedW: 300, From: site.FromBattery, FuseA: 40, Lamps: []site.Lamp{{Label: "front light"}}}
	s.Charger = &site.Charger{RatedA: 20}
}

// equipped is the demo site with them.
func equipped() *site.Site {
	s := site.Demo()
	addParts(s)
	return s
}

// Every point that a step may name has its place in every drawing that fits, in
// the window that it was given, and without other signs than were asked for.
// between are the points on a wire, between two parts.
var between = regexp.MustCompile(`^(array-(switch|fuse)-out|battery-(lug|fuse|end)|load-(fuse|switch|joint))`)

func TestDrawAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := wiring.View{Site: anySite(t)}
		point := rapid.SampledFrom(procedure.Points).Draw(t, "point")
		probes := strings.HasSuffix(point, "+") || strings.HasSuffix(point, "-")
		if !v.Site.Controller.LoadOutput && (point == "load+" || point == "load-") {
			t.Skip("this site has no load terminals")
		}
		if v.Site.Inverter == nil && (strings.HasPrefix(point, "inverter") || point == "charger-wire") || point == "earth" && v.Site.Earthing == "" {
			t.Skip("this site has no such part")
		}
		if probes {
			v.Red, v.Black = strings.TrimRight(point, "+-")+"+", strings.TrimRight(point, "+-")+"-"
		} else if probes = point == "earth"; probes {
			v.Red, v.Black = rapid.SampledFrom([]string{"post+", "post-"}).Draw(t, "pole"), point
		} else {
			v.Clamp = point
		}
		v.Open = wiring.Open{Array: rapid.Bool().Draw(t, "array"), Shorted: rapid.Bool().Draw(t, "shorted"),
			Battery: rapid.Bool().Draw(t, "battery"), Loads: rapid.Bool().Draw(t, "loads")}
		w, h, boxes := rapid.IntRange(1, 200).Draw(t, "columns"), rapid.IntRange(1, 30).Draw(t, "rows"), rapid.Bool().Draw(t, "boxes")
		lines := wiring.Draw(v, w, h, boxes)
		if lines == nil {
			if w >= 60 && h >= 12 {
				t.Fatalf("no drawing in %d x %d", w, h)
			}
			return
		}
		if len(lines) > h {
			t.Fatalf("%d rows of %d", len(lines), h)
		}
		drawing := text(lines)
		for line := range strings.SplitSeq(drawing, "\n") {
			if ansi.StringWidth(line) > w {
				t.Fatalf("%d columns of %d:\n%s", ansi.StringWidth(line), w, drawing)
			}
		}
		roles := map[wiring.Role]bool{}
		for _, l := range lines {
			for _, sp := range l {
				if sp.Text == "(R)" || sp.Text == "(B)" || sp.Text == "(C)" {
					roles[sp.Role] = true
				}
			}
		}
		if probes && between.MatchString(point) { // on the wire, where there is room
			return
		}
		if probes != (roles[wiring.Red] && roles[wiring.Black]) || probes == roles[wiring.Clamp] {
			t.Fatalf("%s is not marked:\n%s", point, drawing)
		}
		if strings.Contains(drawing, "[1]") && v.Open.Array != strings.Contains(drawing, "o/ o") {
			t.Fatalf("the array's switch is not drawn as it is:\n%s", drawing)
		}
		if !boxes && strings.ContainsFunc(drawing, func(r rune) bool { return r > 126 }) {
			t.Fatalf("not ASCII:\n%s", drawing)
		}
	})
}

// At the design width the drawing is the wide one, as low as the visit screen
// needs it, for a site of two blocks and two strings too.
func TestDrawLow(t *testing.T) {
	for _, s := range []*site.Site{site.Demo(), direct()} {
		lines := wiring.Draw(wiring.View{Site: s, Clamp: "array-wire"}, 80, 7, true)
		require.Len(t, lines, 7, s.Controller.LoadOutput)
		assert.Contains(t, text(lines), "controller")
	}
}

// Labels of a file may hold anything; none of it reaches the terminal raw.
func TestDrawCleansLabels(t *testing.T) {
	s := site.Demo()
	s.Controller.Lamps[0].Label = "sun\x1b[31m\n空"
	got := text(wiring.Draw(wiring.View{Site: s}, 80, 12, true))
	assert.NotContains(t, got, "\x1b")
	assert.Contains(t, got, "空")
	fmt.Fprintln(t.Output(), got)
}

func TestWords(t *testing.T) {
	v := wiring.View{Site: direct(), Clamp: "battery-wire", Open: wiring.Open{Array: true}, Looks: map[string]string{"array lamp": "lit"}}
	assert.Equal(t, []string{
		"Array: 4 strings of 3 modules, fuse 10 A, to the controller's array terminals. It is switched off or unplugged.",
		"Battery: 12 V, 80 Ah, 2 blocks, fuse 20 A, at the controller's battery terminals.",
		"Loads: 34 W listed, fuse 10 A, at the battery.",
		"Indicators: array lamp lit; battery lamp not looked at yet; load lamp not looked at yet.",
		"Clamp: around all wires of one battery post.",
	}, wiring.Words(v))
	assert.Contains(t, wiring.Words(wiring.View{Site: equipped()}), "Inverter: 300 W, fuse 40 A, at the battery.")
	assert.Contains(t, wiring.Words(wiring.View{Site: equipped(), Clamp: "string-wires"}), "Clamp: around the plus wire of each battery string, one after the other.")
	for _, p := range procedure.Points { // every point has a name
		v := wiring.View{Site: site.Demo()}
		if strings.HasSuffix(p, "wire") {
			v.Clamp = p
		} else {
			v.Red, v.Black = p, p
		}
		words := wiring.Words(v)
		assert.NotRegexp(t, `on \.|around \.`, words[len(words)-1], p)
	}
}

// Every condition but a healthy system is somewhere on the drawing, and the words say where.
func TestEveryFaultIsDrawn(t *testing.T) {
	for _, c := range condition.All() {
		part := wiring.PartOf(c.ID)
		if c.ID == condition.Sound {
			assert.Empty(t, part)
			continue
		}
		require.NotEmpty(t, part, c.ID)
		for _, s := range []*site.Site{site.Demo(), direct()} {
			for _, w := range []int{60, 80, 140} {
				marked := false
				for _, l := range wiring.Draw(wiring.View{Site: s, Fault: part}, w, 20, true) {
					for _, sp := range l {
						marked = marked || sp.Role == wiring.Fault && strings.Contains(sp.Text, "!") && !strings.Contains(sp.Text, "probably")
					}
				}
				assert.True(t, marked, "%s at %d columns", c.ID, w)
			}
			assert.Contains(t, strings.Join(wiring.Words(wiring.View{Site: s, Fault: part}), "\n"), "Most probably the fault is at the ")
		}
	}
}
