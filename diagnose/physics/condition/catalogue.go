package condition

import (
	_ "embed"
	"slices"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

//go:embed conditions.toml
var conditionsFile []byte

// A Part of the plant.
type Part string

// The parts; sound belongs to none.
const (
	NoPart     Part = ""
	Array      Part = "array"
	Controller Part = "controller"
	Battery    Part = "battery"
	Load       Part = "load"
)

// A Condition is one entry of the catalogue. Its texts are whole sentences of
// plain words; only Title has no full stop.
type Condition struct {
	ID       ID       `toml:"id"`
	Part     Part     `toml:"part"`
	Title    string   `toml:"title"`
	Meaning  string   `toml:"meaning"`  // what is wrong and what follows
	Prior    float64  `toml:"prior"`    // probability before any reading
	Urgency  Urgency  `toml:"urgency"`  // "" for sound
	Separate string   `toml:"separate"` // what would settle it where today's readings cannot
	Actions  []Action `toml:"action"`   // see ToDo for their order

	Ages   Part    `toml:"ages"`   // the part whose age counts, NoPart: none
	Ageing float64 `toml:"ageing"` // power of its age with which the rate grows
	Light  bool    `toml:"light"`  // it takes a part of the array's power: much light shows it
	Dry    float64 `toml:"dry"`    // rate at the end of a dry season over the year's; 0: alike

	PriorSource string `toml:"-"`
}

// An Urgency is how soon a condition should be seen to.
type Urgency string

// The urgencies.
const (
	Now   Urgency = "now"   // it can hurt people or ruin the battery
	Soon  Urgency = "soon"  // it leaves the site without power
	Later Urgency = "later" // it costs energy: by the next visit
)

// An Action is one thing to do about a condition.
type Action struct {
	Do      string `toml:"do"`
	With    string `toml:"with"` // tools and parts, comma-separated
	Who     Who    `toml:"who"`
	Proof   Proof  `toml:"proof"`
	Caution string `toml:"caution"` // "" where the general cautions are enough

	ID   string `toml:"id"`   // within its condition
	Same string `toml:"same"` // key of the action of another condition that is the same work; "" for none
	At   string `toml:"at"`   // where: "array", "battery", "controller", "load", "any"

	Minutes  float64     `toml:"minutes"`   // the work, with the way for parts [min]
	Helps    float64     `toml:"helps"`     // share of cases in which it mends, or finds the place
	Risk     float64     `toml:"risk"`      // what a minute counts for its danger, 1 and 0: as any
	Done     string      `toml:"done"`      // said of it when it was done; "" where it mends nothing by itself
	First    bool        `toml:"first"`     // it makes safe, and comes before the others
	SureFrom float64     `toml:"sure_from"` // probability of the condition from which it is advised
	After    reading.Key `toml:"after"`     // reading that must be taken before it is; "" none

	Chemistries []site.Chemistry `toml:"chemistries"` // the only batteries it is for; nil for all
}

// Key names the work of an action of the condition wherever the same is to be done:
// "array-open/fuse".
func (a Action) Key(of ID) string {
	if a.Same != "" {
		return a.Same
	}
	return string(of) + "/" + a.ID
}

// Who may do an action.
type Who string

// The people of a site, from least to most qualified.
const (
	Caretaker  Who = "caretaker"
	FieldStaff Who = "field-staff"
	Licensed   Who = "licensed"
)

// Text is what they are called; "" for nobody known.
func (w Who) Text() string { return file().Who[w] }

// A Proof is the reading to take after an action, and what it shows if the
// action worked.
type Proof struct {
	Reading reading.Key `toml:"reading"`
	Shows   string      `toml:"shows"`
}

// fits reports whether chem is in a list in which none stands for all.
func fits(list []site.Chemistry, chem site.Chemistry) bool {
	return len(list) == 0 || slices.Contains(list, chem)
}

// All lists the catalogue in its fixed order, sound first; the priors add up to 1.
func All() []Condition { return slices.Clone(catalogue()) }

// Of is the entry of id, the zero Condition if there is none.
func Of(id ID) Condition {
	i := slices.IndexFunc(catalogue(), func(c Condition) bool { return c.ID == id })
	if i < 0 {
		return Condition{}
	}
	return catalogue()[i]
}

// Applicable lists the conditions that s can have, in the order of [All], with
// the base rates as priors, which add up to 1 over them.
func Applicable(s *site.Site) []Condition {
	return normalized(slices.DeleteFunc(All(), func(c Condition) bool { return !applies(c.ID, s) }))
}

func normalized(cs []Condition) []Condition {
	var sum float64
	for _, c := range cs {
		sum += c.Prior
	}
	for i := range cs {
		cs[i].Prior /= sum
	}
	return cs
}

func applies(id ID, s *site.Site) bool {
	if _, told := kits()[id]; s.Kit != nil && !told {
		return false
	}
	switch id {
	case StringOpen:
		return s.Array.Strings >= 2 // the only string open is array-open
	case BypassShort:
		dead := s.Kit != nil && s.Array.Series*s.Array.Module.Bypass == 1 // a panel that gives nothing, from whatever cause
		return s.Array.Module.Bypass >= 1 && !dead
	case LoadOutputOpen, CutOffFails:
		return s.Controller.LoadOutput
	case BatteryOpen: // a lithium one in a closed kit is off, from whatever cause
		return s.Kit == nil || s.Battery.Chemistry.LeadAcid()
	case BatteryOff:
		return s.Battery.Chemistry == site.LFP
	case LoadExcess, ApplianceFault:
		return len(s.Loads) > 0 // judged by what the listed loads should draw
	case LoadOpen, LoadJoint:
		return s.ListedFromW(s.MainSource()) > 0
	case BlockWeak:
		return s.Battery.Blocks > 1
	case BatteryStringOpen:
		return s.Battery.Parallel() > 1
	case ElectrolyteLow:
		return s.Battery.Chemistry == site.Flooded
	case InverterOff, InverterStarved:
		return s.Inverter != nil
	case EarthFault:
		return s.Earthing != ""
	default:
		return true
	}
}

var catalogue = sync.OnceValue(func() []Condition { return file().Condition })

// A catalogueFile is conditions.toml.
type catalogueFile struct {
	PriorSource     string             `toml:"prior_source"`
	SoundAt         map[string]float64 `toml:"sound_at"` // by the choices of reading.Visit
	TypicalYears    float64            `toml:"typical_years"`
	TypicalYearsLFP float64            `toml:"typical_years_lfp"`
	Condition       []Condition        `toml:"condition"`

	Who map[Who]string `toml:"who"`
}

var file = sync.OnceValue(func() catalogueFile {
	var f catalogueFile
	mustDecode("conditions.toml", conditionsFile, &f)
	f.Condition = normalized(f.Condition)
	for i := range f.Condition {
		f.Condition[i].PriorSource = f.PriorSource
	}
	return f
})

// mustDecode reads an embedded file strictly. A fault in one is a programmer's
// mistake that the tests of this package catch.
func mustDecode(name string, data []byte, into any) {
	if err := datafile.Decode("diagnose/physics/condition/"+name, data, into); err != nil {
		panic(err.Error())
	}
}
