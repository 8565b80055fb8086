package scenarios

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
)

// A sheet of twelve covers the states, has no two cases alike, and each can be solved by
// what is on it. With its key it takes six pages.
func TestSheet(t *testing.T) {
	for i := range effort.Of(1, 3, 12) {
		level, seed := 1+i%Levels, effort.Seed%1e6+uint64(i)
		s, err := NewSheet(level, 12, seed, belief.Infer)
		require.NoError(t, err)
		where := s.Name()
		require.Len(t, s.Cases, 12, where)
		covered := map[string]bool{}
		for n, c := range s.Cases {
			covered[c.covers.ID] = true
			for _, o := range s.Cases[:n] {
				assert.False(t, c.alike(o), "%s: %s and %s", where, c.Scenario.ID, o.Scenario.ID)
				assert.NotEqual(t, displays(c), displays(o), where)
				assert.LessOrEqual(t, o.misleads(), c.misleads(), "%s: the easiest stand first", where)
			}
			for _, id := range c.Scenario.Truth() {
				assert.GreaterOrEqual(t, c.belief.Of(id), 0.5, "%s: %s", where, c.Scenario.ID)
			}
		}
		for _, id := range []string{"charging", "holding-back", "array-open", "reversed", "no-battery", "dark"} {
			assert.True(t, covered[id], "%s: %s", where, id)
		}
		sheet, key := pdfPages(t, s.Worksheet()), pdfPages(t, s.AnswerKey())
		assert.LessOrEqual(t, sheet+key, 6, where)
	}
}

func displays(c *SheetCase) string {
	var list []string
	for _, r := range c.shown {
		list = append(list, string(r.key)+" "+r.text)
	}
	return strings.Join(list, "; ")
}

func pdfPages(t *testing.T, d document.Document) int {
	t.Helper()
	pdf, err := d.PDF(document.A4)
	require.NoError(t, err)
	return bytes.Count(pdf, []byte("/Type /Page\n"))
}

// Two seeds share no case, and the same seed gives the same sheet.
func TestSheetsShareNoCase(t *testing.T) {
	seen := map[string]uint64{}
	for seed := range uint64(effort.Of(2, 4, 40)) {
		s, err := NewSheet(1, 4, seed, belief.Infer)
		require.NoError(t, err)
		for _, c := range s.Cases {
			for _, mark := range []string{c.Scenario.ID, c.Scenario.Site.Name + displays(c)} {
				other, is := seen[mark]
				assert.False(t, is, "%s: of seed %d and %d", mark, other, seed)
				seen[mark] = seed
			}
		}
		if seed == 0 {
			again, err := NewSheet(1, 4, seed, belief.Infer)
			require.NoError(t, err)
			assert.Equal(t, s.Worksheet().Text(), again.Worksheet().Text())
			assert.Equal(t, s.AnswerKey().Text(), again.AnswerKey().Text())
		}
	}
}

// The worksheet tells no answer: no title of a condition stands on it.
func TestWorksheetTellsNoAnswer(t *testing.T) {
	s, err := NewSheet(2, 6, 3, belief.Infer)
	require.NoError(t, err)
	text := strings.ToLower(s.Worksheet().Text())
	key := strings.ToLower(strings.Join(strings.Fields(s.AnswerKey().Text()), " "))
	for i, c := range s.Cases {
		for _, id := range c.Scenario.Truth() {
			title := strings.ToLower(condition.Of(id).Title)
			assert.False(t, strings.Contains(text, title), title)
			assert.True(t, strings.Contains(key, fmt.Sprintf("case %d: %s", i+1, title)), title)
		}
		for _, q := range standingQuestions() {
			assert.NotEmpty(t, q.answerText(c.right[q.ID]), q.ID)
		}
	}
	for _, c := range condition.All() {
		if c.ID != condition.Sound {
			assert.NotEmpty(t, sheetWords().Mistake[string(c.ID)], "a common wrong answer for %s", c.ID)
		}
	}
}

func BenchmarkSheet(b *testing.B) {
	for i := 0; b.Loop(); i++ {
		s, err := NewSheet(1+i%Levels, 12, uint64(i), belief.Infer)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := s.Worksheet().PDF(document.A4); err != nil {
			b.Fatal(err)
		}
		if _, err := s.AnswerKey().PDF(document.A4); err != nil {
			b.Fatal(err)
		}
	}
}
