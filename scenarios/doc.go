// Package scenarios is practice on simulated faults: scenario files, generated scenarios,
// sessions at the virtual bench, their score and debrief.
//
// Start with [Embedded], [Generate] and [Session]. It reads no clock and no file: both are
// handed in.
//
// A scenario (FORMAT.md) is a bench's setup with the answer. The answer is not exported, so
// screens cannot show what they cannot ask for. TestNothingLeaks plays faults that act on
// nothing at their moment, and wants the same session to the last letter.
//
// A session ([Session.Do]) takes commands as typed and gives lines. The menus of the screen make
// the same commands ([Session.Menu]), so the screen and the line-by-line mode cannot differ. A
// [Guided] practice is a visit with Read and Give in between. Its debrief replays the posteriors
// that the visit had.
//
// What readings imply, the questions and the debrief are the posterior of what the trainee
// read, nothing else. The truth enters the score only. A trainee who asks what the readings
// imply first says what it could be. Only that estimate counts until one more reading is taken: a
// copied posterior is no finding.
//
// Before a case is closed the standing questions are asked (standing.go): what a visit wants
// to know of every system, scored by the quadratic rule against what is so. A guided practice
// counts what was done at the bench; what was only claimed counts against it.
//
// A [Sheet] is paper cases for a class with their key. Its difficulty is the part of the
// meters that taken alone would mislead. A [Quiz] plays it, a minute for each case. The course
// ([Lessons]) is an order of cases; where a trainee stands ([StandingOf]) follows from the
// results alone.
//
// [Informed] is the expert: the ordinary visit played at the bench. [Prove] plays it on a
// scenario and says whether it can be solved (`ampwalk scenario check`). A [Contest] compares
// the expert with those who measure at random or by a fixed list. To run it on 500 scenarios:
//
//	ampwalk scenario players
//
// # What it is checked against
//
// Displays of the bench lie within the instruments' limits of error about the plant. What unsafe
// acts do is common practice. The informed order solves every scenario that says it can be
// solved. .ci/run makes the same cases on another processor, to the last digit.
package scenarios
