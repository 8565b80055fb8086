package summary

import (
	"bytes"
	"fmt"
	"image"
	_ "image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

var papers = []document.Paper{document.A4, document.Letter}

// printing reports whether a document is printed on a paper in this run: with AMPWALK_CI
// each on each, else every paper and every document once.
func printing(paper, document int) bool {
	return (2*paper+document)%effort.Of(0, 3, 1) == 0
}

// beside is what may stand beside a visit, in full.
func beside() Beside {
	b := Beside{Fingerprint: strings.Repeat("0123456789abcdef", 4)}
	for i, step := range []string{"Sky", "Indicator: array lamp", "Array current", "Array voltage at the controller", "Voltage at the array itself"} {
		p := 0.05 + 0.22*float64(i)
		b.Steps = append(b.Steps, Believed{step, []belief.Posterior{{ID: condition.ArrayOpen, P: p}, {ID: condition.Sound, P: 0.95 - p}, {ID: condition.ChargePathOpen, P: 0.05}}})
	}
	volts := 12.9
	for i := range 10 {
		b.Earlier = append(b.Earlier, Earlier{
			At: start.AddDate(0, -10+i, 0), Leader: belief.Posterior{ID: condition.Sound, P: 0.91},
			Charge: belief.Interval{Mean: 0.8 - 0.02*float64(i), P05: 0.6, P95: 0.95}, BatteryV: &volts,
		})
	}
	return b
}

// ordinary is a visit as it usually is, with every picture.
func ordinary(t require.TestingT) *visiting.Visit {
	calm := slices.Clone(whole) // no danger is found
	for i, answer := range calm {
		switch answer[0] {
		case "battery_c":
			calm[i][1] = "46"
		case "terminals-look":
			calm[i][1] = "1"
		}
	}
	v := visit(t, calm...)
	r := arrayOpen()
	r.Array = &belief.Curve{BestV: 15.3, BestA: 4.75, AtV: 0.02}
	for i := range 49 {
		x := 22.5 * float64(i) / 48
		r.Array.Volts, r.Array.Amps = append(r.Array.Volts, x), append(r.Array.Amps, max(0, 5.1-0.0000001*x*x*x*x*x*x))
	}
	require.True(t, v.Learn(v.Seq(), r))
	return v
}

// program runs an outside program. Where it is missing the test is skipped, or
// fails with AMPWALK_CI set.
func program(t *testing.T, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if effort.All() {
			t.Fatalf("%s is missing", name)
		}
		t.Skipf("%s is missing", name)
	}
	var problem bytes.Buffer
	c := exec.Command(path, args...)
	c.Stderr = &problem
	out, err := c.Output()
	require.NoError(t, err, problem.String())
	return string(out)
}

// file writes data into a new folder.
func file(t *testing.T, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

func pdf(t *testing.T, d document.Document, p document.Paper) string {
	t.Helper()
	data, err := d.PDF(p)
	require.NoError(t, err)
	return file(t, "visit.pdf", data)
}

// printed is the PDF that a browser makes of the HTML.
func printed(t *testing.T, d document.Document, p document.Paper) string {
	t.Helper()
	page := file(t, "visit.html", []byte(d.HTML(p)))
	out := filepath.Join(filepath.Dir(page), "visit.pdf")
	program(t, "chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", "--user-data-dir="+t.TempDir(), "--print-to-pdf="+out, "file://"+page)
	return out
}

var pagesOf = regexp.MustCompile(`Pages: +(\d+)`)

func pages(t *testing.T, file string) int {
	t.Helper()
	found := pagesOf.FindStringSubmatch(program(t, "pdfinfo", file))
	require.NotNil(t, found)
	n, err := strconv.Atoi(found[1])
	require.NoError(t, err)
	return n
}

// On paper an ordinary visit takes two pages, the caretaker's version one, as PDF
// and as a browser prints the HTML; every font is inside, text can be selected,
// and title, author and language are set. Checked with poppler's programs and
// headless Chromium.
func TestOnPaper(t *testing.T) {
	if testing.Short() {
		t.Skip("many pages take a while")
	}
	v := ordinary(t)
	for i, p := range papers {
		for j, tt := range []struct {
			name  string
			doc   document.Document
			most  int
			words []string
		}{
			{"staff", ForStaff(v, beside()), 2, []string{"The array circuit is open (very likely, 94 %).", "Array voltage at the controller 0.02 V 12.60 to 13.90 V surprising", "most power", "Visit made by / date"}},
			{"caretaker", ForCaretaker(v, beside()), 1, []string{"The sun did not charge the battery at the visit.", "1. phone charging (10 W)", "Telephone"}},
		} {
			if !printing(i, j) {
				continue
			}
			t.Run(p.Name+" "+tt.name, func(t *testing.T) {
				name := pdf(t, tt.doc, p)
				assert.LessOrEqual(t, pages(t, name), tt.most)
				asSeen(t, name, p)
				info := program(t, "pdfinfo", name)
				assert.Regexp(t, `Title: +\S.*Lantern Hill clinic`, info)
				assert.Regexp(t, `Author: +A. Visitor`, info)
				text := strings.Join(strings.Fields(program(t, "pdftotext", "-layout", name, "-")), " ")
				for _, w := range tt.words {
					assert.Contains(t, text, w)
				}
				fonts := strings.Split(strings.TrimSpace(program(t, "pdffonts", name)), "\n")[2:]
				require.NotEmpty(t, fonts)
				for _, f := range fonts {
					assert.Regexp(t, `Identity-H +yes +\S+ +yes `, f, "embedded, and told in Unicode")
				}

				name = printed(t, tt.doc, p)
				assert.LessOrEqual(t, pages(t, name), tt.most, "printed by a browser")
				asSeen(t, name, p)
			})
		}
	}
}

var (
	pageBox = regexp.MustCompile(`<page width="([0-9.]+)" height="([0-9.]+)">`)
	wordBox = regexp.MustCompile(`<word xMin="(-?[0-9.]+)" yMin="(-?[0-9.]+)" xMax="(-?[0-9.]+)" yMax="(-?[0-9.]+)">(.*)</word>`)
)

// asSeen checks the pages as people see them: the size is that of the paper, every
// word lies within the margins, and what is drawn leaves them white.
func asSeen(t *testing.T, name string, p document.Paper) {
	t.Helper()
	const pt, margin = 72 / 25.4, 11.0 // mm that no printer needs to reach
	boxes := program(t, "pdftotext", "-bbox", name, "-")
	number := func(s string) float64 { x, err := strconv.ParseFloat(s, 64); require.NoError(t, err); return x }
	for _, m := range pageBox.FindAllStringSubmatch(boxes, -1) {
		assert.InDelta(t, p.W*pt, number(m[1]), 1)
		assert.InDelta(t, p.H*pt, number(m[2]), 1)
	}
	words := wordBox.FindAllStringSubmatch(boxes, -1)
	require.NotEmpty(t, words)
	for _, m := range words {
		assert.GreaterOrEqual(t, number(m[1]), margin*pt, m[5])
		assert.GreaterOrEqual(t, number(m[2]), (margin-1)*pt, m[5])
		assert.LessOrEqual(t, number(m[3]), (p.W-margin)*pt, m[5])
		assert.LessOrEqual(t, number(m[4]), (p.H-6)*pt, m[5])
	}

	dir := t.TempDir()
	program(t, "pdftoppm", "-r", "60", "-gray", "-png", name, filepath.Join(dir, "page"))
	pictures, err := filepath.Glob(filepath.Join(dir, "page*.png"))
	require.NoError(t, err)
	require.NotEmpty(t, pictures)
	for _, picture := range pictures {
		f, err := os.Open(picture)
		require.NoError(t, err)
		img, _, err := image.Decode(f)
		require.NoError(t, err)
		require.NoError(t, f.Close())
		edge, dark, total := int(math.Floor(margin/25.4*60)), 0, 0
		for y := img.Bounds().Min.Y; y < img.Bounds().Max.Y; y++ {
			for x := img.Bounds().Min.X; x < img.Bounds().Max.X; x++ {
				r, _, _, _ := img.At(x, y).RGBA()
				total++
				if r > 0xc000 {
					continue
				}
				dark++
				require.True(t, x >= edge && x < img.Bounds().Max.X-edge && y >= edge, "%s: something in the margin at %d, %d", picture, x, y)
			}
		}
		assert.Greater(t, dark, total/400, "not an empty page")
	}
}

// What can be read out of the PDF, word by word.
func TestGoldenExtract(t *testing.T) {
	v := ordinary(t)
	for _, p := range papers {
		words := strings.Fields(program(t, "pdftotext", "-raw", pdf(t, ForStaff(v, beside()), p), "-"))
		goldenFile(t, "extract-"+p.Name, strings.Join(words, "\n")+"\n")
	}
}

// goldenFile compares text with a file, or writes it with -update.
func goldenFile(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name+".golden")
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

// A long visit: sixty readings, long names, long notes in several languages.
func long(t *testing.T) *visiting.Visit {
	notes := []string{
		"Kebo la paneli limelegea kwenye kidhibiti; nimelikaza, lakini sehemu ya plastiki imeyeyuka na inahitaji kubadilishwa kabla ya mvua za masika",
		"Le câble était brûlé à l'extrémité côté régulateur ; l'infirmière a signalé une odeur la semaine dernière, où l'on a aussi remplacé un fusible",
		"وصلة اللوح الشمسي مفكوكة (منذ 12 يوماً) والفيوز 10A سليم؛ تم التنبيه على الحارس",
		strings.Repeat("Zugangsabdeckungsschraubensicherung", 12),
	}
	toml := string(site.DemoTOML())
	name := "Lantern Hill clinic and maternity ward of the upper valley, eastern bank, by the old weighbridge"
	toml = strings.Replace(toml, "Lantern Hill clinic", name, 1)
	for i := range 45 {
		toml += fmt.Sprintf("\n[[controller.lamp]]\nlabel = \"display field %d of the remote panel in the corridor\"\n[[controller.lamp.look]]\nlook = \"shows a long row of figures and then a dash\"\nmeans = \"powered\"\n", i)
	}
	v, err := visiting.New(visiting.Head{
		ID: "20261120-1030-lantern-hill-clinic-and-maternity-ward-of-the", SiteTOML: toml, StartedAt: start,
		Who: "Amina Wanjiku-Übersee, Élodie Nœuf and Jürgen Großmann, with two trainees of the upper valley's own crew",
	}, nowhere{})
	require.NoError(t, err)
	give := func(a visiting.Answer) {
		a.At = start.Add(time.Duration(len(v.History())) * time.Minute)
		require.NoError(t, v.Give(a))
	}
	readings := 0
	for _, s := range v.Procedure().Steps {
		p := visiting.Prompt{Step: s}
		p.Spec, _ = reading.SpecOf(s.Reading)
		if s.Reading == "" {
			continue
		}
		typed := map[string]string{"V": "12.61", "A": "0.42", "W/m2": "500", "C": "25", "min": "60"}[p.Spec.Unit]
		switch {
		case len(s.Choices) > 0:
			typed = "1"
		case p.Spec.Form == reading.List:
			typed = strings.TrimSpace(strings.Repeat("1.25 ", 6))
		}
		a, err := v.ReadAnyway(p, typed)
		require.NoError(t, err, s.ID)
		give(a)
		give(visiting.Answer{Step: s.ID, Kind: visiting.Note, Reason: notes[readings%len(notes)]})
		readings++
	}
	require.GreaterOrEqual(t, readings, 60)
	r := both()
	for k := range v.Input().Readings.Numbers {
		r.Evidence = append(r.Evidence, belief.Evidence{Reading: k, Sound: belief.Range{Lo: 1, Hi: 20}, HasRange: true})
	}
	require.True(t, v.Learn(v.Seq(), r))
	return v
}

func TestLongVisitOnPaper(t *testing.T) {
	if testing.Short() {
		t.Skip("many pages take a while")
	}
	v := long(t)
	for i, p := range papers {
		for j, d := range []document.Document{ForStaff(v, beside()), ForCaretaker(v, beside())} {
			if !printing(i, j) {
				continue
			}
			checkLines(t, d.Text())
			name := pdf(t, d, p)
			asSeen(t, name, p)
			asSeen(t, printed(t, d, p), p)
			assert.Equal(t, d.Large, pages(t, name) == 1)
		}
	}
	text := program(t, "pdftotext", pdf(t, ForStaff(v, beside()), document.A4), "-")
	for _, w := range []string{"limelegea", "brûlé", "Nœuf", "Großmann", "weighbridge", "Page 2 of"} {
		assert.Contains(t, text, w)
	}
	assert.Regexp(t, `[\x{fe70}-\x{feff}\x{0600}-\x{06ff}]{3}`, text, "Arabic letters")
}

// All three formats of an ordinary visit; at most 300 ms on two cores of a small laptop.
func BenchmarkThreeFormats(b *testing.B) {
	v := ordinary(b)
	with := beside()
	for b.Loop() {
		d := ForStaff(v, with)
		if len(d.Text()) == 0 || len(d.HTML(document.A4)) == 0 {
			b.Fatal("nothing was made")
		}
		if _, err := d.PDF(document.A4); err != nil {
			b.Fatal(err)
		}
	}
}
