package outlook

import (
	"math"
	"reflect"
	"slices"
	"time"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// DrawsOf is how many draws of the posterior are looked at.
const DrawsOf = 150

// An Outlook is how much power there is, and until when.
type Outlook struct {
	At      time.Time    `json:"at,omitzero"` // the moment it starts from, in the site's own zone
	Fault   condition.ID `json:"fault"`
	Sure    float64      `json:"fault_probability"` // probability of that condition
	Lead    bool         `json:"lead_acid"`         // the battery is lead-acid
	Cuts    bool         `json:"load_cut_off"`      // the controller cuts the loads off
	Known   bool         `json:"sun_hours_known"`   // the light of the months is known by sun_hours
	Change  Change       `json:"change"`            // that it was worked out with
	Uses    []Use        `json:"uses"`
	Now     Now          `json:"now"`
	Tonight Tonight      `json:"tonight"`
	Day     Day          `json:"day"`
	Week    Week         `json:"week"`
	Year    Year         `json:"year"`
	Checks  []Check      `json:"checks"`
	Helps   []Help       `json:"helps"` // the best first

	// TooSmall is "array" or "battery" where nothing is broken and the loads still go
	// without in the month of the visit; else "".
	TooSmall string `json:"too_small,omitempty"`
}

// A Band is the middle of a spread and its 5 % and 95 % points.
type Band struct{ P05, P50, P95 float64 }

// bandOf sorts xs; of none it is zero. An infinite figure is one beyond the end of the time
// that was looked at.
func bandOf(xs []float64) Band {
	if len(xs) == 0 {
		return Band{}
	}
	slices.Sort(xs)
	// One more of the same kind lies between the ends with a probability of nine in ten.
	n := float64(len(xs) + 1)
	at := func(k float64) float64 { return xs[min(max(int(k)-1, 0), len(xs)-1)] }
	return Band{at(0.05 * n), at(0.5 * n), at(math.Ceil(0.95 * n))}
}

// A looker is what all parts of an outlook are worked out from.
type looker struct {
	site    *site.Site
	plant   *plant.Plant
	climate *climate
	draws   []belief.Draw
	at      time.Time
	uses    []Use
	on      []string // loads that were on at the visit; nil: not known
	found   []float64
	mean    []float64 // of the air on the day of the visit, by draw [°C]
	onW     float64   // of their listed power, 0: not known or none
}

// Look is the outlook of a site from what is believed of it, from the time at on, with a
// change to see what it would do; the zero Change leaves all as it is. The draws are those
// of [belief.Draws] for the same input.
func Look(in belief.Input, draws []belief.Draw, at time.Time, ch Change) *Outlook {
	l := newLooker(in, draws, at, ch)
	o := &Outlook{At: l.at, Lead: l.site.Battery.Chemistry.LeadAcid(), Cuts: l.site.Controller.LoadOutput, Known: l.climate.known, Change: ch, Uses: l.uses}
	o.Fault, o.Sure = leaderOf(draws)
	o.Now = l.now()
	o.Tonight = l.tonight()
	o.Day = l.day()
	o.Week = l.week()
	o.Year = l.year()
	o.Checks = l.checks(&o.Year)
	o.Helps = l.helps(ch, &o.Year)
	o.TooSmall = o.tooSmall()
	tidy(reflect.ValueOf(o).Elem())
	return o
}

func newLooker(in belief.Input, draws []belief.Draw, at time.Time, ch Change) *looker {
	s, changed := ch.apply(in.Site, draws)
	l := &looker{site: s, draws: changed, at: at.In(zone(s.Place)), plant: plant.New(s, 0), climate: climateOf(s.Place), uses: ch.uses(s)}
	if in.Readings != nil && in.Readings.LoadsOn != nil {
		l.on = in.Readings.LoadsOn
		l.switchOff(usesOf(in.Site), ch.Without)
	}
	p := s.Place
	sky := l.climate.skies(l.at, 0, 1)[0]
	for i := range l.draws {
		l.found = append(l.found, clearOf(sky, l.draws[i].Irradiance))
		l.mean = append(l.mean, l.draws[i].AirC-swingAt(l.at, p))
	}
	return l
}

// switchOff takes from every draw what loads that are taken out drew at the visit, and sums
// up what the others did by their labels.
func (l *looker) switchOff(uses []Use, out []string) {
	var gone powers
	var all float64
	for _, u := range uses {
		if !slices.Contains(l.on, u.Label) {
			continue
		}
		all += u.PowerW * u.draws
		if slices.Contains(out, u.Label) {
			gone = gone.plus(u, 1)
		}
	}
	if l.onW = all - (gone.main + gone.beside + gone.inverter); l.onW == all {
		return
	}
	for k := range l.draws {
		u := &l.draws[k].Unknowns
		share := wantedW(u) / all
		u.LoadW = max(0, u.LoadW-gone.main*share)
		u.BesideW = max(0, u.BesideW-gone.beside*share)
		u.InverterW = max(0, u.InverterW-gone.inverter*share)
	}
}

// runner begins at the moment of the visit.
func (l *looker) runner(k int) *runner {
	return newRunner(l.plant, &l.draws[k], k, l.onW, l.mean[k])
}

// leaderOf is the condition that most draws have, and their share.
func leaderOf(draws []belief.Draw) (condition.ID, float64) {
	count := map[condition.ID]int{}
	for i := range draws {
		if len(draws[i].Conditions) == 0 {
			count[condition.Sound]++
		}
		for _, id := range draws[i].Conditions {
			count[id]++
		}
	}
	lead := condition.Sound
	for _, c := range condition.All() {
		if count[c.ID] > count[lead] {
			lead = c.ID
		}
	}
	return lead, float64(count[lead]) / float64(max(1, len(draws)))
}
