package summary

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Whatever is answered, refused or stopped at any step, the visit ends in a
// summary that defers to local codes and names what stays open, with who
// decided it.
func TestEveryVisitEndsInASummary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := visit(t)
		for n := 0; !v.Done(); n++ {
			require.Less(t, n, 300)
			p := v.Prompt()
			a := visiting.Answer{Step: p.Step.ID, Reading: p.Step.Reading, Reason: "as it is"}
			switch rapid.IntRange(0, 19).Draw(t, "does") {
			case 0:
				a.Kind = visiting.Cannot
			case 1:
				a.Kind = visiting.Stop
			default:
				var err error
				a, err = v.ReadAnyway(p, typed(t, p))
				require.NoError(t, err, p.Step.ID)
			}
			a.At = start.Add(time.Duration(n) * time.Minute)
			require.NoError(t, v.Give(a))
		}
		text := strings.Join(strings.Fields(OfVisit(v).Text()), " ")
		require.Contains(t, text, "Follow local codes.")
		require.Contains(t, text, "finished")
		for _, l := range v.Procedure().Left(v.State()) {
			require.Contains(t, text, l.Flag.Text()+": "+l.Reason)
			require.Contains(t, text, "Who decided: ")
		}
		require.Empty(t, v.Procedure().OpenText(v.State()))
	})
}

func typed(t *rapid.T, p visiting.Prompt) string {
	switch s := p.Step; {
	case s.Kind == procedure.Say:
		return rapid.SampledFrom([]string{"", "A. Mechanic", "A. Mechanic, Friday"}).Draw(t, "who")
	case len(s.Checks) > 0:
		return "1 2 3 4 5 6"[:2*len(s.Checks)-1]
	case s.Kind == procedure.Choose:
		return "none"
	case len(s.Choices) > 0:
		return fmt.Sprint(rapid.IntRange(1, len(s.Choices)).Draw(t, "choice"))
	case s.Kind == procedure.Act:
		return "done"
	case p.Spec.Form == reading.List:
		n, _ := reading.ListLen(s.Reading, site.Demo())
		return strings.TrimSpace(strings.Repeat("1.25 ", n))
	}
	return map[string]string{"V": "12.6", "A": "0", "W/m2": "500", "C": "25", "min": "60"}[p.Spec.Unit]
}

// A meter that fails on its known source after the visit puts its readings in doubt.
func TestMeterThatFailedAtTheEnd(t *testing.T) {
	v := visit(t, [2]string{"post_v", "12.6"}, [2]string{"meter-after", "2"})
	text := strings.Join(strings.Fields(OfVisit(v).Text()), " ")
	assert.Contains(t, text, "READINGS IN DOUBT - The meter failed on the known source after the visit; its readings are in doubt.")
}

// Who may not be protected is not asked for what needs it, and the summary says so.
func TestWhatARefusedCheckCloses(t *testing.T) {
	v := visit(t, [2]string{"leads", "cannot a probe is broken"})
	text := strings.Join(strings.Fields(OfVisit(v).Text()), " ")
	assert.Contains(t, text, "Meter and leads (a probe is broken): Voltage at the battery posts,")
}
