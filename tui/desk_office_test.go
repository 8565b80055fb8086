package tui

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

func init() {
	for name, keys := range map[string][]string{
		"desk":            {"down"},
		"desk-due":        {"left"},
		"desk-only":       {"f2", "state lost", "enter"},
		"desk-none":       {"f2", "before 2001-01-01", "enter"},
		"desk-results":    {"f3"},
		"desk-visit":      {"enter"},
		"desk-step":       {"enter", "down", "down", "down"},
		"desk-trends":     {"enter", "f4"},
		"desk-help":       {"enter", "?"},
		"desk-comment":    {"enter", "down", "f3", "Which meter?"},
		"desk-question":   {"enter", "f5", "enter"},
		"desk-accept":     {"enter", "f9"},
		"desk-passphrase": {"enter", "f9", "enter", "secret"},
	} {
		screens[name] = func() *driver {
			w := *must(office())
			s := newDesk(&w)
			d := drive(s, options())
			d.run(s.load(s.list.Query))
			return d.press(keys...)
		}
	}
}

func TestMain(m *testing.M) {
	code := m.Run()
	if officeDir != "" {
		_ = os.RemoveAll(officeDir)
	}
	os.Exit(code)
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

var officeDir string // of the ledger, "" while there is none

// office is a desk that has all there is: visits to several sites that ask for eyes for
// several reasons, decisions, results of practice. Today's engine has looked at all.
var office = sync.OnceValues(func() (*DeskWork, error) {
	ctx := context.Background()
	now := time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC)
	dir, err := os.MkdirTemp("", "office")
	if err != nil {
		return nil, err
	}
	officeDir = dir
	l, err := ledger.Open(ctx, filepath.Join(dir, "the.ledger"), func() time.Time { return now })
	if err != nil {
		return nil, err
	}
	k, err := signature.New(rand.Reader)
	if err != nil {
		return nil, err
	}
	names, err := signature.ParseNames("names.toml", fmt.Appendf(nil, "[[person]]\nname = \"S. Visor\"\nkey = %q\nfrom = 2026-01-01T00:00:00Z\n", k.Public()))
	if err != nil {
		return nil, err
	}
	infer := func(in belief.Input) (*belief.Result, error) {
		return believing(min(0.95, 0.3+0.1*float64(len(in.Readings.Numbers)))), nil
	}
	w := &DeskWork{
		Desk:    &desk.Desk{Ledger: l, Names: names, Infer: infer, Afresh: infer, Engine: "v1.4.0", Now: func() time.Time { return now }},
		Context: ctx,
		OpenKey: func([]byte) (signature.Key, error) { return signature.Key{}, signature.ErrPassphrase },
	}
	var unwelcome error
	err = l.HandIn(ctx, func(yield func(ledger.Source, error) bool) {
		for name, text := range officeFiles() {
			if !yield(ledger.Source{Name: name, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(text)), nil }}, nil) {
				return
			}
		}
	}, names, func(o ledger.Outcome) {
		if o.Fate != ledger.TakenNew {
			unwelcome = errors.New(o.Name + ": " + o.Reason)
		}
	})
	if err := errors.Join(err, unwelcome); err != nil {
		return nil, err
	}
	for i := range officeVisits {
		v, err := w.Desk.Visit(ctx, officeID(i))
		if err == nil {
			v, err = w.Desk.Today(ctx, v)
		}
		if err == nil && i == officeVisits-1 {
			err = w.Desk.Say(ctx, v, k, review.Comment, "rest_v", "Which meter was this?")
		}
		if kind, ok := map[int]review.Kind{0: review.Accept, 3: review.Accept, 4: review.SendBack, 9: review.Accept}[i]; ok && err == nil {
			err = w.Desk.Say(ctx, v, k, kind, "", "Was the fuse put back?")
		}
		if err != nil {
			return nil, err
		}
	}
	return w, nil
})

const officeVisits = 24

func officeID(i int) string { return fmt.Sprintf("visit-%02d", i) }

// officeFiles are what is handed in, by name.
func officeFiles() map[string][]byte {
	files := map[string][]byte{}
	sites := []string{"Dry Ridge clinic", "Long Bay school", "Stony Ford dispensary"}
	found := []condition.ID{condition.ArrayOpen, condition.Sound, condition.BatteryWorn, condition.ArraySoiled, condition.LoadJoint}
	for i := range officeVisits {
		at := time.Date(2025, 1, 6, 9, 10, 0, 0, time.UTC).AddDate(0, 0, 28*i)
		var out bytes.Buffer
		w := record.NewWriter(&out)
		put := func(e visiting.Entry) {
			if err := w.Append(e); err != nil {
				panic(err)
			}
		}
		put(visiting.Entry{Head: &visiting.Head{ID: officeID(i), SiteName: sites[i%3], SiteTOML: string(site.DemoTOML()), Who: []string{"A. Visitor", "B. Helper"}[i%2], StartedAt: at}})
		minute := 0
		took := func(k reading.Key, x float64) {
			minute += 2
			put(visiting.Entry{Answer: &visiting.Answer{Step: string(k), Kind: visiting.Took, Reading: k, Typed: fmt.Sprint(x), Number: &x, At: at.Add(time.Duration(minute) * time.Minute)}})
		}
		age := float64(i) / officeVisits
		took(reading.Irradiance, 800)
		took(reading.ArrayA, 5-age)
		took(reading.RestV, 12.75-0.3*age)
		took(reading.StepA, 5)
		took(reading.StepPostV, 12.6-0.5*age)
		c := found[i%5]
		end := at.Add(time.Hour)
		concluded := &visiting.Conclusion{At: end, Conditions: []visiting.ConditionPosterior{{ID: c, Probability: visiting.Rounded(0.6 + 0.1*float64(i%4))}}}
		if c != condition.Sound {
			concluded.Left = []visiting.Outstanding{{Condition: c, Who: "A. Mechanic", By: end.AddDate(0, 0, 14).Format(time.DateOnly), Due: end.AddDate(0, 0, 14).Format(time.DateOnly)}}
		}
		switch i % 6 {
		case 3:
			concluded.Skipped = []string{"dry"}
		case 5:
			concluded.Suspect = []visiting.SuspectReading{{Reading: reading.ArrayA, Probability: 0.7}}
		}
		put(visiting.Entry{End: &visiting.End{At: end}})
		put(visiting.Entry{Conclusion: concluded})
		files[officeID(i)+record.Suffix] = out.Bytes()
	}
	var practice []byte
	for i := range 5 {
		r := practicelog.Result{
			Who: []string{"T. Rainee", "U. Rainee"}[i%2], At: time.Date(2026, 11, 2+i, 10, 0, 0, 0, time.UTC), Mode: practicelog.OnOnesOwn, Scenario: "morning-round", Level: 1 + i%3,
			Right: i%2 == 0, Score: practicelog.Score{Total: float64(60 + 5*i)}, Readings: 8 + i, Breaches: make([]string, i/4),
		}
		practice = append(practice, must(r.JSONLine())...)
	}
	files["practice.jsonl"] = practice
	return files
}
