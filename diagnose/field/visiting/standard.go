package visiting

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/site"
)

//go:embed standard.toml
var standardFile []byte

// standardTexts is standard.toml.
type standardTexts struct {
	Picture []struct {
		ID, Title            string
		Light, Charge, Loads float64
		Condition            condition.ID
		Output               bool
		Tell, Settle         string
	}
	Say struct{ Array, Battery, Into, Out, Posts, Loads, Floats, System string }
}

var standardWords = sync.OnceValue(func() standardTexts {
	return datafile.Read[standardTexts]("diagnose/field/visiting/standard.toml", standardFile)
})

// A Standard is one of the standard pictures: what the readings look like together in one
// state, at one site.
type Standard struct {
	ID, Title    string
	Tell, Settle string // what to see in it, and what settles it
	Site         *site.Site
	Condition    condition.ID // "" for none
	Out          plant.Out
}

// Standards are the standard pictures of a site with ordinary parts, solved from its plant.
// One that the site cannot show is left out.
func Standards(s *site.Site) (list []Standard) {
	p := plant.New(s, 0)
	for _, x := range standardWords().Picture {
		if x.Output && !s.Controller.LoadOutput {
			continue
		}
		u := plant.Typical()
		u.Irradiance, u.SoC, u.LoadW = x.Light, x.Charge, x.Loads*s.AllListedW()
		u.AirC, u.BatteryC = 25, 25
		u.CellC = u.AirC + (s.Array.Module.NOCTC-20)*x.Light/800 // by the definition of NOCT
		if x.Output {
			u.LatchedOff = true
		}
		if x.Condition != "" {
			condition.Disturb(x.Condition, s, &u, 0.5, 0.5, 0)
		}
		st := Standard{ID: x.ID, Title: x.Title, Tell: x.Tell, Settle: x.Settle, Site: s, Condition: x.Condition}
		p.Solve(&u, &st.Out)
		list = append(list, st)
	}
	return list
}

// SystemVolts are the nominal voltages of a system [V].
var SystemVolts = []float64{12, 24, 48}

// Scaled is a site like s of another nominal voltage, a multiple of its own: as many more
// modules and battery blocks in series, and the set-points as many times as high.
func Scaled(s *site.Site, nominalV float64) *site.Site {
	times := int(nominalV/s.NominalV + 0.5)
	k := float64(times)
	c := *s
	c.NominalV = s.NominalV * k
	c.Array.Series *= times
	c.Battery.Blocks *= times
	for _, v := range []*float64{&c.Controller.AbsorbV, &c.Controller.FloatV, &c.Controller.CutV, &c.Controller.RestoreV} {
		*v *= k
	}
	c.Loads = slices.Clone(s.Loads)
	return &c
}

// Volts is the reading at index i as it is told: "near 0 V" where nothing holds it.
func (s Standard) Volts(i plant.Index) string {
	if s.Out.Floats[i] {
		return standardWords().Say.Floats
	}
	return quantity.Format(s.Out.Value[i], quantity.Volt)
}

// Amps is the current at index i as it is told.
func (s Standard) Amps(i plant.Index) string {
	return quantity.Format(s.Out.Value[i], quantity.Ampere)
}

// Figures say the readings of the picture in words.
func (s Standard) Figures() string {
	w := standardWords().Say
	into := fmt.Sprintf(w.Into, s.Amps(plant.BatteryA))
	if a := s.Out.Value[plant.BatteryA]; a < 0 {
		into = fmt.Sprintf(w.Out, quantity.Format(-a, quantity.Ampere))
	}
	list := []string{
		fmt.Sprintf(w.Array, s.Volts(plant.ArrayV), s.Amps(plant.ArrayA)),
		fmt.Sprintf(w.Battery, s.Volts(plant.BatteryV), into),
	}
	if s.Condition == condition.BatteryOpen { // only there the two differ by more than a cable loses
		list = append(list, fmt.Sprintf(w.Posts, s.Volts(plant.PostV)))
	}
	list = append(list, fmt.Sprintf(w.Loads, s.Volts(plant.LoadV), s.Amps(plant.LoadA)))
	return strings.Join(list, ", ")
}

// AtOtherVolts say the readings of the same picture at a typical site of each system
// voltage: the demo site, scaled.
func (s Standard) AtOtherVolts() (list []string) {
	for _, v := range SystemVolts {
		for _, other := range Standards(Scaled(site.Demo(), v)) {
			if other.ID == s.ID {
				list = append(list, fmt.Sprintf(standardWords().Say.System, v, other.Figures()))
			}
		}
	}
	return list
}
