// Package report takes what a ledger knows of visits out again: as CSV for a spreadsheet, as
// JSON lines for another program, and as an overview of a programme with drawn charts.
//
// Start with [CSV], [JSONLines] and [Overview]. Visits come as a sequence, one at a time, so
// that a report of any size needs little memory. Whatever a visit says, nothing of it acts in a
// spreadsheet, on a terminal or in a browser. The time is handed in.
package report
