// Package procedure is the safe order of a visit: the steps, the hazard ladder, what each step
// requires and changes, stop rules, and putting back.
//
// Start with [For], [Procedure.Next] and [State]. Every text is in steps.toml and dangers.toml.
// The package defers to local codes and licensed practice; it does not replace them.
//
// # Steps
//
// steps.toml holds every step: its rung on the hazard ladder, what it requires, forbids, sets
// and clears, the confirmations that open it, its texts as templates over the facts of the
// site (facts.go), and the source it rests on. [For] makes the procedure of one site. It
// leaves out steps that the site does not have, and steps that would touch a circuit above
// the limits of limits.go.
//
// # Order
//
// [Procedure.Next] takes always-steps first. Then it takes the lowest rung with a reading that
// is worth its minutes, and on that rung the reading that teaches most per minute. Before it
// come the steps that it needs, and the walk to it. What a reading would teach is a function
// given to it ([Worth]): the package does not know the physics.
//
// A [State] is a value. [Procedure.Replay] makes it from all outcomes.
//
// # Confirmations
//
// A confirmation says what was checked. It has one of two forms:
//
//   - choices, of which some are good. Some count only if another check was made in this visit:
//     a clamp that was not set to zero cannot show 0 A.
//   - checks, each of which is marked.
//
// A choice of something seen has mend and who: what is to be done about it and by whom,
// whatever the readings say. The visit tells this at once, and it is on the summary. The key lacking
// names the steps that are not asked of a person who has no instrument for this one.
//
// # Ids
//
// Choices, checks, reasons, repairs and conditions have ids in their files. The program stores
// and compares the id only. The text beside it is for people: it may change, or be in another
// language. An id stays for ever. If one is removed, old visits lose what it meant.
//
// # Asked again
//
// What is put back may be opened again in the same visit. A step renews others, which are
// then asked again. An action that could not be done is not renewed, or a visit might not end.
//
// # Dangers
//
// Dangers (dangers.toml, danger.go) are the second source of the state: not what steps did,
// but what was found. A danger is
//
//   - seen: a choice names it,
//   - read: a voltage far above the set-points, or below zero,
//   - believed: a condition that must first be made safe, from a stated probability on
//     ([Procedure.Believe]).
//
// A danger closes steps while it lasts, or until a flag makes it safe. It puts its own steps
// before everything that is not looking. The first of them that can be done is asked. If none can, the
// measuring ends. A danger stop shows its card at once (the step emergency), and so does a stop
// by the person before a danger is made safe. What a danger closes among putting back
// stays open and is recorded with its title. A repair ends the dangers that were read: their
// readings are taken again. In the dark the array counts as isolated for the steps marked dark.
//
// # Invariants
//
// The tests walk through every reachable state under every class of answer, whatever readings
// are worth taking at any moment (walk_test.go, plant_test.go). The checker keeps its own model
// of the site, from its own knowledge of the work. It checks that
//
//   - no step comes without its precautions, and what needs isolation has it;
//   - nothing is shorted that must not be, and no current goes through the meter;
//   - the battery is connected before the array, with plus and minus known, and an array is
//     never connected to a controller without a battery;
//   - lower rungs come before higher ones;
//   - after a stop nothing is measured;
//   - nothing stays open without a record, and every visit ends;
//   - with each danger, what it forbids cannot be reached, and making safe comes before all that
//     is not looking (danger_test.go);
//   - no repair is offered on a live circuit or without its precautions.
//
// From some states the walk also takes earlier answers back (back_test.go). States that ask and do
// the same from then on count as one. TestBrokenCopies breaks the procedure on purpose, once for
// each invariant, and expects the checker to see it. A new rule belongs in both.
package procedure
