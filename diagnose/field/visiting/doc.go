// Package visiting leads a visit: it asks for one reading at a time in a safe order, narrows
// down what state the system can be in, and says why.
//
// Start with [Visit], [Interpret] and [Prompt]. It reads no clock, no file and no terminal:
// times, the journal and the inference are given to it.
//
// # The loop
//
// [Visit.Prompt] asks the procedure what is next. [Visit.Read] makes an answer of what was
// typed. [Visit.Give] puts it into the journal and replays the visit. [Visit.Input] is a copy
// that an inference may take away, and [Visit.Learn] takes its result, unless later answers
// have overtaken it.
//
// A visit is its history. State and readings are made again from all answers each time, so a
// correction is just one more answer.
//
// # What the readings tell together
//
// [Together] chooses a sentence by pattern of the posterior (together.toml). A pattern holds
// where the states that it names are, all of them together, at least as probable as not. A
// fact is told before it only where its readings are what the others make expected. [Standards]
// are the standard pictures, solved from the plant of a site.
//
// # Prompts that come from the visit itself
//
// Some prompts come from the visit and not from the order. Those that ask for a reading again
// come only where [ampwalk/diagnose/field/procedure.Procedure.Repeatable] says that its
// precautions and isolation still hold. The others change no state.
//
//   - Outlier (suspect.go). A reading that is probably wrong is asked for once more before
//     anything is built on it. The likely slip is named. It is found by trying the slips that
//     people and meters make on the figure as typed. The figure that would fit is never shown.
//     The new answer has repeats set and is shown beside the value before it.
//   - Place (locate.go). Once an open circuit or a bad joint is sure, the part at fault is
//     looked for with ampwalk/diagnose/field/halfsplit. The readings between the parts
//     are steps place.CIRCUIT.NODE of the probe rung. The inference does not learn from them.
//   - Repair (mend.go). Repairs are offered one at a time, after the last reading. The step
//     repair asks whether it is done now. Then the step of its place, such as mended-battery,
//     asks for it with what must be off. [ampwalk/diagnose/field/procedure.Procedure.Next]
//     gets these as aims and leads to what they need. Actions are ordered by chance to help
//     over minutes and risk; where the place is known, by that first.
//   - Proof. The reading that proves a repair is asked next. Everything that the repair puts in
//     doubt no longer counts and is asked again where it is worth it. So the posterior is of
//     the plant as left ([Visit.Input]), and [Visit.FoundInput] and [Visit.Found] keep the
//     plant as found. [Visit.Repairs] judges each repair by the plant as left. Papers carry both.
//   - Open work (openwork.go). Before the next visit is agreed, the visit asks who repairs what
//     was found and not repaired, and by when. It may be left open. It is on paper
//     with the actions, and on the start screen.
//
// # When it is enough
//
// A visit asks no further where the conditions and the questions about the state are decided
// (enough.go), or where no reading is worth its minutes (procedure.MinBits and
// procedure.MinBitsPerMinute).
//
// # From a file
//
// [Interpret] enters at a set of readings and leaves at the JSON of `ampwalk interpret`. A
// journal from a stranger may say anything: [Visit.Usable] leaves out of the inference what no
// instrument at the site could show.
package visiting
