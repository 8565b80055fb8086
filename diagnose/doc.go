// Package diagnose holds no code. It is the map of the folders below it, in the order
// in which they may import each other:
//
//   - base: text that is safe to show, files in TOML, the files that are part of the program
//   - internal: what only the diagnosis uses, and the tools of its maintainers
//   - physics: what is installed, what can be read there, what can be wrong, what the plant then does
//   - inference: from readings to probabilities, which reading would tell most, how much power until when
//   - field: the steps of a visit, the visit itself, its record on disk, its papers
//   - office: many visits, who signed what, the ledger and what it reports
//
// Inside a group the same rule holds, by the table in DEVELOPERS.md; a test keeps to it.
// Start at ampwalk/diagnose/field/visiting for a visit, at ampwalk/diagnose/inference/belief
// for the inference, at ampwalk/diagnose/physics/plant for the physics.
package diagnose
