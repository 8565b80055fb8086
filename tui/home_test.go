package tui

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/physics/site"
)

// cameHome drives a visit that somebody reviewed.
func cameHome(t *testing.T, asked bool) (*driver, *visiting.Visit) {
	t.Helper()
	var out bytes.Buffer
	w := record.NewWriter(&out)
	head := visiting.Head{ID: "x", SiteName: "Dry Ridge", SiteTOML: string(site.DemoTOML()), StartedAt: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}
	require.NoError(t, w.Append(visiting.Entry{Head: &head}))
	v, err := visiting.New(head, w)
	require.NoError(t, err)
	opt := options()
	opt.Infer = setBelief
	opt.Home = func(*visiting.Visit) desk.Home {
		return desk.Home{
			Asked: asked, Whole: []string{"S. Visor, question: Which\x1b[2J fuse?"},
			Steps: map[string][]string{v.Prompt().Step.ID: {"S. Visor, comment: Who was it?"}}, Notes: []string{"Permission: S. Visor, comment: Who was it?"},
		}
	}
	d := drive(nil, opt)
	d.send(visitMsg{visit: v})
	return d, v
}

func TestQuestionComesHome(t *testing.T) {
	d, v := cameHome(t, true)
	for _, size := range [][2]int{{60, 20}, {80, 24}} {
		d.size(size[0], size[1])
		frame := d.m.View()
		assert.Contains(t, frame, "Which fuse?")
		assert.Contains(t, frame, "Who was it?")
		assert.Contains(t, frame, "> _")
	}
	d.press("the middle one", "enter")
	require.Len(t, v.Notes(), 1)
	assert.Equal(t, "the middle one", v.Notes()[0].Reason)
	assert.Contains(t, d.m.View(), "Comment  S. Visor, comment: Who was it?", "at its step")
}

func TestReviewedVisitAsksNothing(t *testing.T) {
	d, v := cameHome(t, false)
	assert.NotContains(t, d.m.View(), "Your answer, kept")
	d.press("enter")
	assert.Empty(t, v.Notes())
	assert.Contains(t, d.m.View(), "Comment  S. Visor")
}
