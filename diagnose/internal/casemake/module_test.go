package main

import (
	"encoding/csv"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The drawn modules are wider than the eight measured ones: at 100 W/m2 and 25 °C every
// measured Voc, Isc and power, against that at 1000 W/m2, lies within what is drawn.
//
// Source: NREL mPERT data of 2014, see the README beside the table.
func TestDrawnModulesAreWiderThanMeasuredOnes(t *testing.T) {
	f, err := os.Open("../../physics/plant/testdata/measured_modules.csv")
	require.NoError(t, err)
	defer f.Close()
	reader := csv.NewReader(f)
	reader.Comment = '#'
	rows, err := reader.ReadAll()
	require.NoError(t, err)
	column := func(name string) int { return slices.Index(rows[0], name) }
	measured := map[string]map[string][3]float64{} // by module and light
	for _, row := range rows[1:] {
		num := func(name string) float64 {
			v, err := strconv.ParseFloat(row[column(name)], 64)
			require.NoError(t, err)
			return v
		}
		if num("cell_c") != 25 {
			continue
		}
		id := row[0]
		if measured[id] == nil {
			measured[id] = map[string][3]float64{}
		}
		measured[id][row[column("w_m2")]] = [3]float64{num("voc_v"), num("isc_a"), num("vmp_v") * num("imp_a")}
	}
	var drawn [3][]float64
	d := newDice(5, 5)
	for range 400 {
		c := d.drawCell(3)
		var at [2][3]float64
		for k, light := range []float64{100, 1000} {
			lit := c.at(light, 25)
			isc, voc, vmp, imp := lit.points()
			at[k] = [3]float64{voc, isc, vmp * imp}
		}
		for q := range drawn {
			drawn[q] = append(drawn[q], at[0][q]/at[1][q])
		}
	}
	require.Len(t, measured, 8)
	for q, name := range []string{"Voc", "Isc", "Pmp"} {
		slices.Sort(drawn[q])
		for id, at := range measured {
			ratio := at["100"][q] / at["1000"][q]
			assert.Greater(t, ratio, drawn[q][1], "%s of %s", name, id)
			assert.Less(t, ratio, drawn[q][398], "%s of %s", name, id)
		}
		t.Logf("%s at a tenth of the light: drawn %.3f to %.3f", name, drawn[q][1], drawn[q][398])
	}
}
