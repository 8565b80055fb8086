// Package summary says what is on the printable summary of a visit: one document for those who
// work on the system, one for those who live with it.
//
// Start with [ForStaff], [ForCaretaker] and [Beside]. All words are in texts.toml. The
// caretaker's page takes smaller letters rather than a second sheet.
//
// What the summary needs beside the visit ([Beside]) is given to it. [Recount] infers again,
// from the journal, the belief after each reading. The program remembers results of inferences
// (cmd/ampwalk/memory.go), so a visit that was made with this build prints at once. A result
// follows from its input and the program alone, and its file is named by a hash of both. So
// what is remembered is no second truth, and its files may be deleted at any time.
//
// To measure the three formats: go test ./diagnose/field/summary -run - -bench .
package summary
