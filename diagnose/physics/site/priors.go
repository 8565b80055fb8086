package site

import "ampwalk/diagnose/base/tomlfile"

// Conditions are the ids that a site file can weigh, those of the catalogue of
// conditions (package condition, whose test compares them).
var Conditions = []string{
	"sound", "array-open", "array-reversed", "array-joint", "array-soiled", "array-aged", "array-shaded",
	"string-open", "bypass-short", "array-short", "charge-path-open", "charge-path-stuck", "set-point-low",
	"set-point-high", "reverse-leak", "controller-dead", "load-output-open", "cut-off-fails", "battery-open",
	"battery-joint", "cell-short", "battery-worn", "battery-off", "block-weak", "battery-string-open",
	"electrolyte-low", "load-open", "load-excess", "standby-drain", "load-joint", "appliance-fault",
	"inverter-off", "inverter-starved", "earth-fault",
}

// priorWeight bounds how much a site can differ from others: nothing is ruled
// out by opinion.
var priorWeight = tomlfile.Range{Min: 0.01, Max: 100, Unit: words().Unit.TimesAsCommon}

// priors reads the table [priors], nil if the file has none.
func priors(t *tomlfile.Table) map[string]float64 {
	if !t.Present() {
		return nil
	}
	ws := map[string]float64{}
	for _, id := range Conditions {
		if t.Has(id) {
			ws[id] = t.Number(id, priorWeight)
		}
	}
	return ws
}
