// Package record keeps visits on disk: one append-only journal a visit. Every answer is
// durable before the next prompt appears.
//
// Start with [Create], [Open], [Read] and [List]. A [Shelf] lists a folder quickly. [Export]
// and [Import] carry visits.
//
// # Format, version 3
//
// A visit is one file, ID.visit.jsonl, of JSON lines (UTF-8, each ended by a line feed). Every
// line is written once and never edited. A program locks the file while it writes it:
//
//	{"sha256":"HASH","version":3,"head":{…}}    the first line
//	{"sha256":"HASH","answer":{…}}              each answer and note, as given
//	{"sha256":"HASH","end":{"at":"TIME"}}       after an answer that left nothing to do
//	{"sha256":"HASH","conclusion":{…}}          what was then believed
//
// HASH is the SHA-256, in 64 lower-case hexadecimal digits, of the HASH of the line before
// (nothing for the first line) followed by every byte of its own line after the comma that
// follows HASH, line feed excluded. So a changed, missing, moved or added byte breaks the chain
// at that line. The last HASH is the visit's fingerprint and stands for the whole visit. What
// no file can tell by itself is that whole lines are missing at its end.
//
// Keys that are false or empty are left out. A reader ignores keys that it does not know. The
// keys of the head ([visiting.Head]), so that a visit opens anywhere:
//
//   - id, who, started_at: the visit's name (small letters, digits, dashes), who makes it, when.
//   - site_name, site_toml: the site, and the text of its file.
//   - instruments: limits of error by meter; absent: the usual ones.
//
// The keys of an answer ([visiting.Answer]):
//
//   - step, kind, at: which step; took, did, cannot, note or stop; when.
//   - reading, typed, number, word, list: the reading's key, what was typed, and what it was
//     read as, in the reading's unit.
//   - chosen, why, about, action: ids of what was chosen or marked, of a reason that was
//     offered, of the condition of agreed work, of a repair.
//   - labels, reason: the same in the words that were read; the words of a note.
//   - doubted: confirmed though doubtful. repeats: taken once more. again: the step was asked
//     again, such as isolating the array a second time, so it is no correction.
//
// A later answer to the same step replaces the earlier one, and both stay. The program goes by
// the ids; the words are for people. A conclusion is as [visiting.Conclusion] gives it. A
// person who leaves before it is worked out leaves none.
//
// # Versions
//
//   - Version 2 had no ids but action. What its words meant is in old.toml, which nothing changes
//     any more. The lines stay as they are, with their hashes.
//   - Version 1 had no conclusion either.
//
// A visit is continued in the version that it was begun in. Its older program can still read
// it, and passes over the ids that later answers have. A key may be added within a version if
// an older program, not knowing it, still says nothing wrong. Anything else is a new version.
//
// # Names
//
// An id is the day, the hour, the site's name as far as it has letters for an id, and six
// letters of a hash of the head. So classes at one site can begin visits in the same minute on several
// machines. Nothing reads more out of an id than whose file it is.
//
// # Damage
//
// A program that finds a line broken keeps everything before it, copies the rest to
// ID.visit.jsonl.torn (numbered if there is one already), says so, and only then cuts the
// journal back to its last whole line.
//
// An answer is confirmed once the file that has the visit's name holds it (place.go). Where
// somebody took the file away or put an older copy in its place, it is written again. Where
// another story is there, that is left alone and the person is told.
//
// # Carrying visits
//
// [Export] copies the whole lines, byte for byte. [Import] adds them. It lets a visit that is here
// go on if the file goes on from it, and changes nothing else. A file from a stranger may say
// anything: ids are no paths, [visiting.Visit.Usable] leaves out of the inference what no
// instrument at the site could show, and every text is cleaned where it is shown.
//
// # What it is checked against
//
// The program is killed at random moments of a visit (cmd/ampwalk). A whole visit is cut and
// flipped at every byte. Torn, changed and fuzzed files are read. Journals of every version are
// kept in testdata/journals with what they meant.
package record
