package belief

import (
	"encoding/csv"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A measured module is what was measured of one: at its own full light that is its
// nameplate.
type measured struct{ cellC, light, isc, voc, imp, vmp float64 }

// figures are the rows of a file of measurements, without its head.
func figures(t *testing.T, name string) [][]float64 {
	f, err := os.Open("../../physics/plant/testdata/" + name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	list := make([][]float64, len(rows)-1)
	for i, row := range rows[1:] {
		for _, text := range row {
			x, err := strconv.ParseFloat(text, 64)
			require.NoError(t, err)
			list[i] = append(list[i], x)
		}
	}
	return list
}

// measuredModules are the eight of the file and the plates they would carry.
func measuredModules(t *testing.T) (plates []site.Module, points [][]measured) {
	for _, x := range figures(t, "measured_modules.csv") {
		k := int(x[0]) - 1
		if k == len(points) {
			points = append(points, nil)
			plates = append(plates, site.Module{Cells: 36, Bypass: 2, NOCTC: 46, IscPctPerC: x[1], VocPctPerC: x[2]})
		}
		p := measured{x[3], x[4], x[5], x[6], x[7], x[8]}
		points[k] = append(points[k], p)
		if m := &plates[k]; p.cellC == 25 && p.light == 1000 {
			m.IscA, m.VocV, m.ImpA, m.VmpV, m.PmpW = p.isc, p.voc, p.imp, p.vmp, p.imp*p.vmp
		}
	}
	return plates, points
}

// The 90 % ranges that the model has of a module before any reading, at the light and
// warmth of each measured point, against what was measured there: Isc, Voc, the greatest
// power, and the current into a 12 V battery. At every light they hold most of the
// points, and they are no wider than some tenths of what they are of.
func TestMeasuredModules(t *testing.T) {
	const (
		draws    = 400
		batteryV = 13.0
		minHeld  = 0.85
	)
	plates, points := measuredModules(t)
	require.Len(t, plates, 8)
	type tally struct{ held, of, width float64 }
	quantities := []string{"Isc", "Voc", "Pmp", "current at battery voltage"}
	found := map[float64]*[4]tally{}
	for k, plate := range plates {
		s := site.Demo()
		s.Array.Module, s.Array.Series, s.Array.Strings, s.Array.CableM = plate, 1, 1, 0.01
		m := newModel(Input{Site: s, Readings: reading.NewSet()})
		var us [draws]plant.Unknowns
		rng := rand.New(rand.NewPCG(1, 2))
		for i := range us {
			z := fromPrior(rng)
			m.unknowns(&z, &m.hyps[0], &us[i])
		}
		for _, p := range points[k] {
			own := plant.FitNameplate(site.Module{
				Cells: 36, Bypass: 2, NOCTC: 46, IscPctPerC: plate.IscPctPerC, VocPctPerC: plate.VocPctPerC,
				IscA: p.isc, VocV: p.voc, ImpA: p.imp, VmpV: p.vmp, PmpW: p.imp * p.vmp,
			})
			want := [4]float64{p.isc, p.voc, p.imp * p.vmp, own.Current(batteryV)}
			var xs [4][]float64
			volts, amps := make([]float64, 60), make([]float64, 60)
			for i := range us {
				u := us[i]
				u.Irradiance, u.CellC, u.Soiling, u.ArrayJoint = p.light, p.cellC, 0, 0
				for j := range volts {
					volts[j] = float64(j) / 59 * p.voc * 1.05
				}
				m.plant.ArrayCurve(&u, volts, amps)
				var best float64
				for j := range volts {
					best = max(best, volts[j]*amps[j])
				}
				one := []float64{0}
				m.plant.ArrayCurve(&u, []float64{batteryV}, one)
				for q, x := range [4]float64{amps[0], m.plant.ArrayOpenV(&u), best, one[0]} {
					xs[q] = append(xs[q], x)
				}
			}
			if found[p.light] == nil {
				found[p.light] = new([4]tally)
			}
			for q := range xs {
				slices.Sort(xs[q])
				lo, hi := xs[q][draws/20], xs[q][draws*19/20-1]
				at := &found[p.light][q]
				at.of++
				at.width += (hi - lo) / want[q]
				if want[q] >= lo && want[q] <= hi {
					at.held++
				}
			}
		}
	}
	widest := [4]float64{0.08, 0.07, 0.25, 0.16}
	for light, ts := range found {
		for q, at := range ts {
			t.Logf("%4.0f W/m2 %-27s holds %3.0f %% of %2.0f, width %.3f", light, quantities[q], 100*at.held/at.of, at.of, at.width/at.of)
			assert.GreaterOrEqual(t, at.held/at.of, minHeld, "%s at %g W/m2", quantities[q], light)
			assert.Less(t, at.width/at.of, widest[q], "%s at %g W/m2", quantities[q], light)
		}
	}
}
