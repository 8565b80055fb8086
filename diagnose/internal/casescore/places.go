package main

import (
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"

	"ampwalk/diagnose/field/halfsplit"
	"ampwalk/diagnose/physics/site"
)

// How well the place of a fault is found, on invented plants. The class of the fault is
// taken as sure; what is tried is the search for the part.

// placesEach is how many plants are drawn of each circuit and fault.
const placesEach = 700

// inventedSites stand beside those of the folder.
const inventedSites = 100

// places draws plants over the folder's sites, if one is given, and invented ones, and
// prints by circuit and part how often the right one is named.
func places(folder string, seed uint64, out io.Writer) error {
	rng := rand.New(rand.NewPCG(seed, 0))
	sites, err := placeSites(folder)
	if err != nil {
		return err
	}
	kept := len(sites)
	for range inventedSites {
		sites = append(sites, halfsplit.Invent(rng))
	}
	fmt.Fprintf(out, "%d plants for each circuit and fault, over %d sites of files and %d invented; seed %d\n",
		placesEach, kept, inventedSites, seed)
	var all scores
	for _, c := range halfsplit.Circuits {
		for _, f := range halfsplit.Faults {
			all.add(tried(sites, c, f, rng))
		}
	}
	fmt.Fprint(out, all.table())
	return nil
}

func placeSites(folder string) (list []*site.Site, err error) {
	list = []*site.Site{site.Demo()}
	if folder == "" {
		return list, nil
	}
	files, err := filepath.Glob(filepath.Join(folder, "*", "site.toml"))
	if err != nil {
		return nil, err
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("no site.toml in the folders of %s", folder)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, err
		}
		s, err := site.Parse(file, text)
		if err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	return list, nil
}

// A score is what became of the plants with one part at fault.
type score struct {
	part                  string
	plants, reached       int
	right, wrong, unnamed int // of those reached
	readings, most        int // of all
	elsewhere             int // not reached, and the right part is among those left
	misnamed              int // not reached, and another part is named
}

func (s *score) take(t *halfsplit.Trial, o halfsplit.Outcome) {
	s.plants++
	s.readings += o.Readings
	s.most = max(s.most, o.Readings)
	switch named := o.Named != ""; {
	case !t.Reached && o.Among:
		s.elsewhere++
	case !t.Reached && named:
		s.misnamed++
	case !t.Reached:
	case t.Right(o):
		s.right++
	case named:
		s.wrong++
	default:
		s.unnamed++
	}
	if t.Reached {
		s.reached++
	}
}

func (s *score) add(o score) {
	s.plants += o.plants
	s.reached += o.reached
	s.right += o.right
	s.wrong += o.wrong
	s.unnamed += o.unnamed
	s.readings += o.readings
	s.most = max(s.most, o.most)
	s.elsewhere += o.elsewhere
	s.misnamed += o.misnamed
}

// A group is one circuit with one fault.
type group struct {
	circuit halfsplit.Circuit
	fault   halfsplit.Fault
	parts   []score
}

func (g *group) of(part string) *score {
	for i := range g.parts {
		if g.parts[i].part == part {
			return &g.parts[i]
		}
	}
	g.parts = append(g.parts, score{part: part})
	return &g.parts[len(g.parts)-1]
}

func (g *group) total() score {
	sum := score{part: "all"}
	for _, s := range g.parts {
		sum.add(s)
	}
	return sum
}

func tried(sites []*site.Site, c halfsplit.Circuit, f halfsplit.Fault, rng *rand.Rand) group {
	g := group{circuit: c, fault: f}
	for _, s := range sites { // the parts in the order of the wires
		for _, p := range halfsplit.ChainOf(s, c).Parts {
			g.of(p.ID)
		}
	}
	for i := 0; g.total().plants < placesEach; i++ {
		s := sites[i%len(sites)]
		if len(halfsplit.ChainOf(s, c).Parts) == 0 {
			continue
		}
		t := halfsplit.NewTrial(s, c, f, rng)
		g.of(t.Part).take(t, t.Run())
	}
	return g
}

type scores []group

func (s *scores) add(g group) { *s = append(*s, g) }

const placeColumns = "%-8s%-7s%-18s%8s%9s%9s%9s%9s%10s%6s\n"

// table prints each circuit and fault by part, all of them, and the worst.
func (s scores) table() string {
	var b strings.Builder
	fmt.Fprintf(&b, placeColumns, "circuit", "fault", "part", "plants", "reached", "right", "wrong", "unsure", "readings", "most")
	var all, worst score
	var at group
	for _, g := range s {
		for _, p := range append(g.parts, g.total()) {
			p.row(&b, string(g.circuit), string(g.fault))
			if p.part != "all" && p.reached > 0 && (worst.reached == 0 || p.share(p.right) < worst.share(worst.right)) {
				worst, at = p, g
			}
		}
		all.add(g.total())
	}
	all.part = "all"
	all.row(&b, "all", "")
	fmt.Fprintf(&b, "reached: both sides of the part can be touched; right, wrong, unsure are shares of those.\n")
	fmt.Fprintf(&b, "readings: after those at the two ends, mean of all plants, and the most.\n")
	fmt.Fprintf(&b, "worst: %s, %s: right in %.1f %% of %d\n", worst.part, at.fault, 100*worst.share(worst.right), worst.reached)
	if hidden := all.plants - all.reached; hidden > 0 {
		fmt.Fprintf(&b, "not reached: %d; the right part is among those left in %.1f %%, another is named in %.1f %%\n",
			hidden, 100*float64(all.elsewhere)/float64(hidden), 100*float64(all.misnamed)/float64(hidden))
	}
	return b.String()
}

func (s *score) share(n int) float64 { return float64(n) / float64(max(s.reached, 1)) }

func (s *score) row(b *strings.Builder, circuit, fault string) {
	percent := func(n int) string {
		if s.reached == 0 {
			return "-"
		}
		return fmt.Sprintf("%.1f %%", 100*s.share(n))
	}
	fmt.Fprintf(b, placeColumns, circuit, fault, s.part, fmt.Sprint(s.plants), fmt.Sprint(s.reached),
		percent(s.right), percent(s.wrong), percent(s.unnamed), fmt.Sprintf("%.2f", float64(s.readings)/float64(max(s.plants, 1))), fmt.Sprint(s.most))
}
