package site

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"ampwalk/diagnose/base/tomlfile"
)

// assumed begins the comment behind a value that nobody has read or measured.
const assumed = "assumed"

// IsAssumed reports whether the comment behind a value says that nobody has read
// or measured it: "assumed", alone or with more after a comma or semicolon.
func IsAssumed(comment string) bool {
	rest, ok := strings.CutPrefix(comment, assumed)
	return ok && (rest == "" || strings.HasPrefix(rest, ",") || strings.HasPrefix(rest, ";"))
}

// AssumedMark is the comment of a value of which nine in ten lie within spread,
// such as "4 %" or "3 °C"; "" where nobody can say.
func AssumedMark(spread string) string {
	if spread == "" {
		return assumed
	}
	return assumed + ", give or take " + spread
}

var giveOrTake = regexp.MustCompile(`^` + assumed + `, give or take ([0-9.]+) ?([^;,]*)`)

// DoubtOf is how far nine in ten lie from a value by its comment, in the key's
// unit: what is said in percent is so much of the value, unless the key itself
// counts percents. 0: it is not assumed, or nobody can say how far.
func DoubtOf(path string, value float64, comment string) float64 {
	said := giveOrTake.FindStringSubmatch(comment)
	if said == nil {
		return 0
	}
	x, err := strconv.ParseFloat(said[1], 64)
	if err != nil || x > 1e6 {
		return 0
	}
	if strings.TrimSpace(said[2]) == "%" && !strings.Contains(path, "_pct_") {
		return math.Abs(value) * x / 100
	}
	return x
}

// doubtful are the figures whose doubt the belief knows how to carry.
var doubtful = []string{
	"array.module.vmp_v", "array.module.imp_a", "array.module.voc_v", "array.module.isc_a",
	"array.module.isc_pct_per_c", "array.module.voc_pct_per_c", "array.module.noct_c",
	"array.cable_m", "array.cable_mm2", "battery.cable_m", "battery.cable_mm2", "load_wiring.cable_m", "load_wiring.cable_mm2",
	"battery.capacity_ah",
	"controller.absorb_v", "controller.float_v", "controller.comp_mv_per_c_cell",
	"controller.cut_v", "controller.restore_v", "controller.own_use_ma",
}

// Doubts are how far nine in ten lie from the figures that were assumed, by their
// path in the site file ("array.module.voc_v", "load.0.power_w"), in the unit of
// the key. A figure that was read has none.
type Doubts map[string]float64

// doubts reads them from the comments of a file that is right otherwise; nil if
// there are none.
func doubts(file string, data []byte, loads int) Doubts {
	text, err := tomlfile.NewText(file, data)
	if err != nil {
		return nil
	}
	paths := doubtful
	for i := range loads {
		paths = append(paths[:len(paths):len(paths)], fmt.Sprintf("load.%d.power_w", i))
	}
	var ds Doubts
	for _, path := range paths {
		value, ok := text.Number(path)
		if !ok {
			continue
		}
		if x := DoubtOf(path, value, text.Comment(path)); x > 0 {
			if ds == nil {
				ds = Doubts{}
			}
			ds[path] = x
		}
	}
	return ds
}
