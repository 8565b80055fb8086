package plant

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/site"
)

// k/q of the exact SI constants [V/K].
const thermalVolt = 1.380649e-23 / 1.602176634e-19

func checkPoints(t *testing.T, d *Diode, isc, voc, imp, vmp, pmp float64) {
	t.Helper()
	i, v := d.MaxPower()
	assert.InDelta(t, isc, d.Current(0), 1e-10, "Isc")
	assert.InDelta(t, voc, d.OpenVoltage(), 1e-10, "Voc")
	assert.InDelta(t, pmp, i*v, 1e-10, "Pmp")
	assert.InDelta(t, imp, i, 1e-7, "Imp")
	assert.InDelta(t, vmp, v, 1e-6, "Vmp")
}

// The pvlib library's 64 precise curves, with its own tolerances, and ten points of
// each. Put back into the equation with 30 digits they leave 1.1e-14 A at most.
func TestPreciseCurves(t *testing.T) {
	type curve struct{ set, curve float64 }
	points := map[curve][]map[string]float64{}
	for _, p := range readTable(t, "precise_curve_points.csv") {
		of := curve{p["set"], p["curve"]}
		points[of] = append(points[of], p)
	}
	curves := readTable(t, "precise_curves.csv")
	require.Len(t, curves, 64)
	for _, c := range curves {
		d := Diode{
			IL: c["photocurrent_A"], I0: c["saturation_current_A"],
			A:  c["n"] * c["N_s"] * thermalVolt * c["T_K"],
			Rs: c["R_s_ohm"], Gsh: 1 / c["R_sh_ohm"],
		}
		checkPoints(t, &d, c["i_sc"], c["v_oc"], c["i_mp"], c["v_mp"], c["p_mp"])
		of := points[curve{c["set"], c["curve"]}]
		require.Len(t, of, 10)
		for _, p := range of {
			assert.InDelta(t, p["I"], d.Current(p["V"]), 1e-9, "%v", p)
			assert.InDelta(t, p["V"], d.Voltage(p["I"]), 1e-9*c["v_oc"], "%v", p)
		}
	}
}

// W. De Soto et al. 2006 as the pvlib library's tests work it out
// (tests/test_pvsystem.py, test_calcparams_desoto): alpha 0.003 A/K, a 0.473 V,
// IL 7.545 A, I0 1.94e-9 A, Rs 0.094 ohm, Rsh 15.72 ohm; three digits. The
// printed I0 at 50 °C lacks the paper's factor (T/Tref)³ of 1.27, which the
// table's model below confirms; it is put in here.
func TestTranslation(t *testing.T) {
	d := Diode{IL: 7.545, I0: 1.94e-9, A: 0.473, Rs: 0.094, Gsh: 1 / 15.72}
	for _, tt := range []struct{ g, c, il, i0, rsh, a float64 }{
		{800, 25, 6.036, 1.94e-9, 19.65, 0.473},
		{800, 50, 6.096, 7.419e-8, 19.65, 0.5127},
	} {
		m := d.At(tt.g, tt.c, 0.003, 1)
		assert.InEpsilon(t, tt.il, m.IL, 1e-4)
		rel := (tt.c + 273.15) / 298.15
		assert.InEpsilon(t, tt.i0*rel*rel*rel, m.I0, 2e-3)
		assert.InEpsilon(t, tt.rsh, 1/m.Gsh, 1e-6)
		assert.InEpsilon(t, tt.a, m.A, 2e-4)
		assert.InDelta(t, 0.094, m.Rs, 1e-12)
	}
}

// checkModel allows what the digits of the table's parameters and constants leave.
func checkModel(t *testing.T, m Diode, isc, voc, imp, vmp, pmp float64) {
	t.Helper()
	i, v := m.MaxPower()
	assert.InEpsilon(t, isc, m.Current(0), 2e-6, "Isc")
	assert.InEpsilon(t, voc, m.OpenVoltage(), 2e-6, "Voc")
	assert.InEpsilon(t, imp, i, 2e-5, "Imp")
	assert.InEpsilon(t, vmp, v, 2e-5, "Vmp")
	assert.InEpsilon(t, pmp, i*v, 2e-6, "Pmp")
}

// A tableModule is a row of the open module table of 202 crystalline modules:
// its ratings, as a nameplate shows them, and the table's own model.
type tableModule struct {
	row    int
	plate  site.Module
	model  Diode
	alpha  float64 // of the model [A/K]
	iscFit float64 // the model's Isc over the rated one
}

func readModules(t *testing.T) []tableModule {
	t.Helper()
	var ms []tableModule
	for _, r := range readTable(t, "cec_modules.csv") {
		ms = append(ms, tableModule{
			row: int(r["row"]),
			plate: site.Module{
				PmpW: r["V_mp_ref"] * r["I_mp_ref"], VmpV: r["V_mp_ref"], ImpA: r["I_mp_ref"],
				VocV: r["V_oc_ref"], IscA: r["I_sc_ref"], Cells: int(r["N_s"]), Bypass: 1,
				IscPctPerC: 100 * r["alpha_sc"] / r["I_sc_ref"], VocPctPerC: 100 * r["beta_oc"] / r["V_oc_ref"],
			},
			model:  Diode{IL: r["I_L_ref"], I0: r["I_o_ref"], A: r["a_ref"], Rs: r["R_s"], Gsh: 1 / r["R_sh_ref"]},
			alpha:  r["alpha_sc"] * (1 - r["Adjust"]/100),
			iscFit: r["isc_model_over_ref"],
		})
	}
	require.Len(t, ms, 202)
	return ms
}

// The table's parameters give the table's ratings back: Voc and the power point
// of all 202 modules, and Isc of the 145 whose fit did not let it go (57 rows
// have it 1 to 5 % above the rated one by the table's own doing).
func TestTableRatings(t *testing.T) {
	held := 0
	for _, m := range readModules(t) {
		i, v := m.model.MaxPower()
		assert.InEpsilon(t, m.plate.VocV, m.model.OpenVoltage(), 5e-4, "row %d Voc", m.row)
		assert.InEpsilon(t, m.plate.ImpA, i, 5e-4, "row %d Imp", m.row)
		assert.InEpsilon(t, m.plate.VmpV, v, 5e-4, "row %d Vmp", m.row)
		assert.InEpsilon(t, m.plate.PmpW, i*v, 5e-4, "row %d Pmp", m.row)
		if m.iscFit == 1 {
			held++
			assert.InEpsilon(t, m.plate.IscA, m.model.Current(0), 5e-4, "row %d Isc", m.row)
		}
	}
	assert.Equal(t, 145, held)
}

// The table's model at seven points of light and warmth, by a separate solver.
func TestTableModel(t *testing.T) {
	ms := readModules(t)
	rows := readTable(t, "cec_model_points.csv")
	require.Len(t, rows, 7*len(ms))
	for _, r := range rows {
		m := ms[int(r["row"])-1]
		checkModel(t, m.model.At(r["G_W_m2"], r["Tcell_C"], m.alpha, 1),
			r["I_sc_A"], r["V_oc_V"], r["I_mp_A"], r["V_mp_V"], r["P_mp_W"])
		if t.Failed() {
			t.Fatalf("row %d at %g W/m2, %g °C", m.row, r["G_W_m2"], r["Tcell_C"])
		}
	}
}

// The fit sees a nameplate only; against the table's model its median errors
// stay small, the worst modules are listed. Hot cells are the hardest: there the
// table's model does not follow the nameplate's own Voc coefficient but one up
// to 47 % steeper (its Adjust, a fudge for the power's), and the fit trusts the
// nameplate.
func TestNameplateFit(t *testing.T) {
	ms := readModules(t)
	fits := make([]Fit, len(ms))
	for k, m := range ms {
		fits[k] = FitNameplate(m.plate)
		i, v := fits[k].MaxPower()
		assert.InEpsilon(t, m.plate.VocV, fits[k].OpenVoltage(), 1e-6, "row %d Voc", m.row)
		assert.InEpsilon(t, m.plate.IscA, fits[k].Current(0), 1e-3, "row %d Isc", m.row)
		assert.InDelta(t, m.plate.PmpW*(1+fits[k].PeakMisfit), i*v, 1e-3*m.plate.PmpW, "row %d Pmp", m.row)
	}
	type miss struct {
		row int
		rel float64
	}
	misses := map[string][]miss{}
	for _, r := range readTable(t, "cec_model_points.csv") {
		f := fits[int(r["row"])-1]
		d := f.At(r["G_W_m2"], r["Tcell_C"], f.Alpha, 1)
		i, v := d.MaxPower()
		point := fmt.Sprintf("%4g W/m2 %2g °C ", r["G_W_m2"], r["Tcell_C"])
		for name, pair := range map[string][2]float64{
			"Pmp": {i * v, r["P_mp_W"]}, "Voc": {d.OpenVoltage(), r["V_oc_V"]}, "Isc": {d.Current(0), r["I_sc_A"]},
		} {
			m := miss{int(r["row"]), pair[0]/pair[1] - 1}
			misses[point+name] = append(misses[point+name], m)
			misses["all "+name] = append(misses["all "+name], m)
		}
	}
	limit := map[string]float64{"Pmp": 0.02, "Voc": 0.01, "Isc": 0.005}
	names := make([]string, 0, len(misses))
	for name := range misses {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		all := misses[name]
		slices.SortFunc(all, func(a, b miss) int { return int(math.Copysign(1, math.Abs(a.rel)-math.Abs(b.rel))) })
		median, worst := math.Abs(all[len(all)/2].rel), all[len(all)-1]
		t.Logf("%-20s median %.2f %%, worst %+.1f %% (row %d)", name, 100*median, 100*worst.rel, worst.row)
		most := limit[name[len(name)-3:]]
		if !strings.HasPrefix(name, "all") {
			most *= 1.6
		}
		assert.Less(t, median, most, name)
	}
}

// Without the ln(G) term a fifth of the light would leave Voc 7.1 % too high on
// average; with a·ln(G/1000) it is right within 0.14 % on every module.
func TestVocAtLowLight(t *testing.T) {
	for _, m := range readModules(t) {
		stc := m.model.OpenVoltage()
		low := m.model.At(200, 25, m.alpha, 1)
		assert.InEpsilon(t, stc+m.model.A*math.Log(0.2), low.OpenVoltage(), 0.002, "row %d", m.row)
		f := FitNameplate(m.plate)
		fitted := f.At(200, 25, f.Alpha, 1)
		assert.InEpsilon(t, low.OpenVoltage(), fitted.OpenVoltage(), 0.03, "row %d, fitted", m.row)
	}
}

// IEC 60891, first procedure (relations from memory): I2 = I1 + Isc1·(G2/G1 − 1)
// + α·(T2 − T1), V2 = V1 − Rs·(I2 − I1) − κ·I2·(T2 − T1) + β·(T2 − T1). The
// figures of the first check are plain arithmetic and test the coding; then the
// model's own points must follow it near the power point.
func TestTranslationRelations(t *testing.T) {
	p := procedure1{isc: 4.25, g1: 820, t1: 48, g2: 1000, t2: 25, alpha: 0.0025, beta: -0.075, rs: 0.35, kappa: 0.002}
	i, v := p.move(4, 17)
	assert.InDelta(t, 4.8754268, i, 1e-7)
	assert.InDelta(t, 18.6428702, v, 1e-7)
	i, _ = p.move(4.25, 0)
	assert.InDelta(t, 5.1254268, i, 1e-7)

	d := Diode{IL: 5.28231, I0: 1.45e-10, A: 0.917272, Rs: 0.29928, Gsh: 1 / 684.342} // row 5 of the table
	const alpha = 0.002112
	from, to := d.At(900, 40, alpha, 1), d.At(1000, 25, alpha, 1)
	hot := d.At(900, 60, alpha, 1)
	p = procedure1{
		isc: from.Current(0), g1: 900, t1: 40, g2: 1000, t2: 25, alpha: alpha,
		beta: (hot.OpenVoltage() - from.OpenVoltage()) / 20, rs: d.Rs,
	}
	imp, vmp := from.MaxPower()
	i, v = p.move(imp, vmp)
	assert.InEpsilon(t, to.Current(v), i, 0.01)
	imp, vmp = to.MaxPower()
	assert.InEpsilon(t, imp*vmp, i*v, 0.01)
}

type procedure1 struct{ isc, g1, t1, g2, t2, alpha, beta, rs, kappa float64 }

func (p procedure1) move(i1, v1 float64) (i2, v2 float64) {
	dT := p.t2 - p.t1
	i2 = i1 + p.isc*(p.g2/p.g1-1) + p.alpha*dT
	return i2, v1 - p.rs*(i2-i1) - p.kappa*i2*dT + p.beta*dT
}

// A plate that no model meets is met as nearly as possible, and the miss is
// said: a corner sharper than a diode without any resistance has.
func TestFitSaysMisfit(t *testing.T) {
	plate := site.Module{VmpV: 19.8, ImpA: 4.93, VocV: 22, IscA: 5, Cells: 36, Bypass: 2, IscPctPerC: 0.05, VocPctPerC: -0.32}
	plate.PmpW = plate.VmpV * plate.ImpA
	f := FitNameplate(plate)
	imp, vmp := f.MaxPower()
	assert.Greater(t, math.Abs(f.PeakMisfit), 0.005)
	assert.InDelta(t, f.PeakMisfit, imp*vmp/plate.PmpW-1, 1e-9)
	assert.InEpsilon(t, 22, f.OpenVoltage(), 1e-6)
	assert.InEpsilon(t, 5, f.Current(0), 1e-3)

	// And a plain one, invented, is met on all points and says so.
	f = FitNameplate(site.Demo().Array.Module)
	assert.InDelta(t, 0, f.PeakMisfit, 1e-6)
	assert.InDelta(t, 0, f.VocMisfit, 2e-4)
}

// readTable reads a table of testdata; its README names the source.
func readTable(t *testing.T, name string) []map[string]float64 {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var all []map[string]float64
	for _, row := range rows[1:] {
		r := map[string]float64{}
		for k, cell := range row {
			if x, err := strconv.ParseFloat(cell, 64); err == nil {
				r[rows[0][k]] = x
			}
		}
		all = append(all, r)
	}
	return all
}
