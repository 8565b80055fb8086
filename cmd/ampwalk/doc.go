// Ampwalk leads a visit to a small stand-alone solar system: one measurement at a time, in a
// safe order, with what each says about the state of the system.
//
// The command is flags, files and exit codes. All else is in the packages below diagnose,
// scenarios and tui, to which it hands the clock, the folders, the terminal and the inference.
//
//   - commands.go is the table of commands. Dispatch, help, completion and manual pages come
//     from it. Their texts are in usage.toml.
//   - keep.go writes site files whole, in place of the old one. A file that this run did not
//     write is first copied to FILE.bak (numbered).
//   - memory.go remembers results of inferences in the user's cache folder.
//   - pace.go sets the pace of garbage collection for commands that infer.
//
// Exit codes: 0 done, 1 failed, 2 wrong arguments or bad input, 130 interrupted.
package main
