package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
)

var keepVisits = flag.String("keep-visits", "", "the folder that the journals of a new version are written to, see wholeVisits")

// wholeVisits are visits in which what was chosen decides what comes after. Their
// journals, as each version of the program wrote them, are kept in testdata/journals.
var wholeVisits = map[string]scene{
	"repaired": {fault: condition.ArrayOpen, helps: 1, answers: map[string][]string{
		"labels": {"3"}, "open-work-seen": {"Ana, Friday"}, "next-visit": {"3"}, "covers-off": {"3"},
	}},
	"not-repaired": {fault: condition.ArrayOpen, answers: map[string][]string{
		"repair": {"2", "1"}, "open-work": {"Ana, Tuesday"}, "next-visit": {"1"}, "meter-proven": {"4"},
	}},
	"loads-stay-on": {fault: condition.ArrayOpen, answers: map[string][]string{
		"permission": {"2"}, "battery-place": {"1 6"}, "repair": {"1"}, "open-work": {"A. Mechanic, 2026-12-01"},
		"next-visit": {"4"}, "appliances": {"1"},
	}},
	"no-instruments": {fault: condition.LoadJoint, answers: map[string][]string{
		"irradiance_w_m2": {"cannot 2"}, "module_c": {"cannot 2"}, "air_c": {"cannot it fell"}, "clamp-fit": {"cannot 3"},
		"eyes": {"cannot 4"}, "array-look": {"note a nest below it", "2 3"}, "repair": {"1"}, "open-work": {""}, "next-visit": {"5"},
	}},
	"dangers": {answers: map[string][]string{
		"battery-place": {"2 3"}, "terminals-look": {"2 3 4"}, "fuse-safe": {"2"}, "spot-off": {"2"}, "label-open": {"2"}, "next-visit": {"2"},
	}},
	"smell": {answers: map[string][]string{"battery-look": {"7"}, "keep-away": {"2"}}},
	"storm": {answers: map[string][]string{"lightning": {"3"}}},
	"overcharge": {fault: condition.ChargePathStuck, answers: map[string][]string{"repair": {"1"}, "label-open": {"3"}},
		at: func(u *plant.Unknowns) { u.SoC, u.BatteryC, u.LoadW = 1, 38, 0 }},
	"battery-open": {fault: condition.BatteryOpen, option: 1, helps: 1, answers: map[string][]string{"no-current": {"2"}, "polarity": {"2"}, "tools": {"2"}}},
	"stopped": {fault: condition.ArrayOpen, answers: map[string][]string{
		"mended-array": {"stop it smells burnt"}, "array-connect": {"cannot the owner wants it off"}, "loads-back": {"cannot 4"}, "safe-back": {"1"},
	}},
	"left": {fault: condition.ArrayOpen, leave: true, answers: map[string][]string{
		"people": {"back 1\n2", "1 2"}, "array_v": {"", "repeat"}, "repair": {leaves},
	}},
}

func TestKeepVisits(t *testing.T) {
	if *keepVisits == "" {
		t.Skip("no folder is given")
	}
	for name, sc := range wholeVisits {
		t.Run(name, func(t *testing.T) {
			var text bytes.Buffer
			sc.keep = record.NewWriter(&text)
			sc.on(t, faces[0])
			require.NoError(t, os.MkdirAll(*keepVisits, 0o755))
			require.NoError(t, os.WriteFile(filepath.Join(*keepVisits, name+record.Suffix), text.Bytes(), 0o644))
		})
	}
}

// believed is what a journal says was believed at the end of its visit, nil where it says
// nothing. It is not worked out again, so that a better inference changes no paper here.
func believed(entries []visiting.Entry) *belief.Result {
	var r *belief.Result
	for _, e := range entries {
		if e.Conclusion == nil {
			continue
		}
		r = &belief.Result{}
		for _, c := range e.Conclusion.Conditions {
			r.Conditions = append(r.Conditions, belief.Posterior{ID: condition.ID(c.ID), P: float64(c.Probability)})
		}
		st := e.Conclusion.State
		r.State = belief.State{
			Daylight: float64(st.Daylight), Charging: float64(st.Charging), Regulating: float64(st.Regulating),
			LoadsCut: float64(st.LoadsCut), AsDesigned: float64(st.AsDesigned),
		}
	}
	return r
}

// Journals of every version mean today what they meant when they were written: the same
// state, the same readings, the same papers.
func TestOldVisits(t *testing.T) {
	names, err := filepath.Glob(filepath.Join("..", "..", "testdata", "journals", "*", "*"+record.Suffix))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	for _, name := range names {
		t.Run(filepath.ToSlash(strings.TrimSuffix(name, record.Suffix)), func(t *testing.T) {
			entries, damage, err := record.Read(name)
			require.NoError(t, err)
			require.Nil(t, damage)
			got := story(t, entries)
			golden := strings.TrimSuffix(name, record.Suffix) + ".golden"
			if *update {
				require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err)
			require.Equal(t, string(want), got)
		})
	}
}

// resumed is the visit of the entries, with what was believed at its end.
func resumed(t *testing.T, entries []visiting.Entry) *visiting.Visit {
	t.Helper()
	v, err := visiting.Resume(entries, nowhere{})
	require.NoError(t, err)
	if r := believed(entries); r != nil {
		require.True(t, v.Learn(v.Seq(), r))
		v.LearnFound(r)
	}
	return v
}

// A seen is a finding as it is told.
type seen struct{ Where, Seen, Do, Who string }

// story tells all that follows from the entries of a visit.
func story(t *testing.T, entries []visiting.Entry) string {
	t.Helper()
	v := resumed(t, entries)
	var b strings.Builder
	tell := func(what string, x any) {
		text, err := json.Marshal(x)
		require.NoError(t, err)
		fmt.Fprintf(&b, "%s: %s\n", what, text)
	}
	st, course := v.State(), v.Procedure()
	for _, s := range course.Steps {
		if m := st.Mark(s.ID); m != 0 {
			fmt.Fprintf(&b, "step %s: %d %s\n", s.ID, m, st.Reason(s.ID))
		}
	}
	p := v.Prompt()
	tell("stopped", st.Stopped)
	tell("ended", course.Ended(st))
	tell("dangers", course.Dangers(st))
	tell("open", course.OpenText(st))
	tell("left open", course.Left(st))
	tell("readings", v.Input().Readings)
	tell("readings as found", v.FoundInput().Readings)
	var findings []seen
	for _, f := range v.Findings() {
		findings = append(findings, seen{f.Where, f.Seen, f.Do, f.Who.Text()})
	}
	tell("findings", findings)
	for _, w := range v.OpenWork() {
		var does []string
		for _, a := range w.Actions {
			does = append(does, a.Do)
		}
		tell("open work", []any{w.Found.ID, w.Who, w.By, does})
	}
	who, by := v.SeenBy()
	tell("seen to", []string{who, by})
	for _, r := range v.Repairs() {
		tell("repair", []any{r.Condition, r.Action.ID, r.Outcome})
	}
	tell("left", visiting.LeftBy(v))
	tell("next", []any{p.Done, p.Step.ID, p.Action, p.Step.Choices, p.Step.Checks})
	for _, e := range entries {
		if e.Conclusion != nil {
			tell("to be done", e.Conclusion.Left)
		}
	}
	for _, d := range []document.Document{summary.ForStaff(v, summary.Beside{}), summary.ForCaretaker(v, summary.Beside{})} {
		fmt.Fprintf(&b, "\n%s", d.Text())
	}
	return b.String()
}
