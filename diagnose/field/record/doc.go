// Package record keeps visits on disk: one append-only journal a visit, every
// answer durable before the next prompt appears.
//
// Start with [Create], [Open], [Read] and [List]; a [Shelf] lists a folder quickly;
// [Export] and [Import] carry visits.
//
// # Format, version 3
//
// A visit is one file, ID.visit.jsonl, of JSON lines (UTF-8, each ended by a
// line feed). Every line is written once and never edited:
//
//	{"sha256":"HASH","version":3,"head":{…}}
//	{"sha256":"HASH","answer":{…}}
//	{"sha256":"HASH","end":{…}}
//	{"sha256":"HASH","conclusion":{…}}
//
// HASH is the SHA-256, in 64 lower-case hexadecimal digits, of the HASH of the
// line before (nothing for the first line) followed by every byte of its own
// line after the comma that follows HASH, line feed excluded. So a changed,
// missing, moved or added byte breaks the chain at that line, and the last HASH
// vouches for the whole visit. What no file can tell by itself is that whole
// lines are missing at its end; "end" says that a visit was finished.
//
// The first line is the head: who, when, the instruments and the text of the
// site file, so that a visit opens anywhere. Then follow the answers and notes
// as [diagnose.Answer] gives them; a later answer to the same step replaces the
// earlier one and both stay. One with "again" does not: the step was asked again,
// such as isolating the array a second time. "end" follows the answer that left
// nothing to do, and "conclusion" what was then believed, as
// [diagnose.Conclusion] gives it; one who leaves before that is worked out leaves
// none.
//
// An answer has the ids of what was chosen, and beside them the words that were read:
// "chosen" and "labels" of choices and checks, "why" and "reason" of what could not be
// done, "about" of agreed work. The program goes by the ids, people read the words.
//
// Version 2 knew no ids. What its words meant stands in old.toml, which nothing changes
// any more; the lines stay as they are, with their hashes. Version 1 knew no conclusion
// either. A visit that was started so goes on so: its older program can still read it, and
// passes over the ids that later answers have.
//
// A program that finds a line broken keeps everything before it, copies the
// rest to ID.visit.jsonl.torn (numbered if there is one already), says so, and
// only then cuts the journal back to its last whole line.
package record
