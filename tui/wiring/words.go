package wiring

import (
	"fmt"
	"strings"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
)

// Of is the view of a visit at a step: its site, what is off now, where the
// step's probes or clamp go, and how the lamps looked.
func Of(v Visit, step procedure.Step) View {
	st := v.State()
	view := View{
		Site: v.Site(),
		Open: Open{
			Array: st.Has(procedure.ArrayIsolated), Shorted: st.Has(procedure.ArrayShorted),
			Battery: st.Has(procedure.BatteryIsolated), Loads: st.Has(procedure.LoadsOff),
		},
		Red: step.Red, Black: step.Black, Clamp: step.Clamp,
		Looks: map[string]string{},
	}
	view.Lamp, _ = step.Reading.LampLabel()
	for _, a := range v.Answers() {
		if label, ok := a.Reading.LampLabel(); ok && a.Kind == visiting.Took {
			view.Looks[label] = a.Word
		}
	}
	return view
}

// A Visit is what [Of] needs of a [visiting.Visit].
type Visit interface {
	Site() *site.Site
	State() procedure.State
	Answers() []visiting.Answer
}

// pointNames are the points as people call them.
var pointNames = map[string]string{
	"module+": "the plus end at the modules", "module-": "the minus end at the modules",
	"array-side+": "the array's plus end at the open switch or plug", "array-side-": "the array's minus end there",
	"array+": "the controller's array plus terminal", "array-": "the controller's array minus terminal",
	"controller-battery+": "the controller's battery plus terminal", "controller-battery-": "the controller's battery minus terminal",
	"post+": "the battery's plus post", "post-": "the battery's minus post",
	"load+": "the controller's load plus terminal", "load-": "the controller's load minus terminal",
	"load-end+": "plus at the load", "load-end-": "minus at the load",
	"block+": "the plus post of one block", "block-": "the minus post of the same block",
	"array-switch-out+": "plus behind the array's switch or plug", "array-switch-out-": "minus behind the array's switch or plug",
	"array-fuse-out+": "the array fuse, on the controller's side", "battery-lug+": "the lug on the battery's plus post",
	"battery-lug-": "the lug on the battery's minus post", "battery-fuse-in+": "the battery fuse, on the battery's side",
	"battery-fuse-out+": "the battery fuse, on the controller's side", "battery-end+": "the plus wire's end at the controller",
	"battery-end-": "the minus wire's end at the controller", "load-fuse-in+": "the load fuse, on the controller's side",
	"load-fuse-in-": "minus beside the load fuse", "load-fuse-out+": "the load fuse, on the loads' side",
	"load-switch-in+": "the load's switch, on the feeding side", "load-switch-in-": "minus beside the load's switch",
	"load-switch-out+": "the load's switch, on the load's side", "load-switch-out-": "minus behind the load's switch",
	"load-joint-in+": "plus before the last joint to the load", "load-joint-in-": "minus before the last joint to the load",
	"array-wire": "one wire of the array", "battery-wire": "one wire of the battery", "load-wire": "one wire to the loads",
}

// Words say the drawing in sentences, for those who cannot see it.
func Words(v View) []string {
	s := v.Site
	a, b, c := s.Array, s.Battery, s.Controller
	off := func(open bool, text string) string {
		if open {
			return " " + text
		}
		return ""
	}
	list := []string{
		fmt.Sprintf("Array: %s of %s%s, to the controller's array terminals.%s%s",
			count(a.Strings, "string"), count(a.Series, "module"), fused(a.FuseA),
			off(v.Open.Array, "It is switched off or unplugged."), off(v.Open.Shorted, "Its ends are shorted.")),
		fmt.Sprintf("Battery: %.0f V, %.0f Ah, %s%s, at the controller's battery terminals.%s",
			s.NominalV, b.CapacityAh, count(b.Blocks, "block"), fused(b.FuseA), off(v.Open.Battery, "It is disconnected.")),
	}
	where := "at the controller's load terminals"
	if !c.LoadOutput {
		where = "at the battery"
	}
	list = append(list, fmt.Sprintf("Loads: %.0f W listed%s, %s.%s", s.AllListedW(), fused(s.LoadWiring.FuseA), where, off(v.Open.Loads, "All are off.")))
	var lamps []string
	for _, l := range c.Lamps {
		look := v.Looks[l.Label]
		if look == "" {
			look = "not looked at yet"
		}
		lamps = append(lamps, plaintext.Clean(l.Label)+" "+plaintext.Clean(look))
	}
	if lamps != nil {
		list = append(list, "Lamps: "+strings.Join(lamps, "; ")+".")
	}
	switch wire := pointNames[v.Clamp]; {
	case v.Clamp != "" && v.Both:
		list = append(list, "Clamp: around both wires of the circuit of "+wire+".")
	case v.Clamp == "battery-wire" && !c.LoadOutput: // its loads leave from the same post
		list = append(list, "Clamp: around all wires of one battery post.")
	case v.Clamp != "":
		list = append(list, "Clamp: around "+wire+".")
	case v.Red != "":
		list = append(list, fmt.Sprintf("Red probe: on %s. Black probe: on %s.", pointNames[v.Red], pointNames[v.Black]))
	}
	return list
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func fused(amps float64) string {
	if amps <= 0 {
		return ""
	}
	return fmt.Sprintf(", fuse %g A", amps)
}
