// Package siteform writes a site file by questions: what is installed, where each figure is
// found, and what is typical where it cannot be read.
//
// Start with [New], [Open] and [Draft], and with [Talk] for the dialogue. Quantities are in the units of the file's keys.
//
// # A draft is the text of the file
//
// Each answer changes one value in the text and leaves all else as it was.
// [ampwalk/diagnose/base/tomlfile.Text] does that by the places that the parser gives. After
// each change it reads the text again and compares. It refuses (tomlfile.ErrByHand) whatever
// would change or lose anything else.
//
// # The dialogue
//
// A [Talk] is what the full screen and the line-by-line mode show: the question, what an
// answer did, what else may be done ([Acts]). A new site is asked for [Draft.First] only.
// After the last of those, [Draft.Filled] assumes what is typical for all the rest.
//
// # One set of checks
//
// site.Parse says what is missing or wrong. A problem belongs to the question whose key is at
// its line. The form has no checks of its own.
//
// # Typical values
//
// questions.toml holds the questions, where each figure is found, and rules for typical
// values. Those of modules are tested against an open table of modules. A typical value is
// marked in its comment, since the site format has no key for it:
//
//	voc_v = 22.1 # assumed, give or take 4 %; ...
//
// Nine in ten lie within that. site.Parse reads it (Site.Doubts). What is derived from an
// assumed value carries its doubt on, and the inference widens the spreads of the parts by it.
package siteform
