// Package wiring draws the wiring of one site in characters: modules and strings, array switch,
// controller, fuses, battery, loads and lamps. The points that a step touches are marked, and
// what is isolated is drawn open.
//
// Start with [Draw], [View] and [Words]. Drawing is a pure function, in box characters or ASCII.
// It knows no terminal and no colour, only what each piece of a line is. [Words] says the same
// in sentences.
//
// The points that red, black and clamp name in steps.toml are the terminals of the drawing. A
// test draws all of procedure.Points on any site.
package wiring
