package main

import (
	"fmt"
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
	"ampwalk/diagnose/physics/site"
)

// sitesAndVisits fills the current folder with so many site files, and another with finished
// visits to them, each with as many answers as an ordinary visit.
func sitesAndVisits(tb testing.TB, sites, visits int) *book {
	tb.Helper()
	here, dir := tb.TempDir(), tb.TempDir()
	tb.Chdir(here)
	at := time.Date(2026, 11, 20, 10, 30, 0, 0, time.UTC)
	texts := make([]string, sites)
	for i := range texts {
		texts[i] = strings.Replace(string(site.DemoTOML()), site.Demo().Name, fmt.Sprintf("Site %d", i), 1)
		require.NoError(tb, os.WriteFile(fmt.Sprintf("%d%s", i, siteSuffix), []byte(texts[i]), 0o600))
	}
	for i := range visits {
		f, err := os.Create(filepath.Join(dir, fmt.Sprintf("v%d%s", i, record.Suffix)))
		require.NoError(tb, err)
		w := record.NewWriter(f)
		n := i % sites
		begun := at.Add(time.Duration(i) * time.Hour)
		require.NoError(tb, w.Append(visiting.Entry{Head: &visiting.Head{
			ID: fmt.Sprintf("v%d", i), SiteName: fmt.Sprintf("Site %d", n), SiteTOML: texts[n], StartedAt: begun,
		}}))
		for range 40 {
			a := visiting.Answer{Step: "battery_v", Kind: visiting.Did, Typed: "1", Word: "done", Labels: []string{strings.Repeat("as told ", 10)}, At: begun}
			require.NoError(tb, w.Append(visiting.Entry{Answer: &a}))
		}
		require.NoError(tb, w.Append(visiting.Entry{End: &visiting.End{At: begun}}))
		require.NoError(tb, f.Close())
	}
	return (&app{stdout: io.Discard, stderr: io.Discard, now: time.Now, infer: cheap}).bookIn(dir)
}

// Each site has its own visits, and a site that two files describe has them in both.
func TestSitesHaveTheirVisits(t *testing.T) {
	b := sitesAndVisits(t, 3, 7)
	text, err := read("0" + siteSuffix)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile("again"+siteSuffix, text, 0o600))
	require.NoError(t, os.Remove("1"+siteSuffix)) // only visits know this one
	last := map[string]string{}
	var names []string
	for _, f := range b.sites() {
		names = append(names, f.Name+" "+f.Path)
		if f.Last != nil {
			last[f.Name+" "+f.Path] = f.Last.ID
			assert.Equal(t, f.Last, f.Finished)
		}
		if f.Path != "" {
			assert.Equal(t, f, b.openSite(f.Path))
		}
	}
	assert.Equal(t, []string{"Site 0 0.site.toml", "Site 2 2.site.toml", "Site 0 again.site.toml", "Site 1 ", site.Demo().Name + " "}, names)
	assert.Equal(t, map[string]string{"Site 0 0.site.toml": "v6", "Site 0 again.site.toml": "v6", "Site 1 ": "v4", "Site 2 2.site.toml": "v5"}, last)
	assert.Empty(t, b.unfinished())
}

// What is read before the first frame, and how it was read once: every journal whole,
// again for every site file.
func BenchmarkStart(b *testing.B) {
	desk := sitesAndVisits(b, 30, 300)
	b.Run("now", func(b *testing.B) {
		for b.Loop() {
			fresh := desk.bookIn(desk.dir)
			require.Empty(b, fresh.unfinished())
			require.Len(b, fresh.sites(), 31)
		}
	})
	b.Run("whole journals for each site", func(b *testing.B) {
		for b.Loop() {
			for range 30 + 2 {
				items, err := record.List(desk.dir)
				require.NoError(b, err)
				require.Len(b, items, 300)
			}
		}
	})
}
