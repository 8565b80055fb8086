// Package conversation leads a person through a visit without a screen: what is
// asked, what was answered, doubted, taken again, gone back to, noted or left.
//
// Start with [New], [Talk.Prompt] and [Talk.Answer]. The full screen and the line-by-line
// mode only show what a [Talk] says and hand it what was typed, so that both behave alike.
// [Acts] lists all that can be done beside answering.
//
// # The order of calls
//
// After each answer [Talk.Work] says whether the inference has to run before the next
// question. [Work.Do] runs it and may do so in another goroutine; [Talk.Learn] takes
// what came of it. A Talk itself is not safe for use by several goroutines.
package conversation
