// Package desk is what a supervisor does with the visits of a ledger: find those that need
// attention, follow one step by step with what was believed then, compare it with the site's
// earlier visits, comment, send back, accept.
//
// Start with [Desk], [List] and [Visit]. It draws nothing and reads no clock, no file and no
// terminal. Texts in what it gives are as they are in the visits: whoever shows them makes them
// safe. Both desks, on the screen and line by line, are made of it.
//
// # Lists
//
// A [List] is a value with the rows that are loaded. What is above and below is asked for by
// the cursor of its first or last row, and the list keeps a window of rows only. A filter has one way to be
// typed, in both desks. Why a visit needs attention is in its row. A key with its frame and the pages
// that it loads costs the same with ten thousand visits as with ten:
//
//	go test ./tui -run - -bench DeskKey
//
// # What was believed, then and now
//
// What was believed after a step takes an inference, which is made when the step is shown.
// Whether the current version sees a visit differently takes one too (again.go). It is made when the
// visit is opened, and for visits that wait for a decision: one after the other while the desk
// is open, or by `ampwalk review --again`. The ledger keeps the result with the name of the
// version, the day, and the journal as it was:
//
//   - The result of the version that the ledger met last wins. An earlier version never overwrites it,
//     or two desks of different builds would take turns for ever.
//   - When a visit goes on, the stored result is removed.
//   - A published version has its own name. Any other build is named by its hash.
//
// # Decisions
//
// What is said is signed over the journal and after the review that the desk showed. So the
// ledger compares what was seen before it writes. On the laptop, [HomeOf] puts the reviews beside a visit
// in words. An answer to a question is a note in the journal. It changes the fingerprint, so
// the visit counts as handed in again, not as sent back.
package desk
