package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"time"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/internal/hashchain"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/condition"
)

// The programme that is made up (choices of this project, by common practice of
// programmes with visits each quarter).
const (
	years         = 5
	visitsPerSite = 20   // on average; some sites have many more
	visitsByOne   = 2500 // of one person of the staff, on average
	supervisors   = 12
	soundShare    = 0.4 // of visits, where nothing was wrong
	underWayShare = 0.3 // of the visits of the last days
	lastDays      = 10  // in which little is decided
	acceptedShare = 0.93
	sentBackShare = 0.02
)

// A programme makes visits, the same for the same seed and number.
type programme struct {
	visits int
	seed   uint64
	until  time.Time
	sites  []string
	staff  []string
	plants [][]course // those at the same kind of plant together
	share  float64    // of all courses
	keys   []signature.Key
	names  signature.Names
}

func newProgramme(visits int, seed uint64, until time.Time, list []course) (*programme, error) {
	p := &programme{visits: visits, seed: seed, until: until}
	for _, c := range list {
		i := slices.IndexFunc(p.plants, func(others []course) bool { return others[0].plant == c.plant })
		if i < 0 {
			i, p.plants = len(p.plants), append(p.plants, nil)
		}
		p.plants[i] = append(p.plants[i], c)
		p.share += c.share
	}
	p.sites = siteNames(max(20, visits/visitsPerSite))
	p.staff = staffNames(max(8, visits/visitsByOne))
	text := ""
	for i, name := range staffNames(len(p.staff) + supervisors)[len(p.staff):] {
		k, err := signature.New(chance{rand.New(rand.NewPCG(seed, uint64(i)))})
		if err != nil {
			return nil, err
		}
		p.keys = append(p.keys, k)
		text += fmt.Sprintf("[[person]]\nname = %q\nkey = %q\nfrom = 2000-01-01T00:00:00Z\n", name, k.Public())
	}
	var err error
	p.names, err = signature.ParseNames("names", []byte(text))
	return p, err
}

// chance reads a source of numbers as bytes.
type chance struct{ rng *rand.Rand }

func (c chance) Read(b []byte) (int, error) {
	for i := range b {
		b[i] = byte(c.rng.Uint32())
	}
	return len(b), nil
}

// together is how many visits are handed in before what was said of them, so that who
// makes one does not wait for who makes the other.
const together = 64

// files are visits number from to before, as they are handed in: each a journal
// and, where somebody decided on it, what was said.
func (p *programme) files(from, before int) iter.Seq2[ledger.Source, error] {
	return func(yield func(ledger.Source, error) bool) {
		for ; from < before; from += together {
			var said []ledger.Source
			for i := from; i < min(from+together, before); i++ {
				visit := sync.OnceValues(func() ([]byte, error) { return p.visit(i) })
				if !yield(source(fmt.Sprint(i, record.Suffix), visit), nil) {
					return
				}
				if kind := p.decision(i); kind != "" {
					said = append(said, source(fmt.Sprint(i, review.Suffix), func() ([]byte, error) {
						data, err := visit()
						if err != nil {
							return nil, err
						}
						return p.review(i, kind, data)
					}))
				}
			}
			for _, s := range said {
				if !yield(s, nil) {
					return
				}
			}
		}
	}
}

// source is a file that is made as it is opened.
func source(name string, make func() ([]byte, error)) ledger.Source {
	return ledger.Source{Name: name, Open: func() (io.ReadCloser, error) {
		data, err := make()
		return io.NopCloser(bytes.NewReader(data)), err
	}}
}

// rng is the chance of one visit.
func (p *programme) rng(i int) *rand.Rand { return rand.New(rand.NewPCG(p.seed, uint64(i)+1<<32)) }

// start of visit i: all days alike but Sundays, by day, the programme growing to
// twice its size.
func (p *programme) start(i int, rng *rand.Rand) time.Time {
	share := (math.Sqrt(1+3*(float64(i)+0.5)/float64(p.visits)) - 1) // of the years, where the rate doubles
	span := float64(years * 365 * 24 * time.Hour)
	at := p.until.Add(-time.Duration(span * (1 - share))).Truncate(24 * time.Hour)
	if at.Weekday() == time.Sunday {
		at = at.Add(-24 * time.Hour)
	}
	return at.Add(7*time.Hour + time.Duration(rng.IntN(9*3600))*time.Second)
}

// skewed is one of n, the first ones more often.
func skewed(rng *rand.Rand, n int) int {
	x := rng.Float64()
	return int(float64(n) * x * math.Sqrt(x))
}

// visit is the journal of visit i as the writer of visits writes it.
func (p *programme) visit(i int) ([]byte, error) {
	rng := p.rng(i)
	at := p.start(i, rng)
	number := skewed(rng, len(p.sites))
	entries := pick(rng, p.courses(number, rng.Float64() < soundShare)).entries
	h := *entries[0].Head
	h.SiteName, h.Who = p.sites[number], p.staff[skewed(rng, len(p.staff))]
	h.SiteTOML = strings.Replace(h.SiteTOML, "\nname = ", "\nname = "+fmt.Sprintf("%q # ", h.SiteName), 1)
	old, installed := `installed = "`+theirs(entries)+`"`, p.installed(number, at)
	h.SiteTOML = strings.ReplaceAll(h.SiteTOML, old, fmt.Sprintf("installed = %q", installed))
	h.ID = at.Format("20060102-1504-") + strings.ReplaceAll(strings.ToLower(h.SiteName), " ", "-") + fmt.Sprintf("-%d", i)
	shift := at.Sub(h.StartedAt)
	h.StartedAt = at
	entries = p.varied(entries[1:], shift, rng)
	for _, e := range entries {
		if e.Conclusion != nil {
			e.Conclusion.Battery.Installed = installed
		}
	}
	if p.late(at) && rng.Float64() < underWayShare {
		entries = entries[:1+rng.IntN(len(entries)-1)]
	}
	var out bytes.Buffer
	w := record.NewWriter(&out)
	err := w.Append(visiting.Entry{Head: &h})
	for _, e := range entries {
		if err == nil {
			err = w.Append(e)
		}
	}
	return out.Bytes(), err
}

// theirs is the month that a course's battery was installed in.
func theirs(entries []visiting.Entry) string {
	for _, e := range entries {
		if e.Conclusion != nil {
			return e.Conclusion.Battery.Installed
		}
	}
	return ""
}

// installed is the month of the battery at a site: any of the years that one lasts, and
// then a new one.
func (p *programme) installed(number int, at time.Time) string {
	const lasts = 9 * 12 // months
	rng := rand.New(rand.NewPCG(p.seed, uint64(number)+4<<32))
	day := p.until.AddDate(0, -rng.IntN(lasts), 0)
	for day.After(at) {
		day = day.AddDate(0, -lasts, 0)
	}
	return day.Format("2006-01")
}

// plant is the kind of plant at a site, those that common courses were made at more often.
func (p *programme) plant(number int) []course {
	x := rand.New(rand.NewPCG(p.seed, uint64(number)+5<<32)).Float64() * p.share
	for _, list := range p.plants {
		for _, c := range list {
			if x -= c.share; x < 0 {
				return list
			}
		}
	}
	return p.plants[0]
}

// courses are the sound ones, or the others, at the kind of plant of a site; all where
// there are none.
func (p *programme) courses(number int, sound bool) []course {
	plant := p.plant(number)
	list := slices.DeleteFunc(slices.Clone(plant), func(c course) bool { return (c.condition == condition.Sound) != sound })
	if len(list) == 0 {
		return plant
	}
	return list
}

// pick is one of the courses, those to what is more common more often; few end while
// it is not clear what it is.
func pick(rng *rand.Rand, list []course) course {
	sum := 0.0
	for _, c := range list {
		sum += c.share
	}
	x := rng.Float64() * sum
	for _, c := range list {
		if x -= c.share; x < 0 {
			return c
		}
	}
	return list[len(list)-1]
}

// late reports whether a visit is of the last days.
func (p *programme) late(at time.Time) bool { return p.until.Sub(at) < lastDays*24*time.Hour }

// decision is what a supervisor decided on visit i, "" for nothing yet.
func (p *programme) decision(i int) review.Kind {
	at := p.start(i, p.rng(i))
	x := rand.New(rand.NewPCG(p.seed, uint64(i)+2<<32)).Float64()
	if p.late(at) {
		x += 0.8
	}
	switch {
	case x < sentBackShare:
		return review.SendBack
	case x < acceptedShare:
		return review.Accept
	}
	return ""
}

// review is what was said of visit i.
func (p *programme) review(i int, kind review.Kind, journal []byte) ([]byte, error) {
	first, _, _ := bytes.Cut(journal, []byte("\n"))
	var h struct{ Head visiting.Head }
	if err := json.Unmarshal(first, &h); err != nil {
		return nil, err
	}
	last := journal[bytes.LastIndexByte(journal[:len(journal)-1], '\n')+1:]
	k := p.keys[i%len(p.keys)]
	r := review.Review{Visit: h.Head.ID, Head: hashchain.Hash(last), Kind: kind, Who: p.names.Of(k.Public()), At: h.Head.StartedAt.Add(5 * 24 * time.Hour)}
	if kind == review.Accept {
		r.Found = []string{"as the visit concluded"}
	} else {
		r.Text = "Was the plug of the array closed again?"
	}
	e, err := review.Sign("", r, k)
	return e.Line, err
}

// siteNames are n invented names, each once.
func siteNames(n int) []string {
	first := words("Amber Ash Birch Bright Broad Cedar Clay Clear Copper Coral Crane Crow Dawn Deep Dove Dry Dune Dust Eagle East Elm Ember Far Fern Fig Flint Ford Fox Glen Gold Grass Green Grey Hawk Heron High Hollow Iron Juniper Kite Lark Leaf Lime Long Low Maple Marsh Mill Mint Moss North Oak Olive Palm Pearl Pine Plum Quail Rain Raven Red Reed River Rock Rose Rush Sage Salt Sand Shale Silver Slate Snow South Spring Star Stone Straw Swift Thorn Tin Twin Vale Vine West White Wild Willow Wind Wren")
	second := words("Bank Bay Bend Bluff Bridge Brook Corner Creek Cross Dale Edge Falls Field Ford Gap Gate Glade Grove Hill Hollow Island Knoll Landing Lane Ledge Meadow Mill Moor Pass Path Peak Plain Point Pool Ridge Rise Shore Slope Spring Spur Steps Stream Terrace Tower Track Valley View Well Wood Yard")
	third := words("clinic school dispensary office workshop market library pump kiosk hall")
	var list []string
	for i := range n {
		name := first[i%len(first)] + " " + second[i/len(first)%len(second)] + " " + third[i/len(first)/len(second)%len(third)]
		if round := i / (len(first) * len(second) * len(third)); round > 0 {
			name += fmt.Sprint(" ", round+1)
		}
		list = append(list, name)
	}
	return list
}

// staffNames are n invented names, each once.
func staffNames(n int) []string {
	first, second := words("Ba Ce Di Fo Gu Ha Je Ki Lo Mu Na Pe"), words("bral dent far lund mor neth quil rand sten tarr vey")
	var list []string
	for i := range n {
		list = append(list, fmt.Sprintf("%c. %s%s", 'A'+rune(i%26), first[i%len(first)], second[i/len(first)%len(second)])+strings.Repeat("o", i/(len(first)*len(second))%9))
	}
	return list
}

func words(text string) []string { return strings.Fields(text) }
