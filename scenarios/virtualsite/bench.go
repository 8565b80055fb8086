package virtualsite

import (
	"hash/fnv"
	"math/rand/v2"
	"slices"
	"time"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A Setup is a site at the moment at which somebody comes.
type Setup struct {
	Site     *site.Site
	At       time.Time
	Weather  Weather
	Unknowns plant.Unknowns // tolerances, charge, what is wrong; the weather gives light and temperatures
	LoadsOn  []string       // labels of listed loads
	Looks    map[reading.Key]string
	Views    map[Place]string         // what the eye sees at a place, beyond what the plant tells
	Signs    map[reading.Key][]string // ids of visible damage, of complaints and of changes
	Quirks   []Quirk
	Seed     uint64 // of the errors of the instruments and of the clouds

	Instruments map[reading.Meter]quantity.Instrument // nil: the usual ones
}

// A Quirk makes a reading mislead: the number shown is Factor times the right
// one plus Add, for the first Times takings, always where Times is 0.
type Quirk struct {
	Reading reading.Key
	Factor  float64 // 0 counts as 1
	Add     float64 // [unit of the reading]
	Times   int
}

// A Place is where one stands to look.
type Place string

// The places of a site.
const (
	AtArray      Place = "array"
	AtController Place = "controller"
	AtBattery    Place = "battery"
	AtLoads      Place = "loads"
)

// Places are all places.
var Places = []Place{AtArray, AtController, AtBattery, AtLoads}

// A Bench is one site under practice. It is not safe for use by several
// goroutines.
type Bench struct {
	setup   Setup
	now     time.Time
	u       plant.Unknowns // as the plant is, without what the trainee switched
	plant   *plant.Plant
	clouds  clouds
	meter   Meter
	clamp   Clamp
	on      []string // loads
	found   []string // those that were on when the present moment began
	open    Open
	rest    *rested
	full    time.Duration // spent at the absorption set-point
	moment  int
	loadTol float64
	takes   map[reading.Key]int
	seen    map[Place]bool
	asked   bool // the people of the site
	worn    bool // goggles and gloves
	ready   []Ready
	times   map[string]int // by the name of a pair of points or of a wire
	breach  []Breach
	solved  *solution
}

// Open is what the trainee has opened, shorted or pulled.
type Open struct {
	Array, Shorted                   bool // by the switch and the shorting lead made for it
	ArrayFuse, BatteryFuse, LoadFuse bool // pulled

	ByHand int // the module that is shaded by hand, from 1; 0: none

	meterFuse  bool // blown by it
	controller bool // destroyed by it
}

// New sets a bench up.
func New(s Setup) *Bench {
	if s.Instruments == nil {
		s.Instruments = reading.DefaultInstruments()
	}
	b := &Bench{
		setup: s, now: s.At, u: s.Unknowns, plant: plant.New(s.Site, 0), on: slices.Clone(s.LoadsOn), found: slices.Clone(s.LoadsOn),
		takes: map[reading.Key]int{}, times: map[string]int{}, seen: map[Place]bool{},
	}
	b.clouds = newClouds(b.random("clouds", 0), s.Weather)
	b.loadTol = 0.94 + 0.12*b.random("loads", 0).Float64() // of a lamp's draw against its label (judgement)
	b.meter = Meter{Function: DCVolts, Range: b.meterRange(), Socket: VoltSocket}
	b.clamp = Clamp{Range: 20}
	b.clamp.offset = b.strayZero()
	return b
}

// random is a source of chance of its own for each purpose and turn, so that
// what one trainee takes first does not change what another sees.
func (b *Bench) random(what string, turn int) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(what)) // a hash takes everything
	return rand.New(rand.NewPCG(b.setup.Seed, h.Sum64()+uint64(turn)))
}

// Site is what is installed.
func (b *Bench) Site() *site.Site { return b.setup.Site }

// Now is the time at the site.
func (b *Bench) Now() time.Time { return b.now }

// State is what the trainee has opened.
func (b *Bench) State() Open { return b.open }

// LoadsOn are the labels of the loads that are switched on.
func (b *Bench) LoadsOn() []string { return slices.Clone(b.on) }

// AreOn reports whether the labelled loads are on, and no others.
func (b *Bench) AreOn(labels []string) bool { return sameLoads(labels, b.on) }

// LoadsOfMoment are those that were on when the present moment began.
func (b *Bench) LoadsOfMoment() []string { return slices.Clone(b.found) }

// LoadsAsFound are those that were on when the trainee came.
func (b *Bench) LoadsAsFound() []string { return slices.Clone(b.setup.LoadsOn) }

// Instruments are their limits of error as their manuals state them.
func (b *Bench) Instruments() map[reading.Meter]quantity.Instrument { return b.setup.Instruments }

// Moment counts the states that readings as found belong to: it moves on when
// loads are switched, or time passes, with the array connected. Readings of one
// moment belong together.
func (b *Bench) Moment() int { return b.moment }

// Put reports whether all is put back as it was found.
func (b *Bench) Put() bool {
	o := b.open
	return !(o.Array || o.Shorted || o.ArrayFuse || o.BatteryFuse || o.LoadFuse || o.ByHand > 0) && sameLoads(b.on, b.setup.LoadsOn) && b.partsPut()
}

func sameLoads(a, b []string) bool {
	a, b = slices.Clone(a), slices.Clone(b)
	slices.Sort(a)
	slices.Sort(b)
	return slices.Equal(a, b)
}
