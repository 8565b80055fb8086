package main

import "math"

// Rest voltage of a 12 V lead-acid battery against charge, at even steps from empty.
//
// Sources: the BCI table; a chart that is much copied, with 11.51 V at a tenth (from
// memory); density plus 0.84 to 0.845 V for a cell (rule of the trade). A measured 17 Ah
// and a measured 100 Ah battery stood at 11.45 and 11.55 V when emptied, below both
// tables (leadacid17ah, BSD-3).
var (
	restBCI   = []float64{11.89, 12.06, 12.24, 12.45, 12.65}
	restChart = []float64{11.30, 11.51, 11.66, 11.81, 11.96, 12.10, 12.24, 12.37, 12.50, 12.62, 12.73}
)

const restSteps = 40

// drawLeadAcidRest draws a cell's rest voltage between and around the tables.
func (d dice) drawLeadAcidRest(sealed bool) []float64 {
	w := [3]float64{d.Float64(), d.Float64(), d.Float64()}
	sum := w[0] + w[1] + w[2]
	full, empty := d.between(1.245, 1.29), d.between(1.09, 1.15) // density; tropical acid is weaker (TM 9-8000)
	plus := d.between(0.838, 0.848)
	shift, sag := d.between(-0.008, 0.008), d.between(0, 0.05)
	if sealed {
		shift += d.between(0.005, 0.03) // stronger acid (common practice)
	}
	table := make([]float64, restSteps+1)
	for k := range table {
		x := float64(k) / restSteps
		v := w[0]*interpolate(restBCI, x)/6 + w[1]*interpolate(restChart, x)/6 + w[2]*(empty+(full-empty)*x+plus)
		table[k] = v/sum + shift - sag*math.Pow(max(0, 1-x/0.12), 2)
	}
	return table
}

// drawLFPRest draws two plateaus with a step between them and a knee at each end. The
// figures lie around a measured cell at C/32 (Piecewise-Battery-OCV, MIT) and a makers'
// chart, both widened by judgement.
func (d dice) drawLFPRest() []float64 {
	low := d.between(3.25, 3.295)
	high := low + d.between(0.02, 0.055)
	step, wide := d.between(0.45, 0.72), d.between(0.02, 0.07)
	slope := d.between(0, 0.03)
	knee, deep := d.between(0.07, 0.22), d.between(0.35, 0.8)
	top, narrow := d.between(0.02, 0.09), d.between(0.01, 0.03)
	table := make([]float64, restSteps+1)
	for k := range table {
		x := float64(k) / restSteps
		v := low + slope*(x-0.5) + (high-low)/(1+math.Exp(-(x-step)/wide))
		v -= deep * math.Pow(max(0, 1-x/knee), 2.5)
		table[k] = v + top*math.Exp(-(1-x)/narrow)
	}
	return table
}
