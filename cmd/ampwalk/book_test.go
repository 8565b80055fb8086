package main

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A shelfOf is a book whose clock is set by hand.
type shelfOf struct {
	*book
	clock time.Time
}

func shelfAt(t *testing.T, clock time.Time) *shelfOf {
	t.Helper()
	s := &shelfOf{clock: clock}
	s.book = (&app{stdout: io.Discard, stderr: io.Discard, now: func() time.Time { return s.clock }, infer: cheap}).bookIn(t.TempDir())
	return s
}

// visit begins a visit after some time, gives these answers, and leaves it. It is begun from
// a fresh look at the folder, as another run of the program would.
func (s *shelfOf) visit(t *testing.T, after time.Duration, text []byte, answers ...visiting.Answer) *visiting.Visit {
	t.Helper()
	s.clock = s.clock.Add(after)
	s.book = s.bookIn(s.dir)
	v, err := s.begin(text, "A. Visitor", visiting.Full)
	require.NoError(t, err)
	for _, a := range answers {
		a.At = s.clock
		require.NoError(t, v.Give(a))
	}
	_, err = s.leave(v) // one without an answer is kept nowhere
	require.NoError(t, err)
	return v
}

// held are the steps that an earlier visit answered and that may still be so.
func held(v *visiting.Visit) (from string, steps []string) {
	e := v.Head().Earlier
	if e == nil {
		return "", nil
	}
	for _, a := range e.Answers {
		steps = append(steps, a.Step)
	}
	return e.ID, steps
}

// The next visit to a site gets what the last one found and may still be so: within a day
// what was looked at, later only that the site is as its file says, and only as long as the
// file is the same. Signs of danger and readings are never among it.
func TestNextVisitGetsWhatMayHold(t *testing.T) {
	text := site.DemoTOML()
	s := shelfAt(t, time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC))
	glass := visiting.Answer{Step: "glass", Kind: visiting.Took, Reading: reading.Glass, Word: "dusty"}
	compared := visiting.Answer{Step: "site", Kind: visiting.Did, Word: "yes", Chosen: []string{"battery", "modules", "mains"}}
	first := s.visit(t, 0, text,
		compared, glass,
		visiting.Answer{Step: "battery-look", Kind: visiting.Did, Word: "no", Chosen: []string{"none"}},
		visiting.Answer{Step: "sky", Kind: visiting.Took, Reading: reading.Sky, Word: "clear"},
	)
	assert.Nil(t, first.Head().Earlier, "nobody was here before")

	v := s.visit(t, 20*time.Hour, text)
	id, steps := held(v)
	assert.Equal(t, first.Head().ID, id)
	assert.Equal(t, []string{"site", "glass"}, steps)

	other := strings.Replace(string(text), site.Demo().Name, "Another site", 1)
	id, _ = held(s.visit(t, 0, []byte(other)))
	assert.Empty(t, id, "what holds at one site says nothing of another")

	// Visits that were left at once hide nothing of the one before, up to a few.
	s.visit(t, time.Hour, text, visiting.Answer{Step: "permission", Kind: visiting.Did, Word: "yes", Chosen: []string{"yes"}})
	id, _ = held(s.visit(t, time.Hour, text))
	assert.Equal(t, first.Head().ID, id)

	_, steps = held(s.visit(t, 3*24*time.Hour, text, compared))
	assert.Equal(t, []string{"site"}, steps, "glass gets dirty")
	id, _ = held(s.visit(t, time.Hour, append(text, "# another fuse\n"...)))
	assert.Empty(t, id, "the file has changed, and is compared again")
}

// A journal that cannot be read takes nothing from the new visit but what it would have told.
func TestVisitBeginsBesideABrokenOne(t *testing.T) {
	s := shelfAt(t, time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC))
	first := s.visit(t, 0, site.DemoTOML(), visiting.Answer{Step: "glass", Kind: visiting.Took, Reading: reading.Glass, Word: "dusty"})
	id, _ := held(s.visit(t, time.Hour, site.DemoTOML()))
	require.Equal(t, first.Head().ID, id)

	name := filepath.Join(s.dir, first.Head().ID+record.Suffix)
	require.NoError(t, os.WriteFile(name, []byte("torn\n"), 0o600))
	v := s.visit(t, time.Hour, site.DemoTOML())
	assert.Nil(t, v.Head().Earlier)
	assert.Equal(t, "permission", v.Prompt().Step.ID, "it can be begun all the same")
}
