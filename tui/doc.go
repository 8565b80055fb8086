// Package tui is the full-screen way to lead a visit: choose a site or a visit to continue,
// answer one question a screen, see what each answer says, and read the summary. The
// supervisor's desk and practice are screens of it too.
//
// Start with [Run], [Options] and [Exit]. The package draws and reads keys. It computes nothing
// about the plant and reads no clock: both are given to it.
//
// # Screens
//
// The root (model.go) owns the size, the theme and the screen shown. A screen is a value whose
// update gives the next one. A screen over another one (over in screen.go) passes messages down
// and keeps keys to itself.
//
// An inference is a command on a copy. Its result carries the number of the answer, or of the
// what-if, that it belongs to. A result that was overtaken is dropped, and typing is never held
// up.
//
// # Painting
//
// View only reads. Nothing ticks: a frame is painted when a key, a size or a result
// comes. painter.go does that, since the library's renderer wakes some hundred times a second
// to look for a frame. On systems that are not Unix the library draws.
//
//	go test ./tui -run - -bench .
//
// # Sizes
//
// The visit screen is made of blocks with ranks (visit_view.go). Where rows are short, blocks
// give way by rank; the question and its answer never do. From 130 x 34 on, the drawing, the belief with the
// why, and the history are side by side. Below 60 x 20 one sentence leads to the
// line-by-line mode.
//
// # Colours and characters
//
// Colours are by what they mean: healthy, doubt, fault, danger (palette.go, styles.go). There are
// three themes, dark, light and black on white for the sun. Each paints its own ground, so that
// every colour has a contrast of 4.5 to one in true colour, 256 and 16 colours; a test holds
// it to that. The first one is guessed from COLORFGBG, and the one chosen is remembered. With
// NO_COLOR bold and reverse stay. No style carries a meaning that words and signs do not. The same
// frame without colour is compared in a test. The environment tells which characters
// there are (signs.go). Linux consoles and Windows could not be tried; what is drawn there
// keeps to what their documents and the libraries promise.
//
// # Keys
//
// Keys mean the same everywhere. Digits go to a choice, two of them to the tenth and later
// ones; in a list of several they mark it, and 0 is for none. Enter gives the answer that is
// shown; where nothing is typed the foot says what it does. Escape corrects a wrong entry, else goes
// back, and from the first question to the start. What stands in a field is typed over. F10
// asks, and pressed twice leaves.
//
// # Leaving
//
// A person who leaves while something is open, or a danger is not made safe, is asked once, with
// the card of the danger. If the person still leaves, or the answers end, the journal
// gets a note (visiting.LeftWith), and every list of visits says what is NOT PUT BACK.
//
// # The start screen
//
// It lists the sites of the folder and those that only visits know. Each has its last visit and
// the actions that the last finished one advised (visiting.LeftBy, one inference a site, after
// the first frame). For the first frame each journal is opened once, and only its first and last
// lines are checked (record.Shelf). Whoever opens a visit checks all of it.
//
//	go test ./cmd/ampwalk -run - -bench Start
//
// A site is described by describe.go, which shows a siteform.Talk: what is asked and what
// comes of an answer is decided there.
package tui
