// Package virtualsite is a virtual site to practise on: a plant behind terminals, wires,
// switches, fuses and lamps, with meters that can be set wrong, and time that moves.
//
// Start with [New], [Bench.Probe] and [Bench.Embrace]. Quantities are in the unit of their
// reading.
//
// The bench takes what a trainee sets, touches and switches, and gives displays and looks. It
// knows a [ampwalk/diagnose/physics/plant.Fault] and no condition by name, so nothing that it
// gives out names one.
//
// Each display says which reading of a visit it is now (Display.Reading). The same pair of posts
// is post_v as found, rest_v after a rest, load_step.post_v after a load went on, and
// none of them with half of the site switched off. Whatever is switched acts through
// [ampwalk/diagnose/physics/plant.Unknowns] and never on a reading: an open switch is an open
// array.
//
// Errors of instruments, noise and clouds come from sources of chance by purpose and turn, not
// in the order of use. So two trainees at one seed see the same figures, whichever each
// measures first. Time moves in steps of five minutes: charge, stage, hysteresis, rest.
package virtualsite
