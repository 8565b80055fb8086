package summary

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// What was seen is to be put right whatever the readings say: staff are told what to do,
// those who live with the system what they may do themselves.
func TestWhatWasSeenIsToBePutRight(t *testing.T) {
	v := visit(t, [2]string{"battery-place", "1 6"}, [2]string{"terminals-look", "3"}, [2]string{"next-visit", "2"})
	one := func(text string) string { return strings.Join(strings.Fields(text), " ") }
	staff := one(OfVisit(v).Text())
	assert.Contains(t, staff, "SEEN, TO BE REPAIRED - Keep a door or window open")
	assert.Contains(t, staff, "(field staff; seen: plates bare in some cell)")
	assert.Contains(t, staff, "(field staff; seen: a fuse missing, or bridged with wire)")
	caretaker := one(ForCaretaker(v, Beside{}).Text())
	assert.Contains(t, caretaker, "You can do this yourself: Keep a door or window open")
	assert.Contains(t, caretaker, "Call for help (see below). Battery and its place: plates bare in some cell.")
	assert.NotContains(t, caretaker, "distilled water", "that is for those who were shown how")
	assert.Contains(t, caretaker, "The next visit was agreed: within a month.")
	assert.Len(t, visiting.LeftBy(v).Actions, 3, "they are open work")

	assert.NotContains(t, one(OfVisit(visit(t, [2]string{"battery-place", "none"})).Text()), "TO BE PUT RIGHT")
}

// Each thing that may be seen has what to do about it, and who: caretakers touch no metal.
func TestEveryRepairSaysWho(t *testing.T) {
	for _, id := range []string{"array-look", "battery-place", "terminals-look"} {
		s, ok := procedure.For(site.Demo()).Step(id)
		require.True(t, ok)
		for _, c := range s.Choices {
			do, who := s.RepairOf(c.ID)
			assert.NotEmpty(t, do, c)
			assert.Contains(t, []string{"caretaker", "field-staff"}, who, c)
		}
	}
}

// The values in the wiring picture stand clear of its wires, also where the loads hang
// on the battery.
func TestValuesStandClearOfTheWires(t *testing.T) {
	onBattery := bytes.Replace(site.DemoTOML(), []byte("load_output = true"), []byte("load_output = false"), 1)
	for name, text := range map[string][]byte{"load output": site.DemoTOML(), "on the battery": onBattery} {
		t.Run(name, func(t *testing.T) {
			v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(text), StartedAt: start}, nowhere{})
			require.NoError(t, err)
			for step, typed := range map[string]string{"battery_a": "-12.34", "battery_v": "12.34", "load_a": "12.34", "array_a": "12.34", "array_v": "-12.34"} {
				s, ok := v.Procedure().Step(step)
				require.True(t, ok, step)
				spec, _ := reading.SpecOf(s.Reading)
				a, err := v.ReadAnyway(visiting.Prompt{Step: s, Spec: spec}, typed)
				require.NoError(t, err)
				a.At = start
				require.NoError(t, v.Give(a))
			}
			shapes := factsOf(v).wiring().(document.Picture).Drawing.Shapes
			values := 0
			for _, s := range shapes {
				l, ok := s.(document.Label)
				if !ok || l.Align != document.Middle {
					continue
				}
				values++
				w := 1.3 * float64(len(l.Text)) // of a bold letter of 2.5 mm
				assert.LessOrEqual(t, w, l.Max, "%q is not cut", l.Text)
				for _, other := range shapes {
					if wire, ok := other.(document.Line); ok {
						for i := range wire.Points[1:] {
							a, b := wire.Points[i], wire.Points[i+1]
							clear := max(a.X, b.X) < l.At.X-w/2 || min(a.X, b.X) > l.At.X+w/2 || max(a.Y, b.Y) < l.At.Y-l.Size*0.75 || min(a.Y, b.Y) > l.At.Y
							assert.True(t, clear, fmt.Sprint(l.Text, " and ", a, b))
						}
					}
				}
			}
			assert.Equal(t, 5, values)
		})
	}
}

// What is not put back stands before all that was found, for staff and for those who
// live with it.
func TestNotPutBackComesFirst(t *testing.T) {
	one := func(text string) string { return strings.Join(strings.Fields(text), " ") }
	v := visit(t, [2]string{"array-isolate", "1 2"})
	assert.Contains(t, one(OfVisit(v).Text()), "WHAT WAS FOUND Not put back: the array is isolated.")
	assert.Contains(t, one(ForCaretaker(v, Beside{}).Text()), "TAKE CARE Not everything was put back: the array is isolated.")
	v = visit(t)
	assert.NotContains(t, OfVisit(v).Text()+ForCaretaker(v, Beside{}).Text(), "put back")
}

// That nothing charges in the dark is no fault: those who live with the system read that
// it could not be seen.
func TestDarkIsNoFault(t *testing.T) {
	v := visit(t, [2]string{"sky", "dark"}, [2]string{"battery_v", "12.4"}, [2]string{"array_a", "0"}, [2]string{"load_a", "1"})
	r := arrayOpen()
	r.Conditions = []belief.Posterior{{ID: condition.Sound, P: 0.97}}
	r.State.Daylight, r.State.Charging = 0.001, 0.001
	require.True(t, v.Learn(v.Seq(), r))
	text := strings.Join(strings.Fields(ForCaretaker(v, Beside{}).Text()), " ")
	assert.Contains(t, text, "WHAT COULD NOT BE FOUND OUT - Whether the sun charges the battery: it was dark on the solar modules.")
	assert.NotContains(t, text, "WHAT DOES NOT WORK")
	assert.NotContains(t, text, "did not charge")
}
