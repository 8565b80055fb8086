// Package plain leads a visit line by line, without a full-screen terminal: for screen readers,
// pipes and plain terminals. It asks the same steps of the same visit as the screens do, and
// writes the same whether a person or a pipe answers.
//
// Start with [Run], [Desk], [Describe] and [Practice], each with its options.
//
// There is a word for everything that the screens can do (commands.go). What one can do, the
// other must.
package plain
