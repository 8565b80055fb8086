package outlook

import (
	"encoding/json"
	"math"
	"reflect"
)

// MarshalJSON writes a point that lies beyond the time that was looked at as null.
func (b Band) MarshalJSON() ([]byte, error) {
	point := func(x float64) *float64 {
		if math.IsInf(x, 0) || math.IsNaN(x) {
			return nil
		}
		return &x
	}
	return json.Marshal(struct {
		P05 *float64 `json:"p05"`
		P50 *float64 `json:"p50"`
		P95 *float64 `json:"p95"`
	}{point(b.P05), point(b.P50), point(b.P95)})
}

// JSON is the outlook as one indented object that ends in a line feed.
func (o *Outlook) JSON() ([]byte, error) {
	text, err := json.MarshalIndent(o, "", "  ")
	return append(text, '\n'), err
}

// tidy rounds all figures to four decimals: sums of many parts have noise beyond.
func tidy(v reflect.Value) {
	switch v.Kind() {
	case reflect.Float64:
		if x := v.Float(); v.CanSet() && !math.IsInf(x, 0) && !math.IsNaN(x) {
			v.SetFloat(math.Round(x*1e4)/1e4 + 0) // + 0: no negative zero
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				tidy(v.Field(i))
			}
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			tidy(v.Index(i))
		}
	}
}
