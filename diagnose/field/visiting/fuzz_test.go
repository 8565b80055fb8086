package visiting_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
)

// Whatever entries a journal of a stranger has, the visit can be taken up or is refused: it
// asks something or is done, and what it has open is put back by steps that it knows.
func FuzzResume(f *testing.F) {
	head, err := json.Marshal(visiting.Entry{Head: &visiting.Head{ID: "x", SiteName: "x", SiteTOML: string(site.DemoTOML()), StartedAt: time.Unix(0, 0).UTC()}})
	require.NoError(f, err)
	for _, answers := range []string{
		`{"answer":{"step":"permission","kind":"did","chosen":["all"],"at":"2026-11-20T10:30:00Z"}}`,
		`{"answer":{"step":"sky","kind":"took","reading":"sky","word":"clear","at":"1970-01-01T00:00:00Z"}}` + "\n" + `{"end":{"at":"2026-11-20T10:30:00Z"}}`,
		`{"answer":{"step":"battery_v","kind":"took","reading":"battery_v","number":1e308}}` + "\n" + `{"answer":{"step":"array-isolate","kind":"did","word":"done"}}`,
		`{"answer":{"step":"../../up","kind":"stop","reason":"\u202e=x()","about":"array-open","action":"array-open/fuse","again":true}}`,
		`{"answer":{"kind":"note","reason":"<script>","list":[1,2,-3e300],"chosen":["",""],"labels":[]}}`, "", "{}", "null",
	} {
		f.Add([]byte(answers), true)
	}
	f.Fuzz(func(t *testing.T, lines []byte, quick bool) {
		var first visiting.Entry
		require.NoError(t, json.Unmarshal(head, &first))
		if quick {
			first.Head.Depth = visiting.Quick
		}
		entries := []visiting.Entry{first}
		for line := range strings.Lines(string(lines)) {
			var e visiting.Entry
			if json.Unmarshal([]byte(line), &e) == nil && len(entries) < 50 {
				entries = append(entries, e)
			}
		}
		v, err := visiting.Resume(entries, nil)
		if err != nil {
			return
		}
		p := v.Prompt()
		require.True(t, p.Done || p.Step.ID != "")
		for _, s := range v.Procedure().Restore(v.State()) {
			require.NotEmpty(t, s.ID)
		}
		for _, a := range v.Answers() {
			v.Takes(a.Step)
			require.NotPanics(t, func() { a.Text() })
		}
		v.Findings()
		v.OpenWork()
		v.Minutes()
		_, err = json.Marshal(v.Input())
		require.NoError(t, err, "every figure is one that can be written")
		_, err = json.Marshal(v.FoundInput())
		require.NoError(t, err)
	})
}
