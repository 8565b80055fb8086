package summary

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// outlooks are those of the demo site at the beginning of the visit: of sound plants, and
// of such whose array is open.
func outlooks(t *testing.T, s *site.Site) (sound, open *outlook.Outlook) {
	t.Helper()
	in := belief.Input{Site: s}
	draws, err := belief.Draws(in, 40)
	require.NoError(t, err)
	for k := range draws {
		d := &draws[k]
		d.Fault, d.Conditions, d.Irradiance, d.SoC = plant.Fault{}, nil, 600, 0.7
	}
	sound = outlook.Look(in, draws, start, outlook.Change{})
	for k := range draws {
		draws[k].Fault.ArrayOpen, draws[k].Conditions = plant.BeforePlug, append(draws[k].Conditions, "array-open")
	}
	return sound, outlook.Look(in, draws, start, outlook.Change{})
}

// Both papers tell it in few lines, and it takes the place of tips without figures.
func TestOutlookInThePapers(t *testing.T) {
	v := ordinary(t)
	sound, open := outlooks(t, v.Site())
	for _, o := range []*outlook.Outlook{sound, open} {
		b := beside()
		b.Outlook = o
		words := func(d document.Document) string { return strings.Join(strings.Fields(d.Text()), " ") }
		staff, sheet := words(ForStaff(v, b)), words(ForCaretaker(v, b))
		for _, text := range []string{staff, sheet} {
			assert.Contains(t, text, "HOW MUCH POWER, UNTIL WHEN")
			assert.Contains(t, text, "Tonight: ")
			assert.NotRegexp(t, `NaN|Inf|%!`, text)
		}
		assert.Contains(t, staff, "The listed loads need about 166 Wh a day")
		assert.Equal(t, o == open, strings.Contains(staff, "As things are the array gives nothing."))
		assert.NotContains(t, sheet, "With the present use and no sun")
		assert.NotContains(t, staff, "Keep to lamps and communication until the cause is found")
	}
	assert.NotContains(t, ForStaff(v, beside()).Text(), "HOW MUCH POWER")
}

// With it the staff's paper keeps to two pages and the caretaker's to one.
func TestOutlookKeepsThePages(t *testing.T) {
	if testing.Short() {
		t.Skip("many pages take a while")
	}
	v := ordinary(t)
	sound, open := outlooks(t, v.Site())
	for _, o := range []*outlook.Outlook{sound, open} {
		b := beside()
		b.Outlook = o
		for _, p := range papers {
			assert.LessOrEqual(t, pages(t, pdf(t, ForStaff(v, b), p)), 2, p.Name)
			assert.LessOrEqual(t, pages(t, pdf(t, ForCaretaker(v, b), p)), 1, p.Name)
			assert.LessOrEqual(t, pages(t, printed(t, ForStaff(v, b), p)), 2, p.Name)
			assert.LessOrEqual(t, pages(t, printed(t, ForCaretaker(v, b), p)), 1, p.Name)
		}
	}
}

// Where nothing is broken and the loads go without all the same, that is the answer.
func TestTooSmallIsAnAnswer(t *testing.T) {
	v := ordinary(t)
	s := *v.Site()
	s.Loads = append([]site.Load{}, s.Loads...)
	for i := range s.Loads {
		s.Loads[i].PowerW, s.Loads[i].HoursPerDay = 50, 12
	}
	sound, _ := outlooks(t, &s)
	b := beside()
	b.Outlook = sound
	require.Equal(t, "array", sound.TooSmall)
	for _, d := range []document.Document{ForStaff(v, b), ForCaretaker(v, b)} {
		assert.Contains(t, strings.Join(strings.Fields(d.Text()), " "), "Nothing is broken, but the array is too small for its loads")
	}
}

// The whole outlook: every section, no line wider than a printer's.
func TestWholeOutlook(t *testing.T) {
	sound, _ := outlooks(t, site.Demo())
	text := OfOutlook(site.Demo(), sound).Text()
	for _, heading := range []string{"NOW, ", "TONIGHT", "PLAN OF THE DAY", "THE WEEK AND THE YEAR", "THE MONTHS", "IS IT BIG ENOUGH", "WHAT WOULD HELP"} {
		assert.Contains(t, text, heading)
	}
	assert.Contains(t, text, outlook.MonthText(sound.Year.Worst)+", worst")
	assert.Contains(t, text, outlook.MonthText(time.March))
	for line := range strings.Lines(text) {
		assert.LessOrEqual(t, len([]rune(line)), document.Width+1, line)
	}
}
