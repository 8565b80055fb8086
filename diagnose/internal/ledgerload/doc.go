// Command ledgerload fills ledgers with visits of an invented programme, made by the procedure
// and written by the writer of visits, and measures how quick they are.
//
//	ledgerload [-brief] [-visits N] [-files N] [-seed N] WHERE...
//	ledgerload -measure [-visits N] [-seed N] WHERE...
//	ledgerload -desk WHERE...
//
// WHERE is a file (SQLite) or the address of a PostgreSQL database. A ledger that was filled in
// part is filled up. With -measure nothing is put in; with -brief nothing is asked of it.
//
// # What it showed
//
// The figures are in ms where nothing else is said. There were a million visits of record
// version 2 (12.2 kB each), with reviews of nine in ten. Two cores did it, with an inference or
// two beside it now and then. To repeat it:
//
//	go run ./diagnose/internal/ledgerload -visits 1000000 FILE ADDRESS
//
//	                                                  SQLite            PostgreSQL 15
//	any list, filter, order and place: median         2.0 to 2.7        3.4
//	  p95                                             7.2 to 19         12
//	  worst                                           36 to 128         102
//	two filters or more: p95                          5.5 to 26         14
//	the slowest single filter: p95                    12 to 51 (staff)  55 (dates)
//	a count up to 10 000: p95                         9.4 to 68         25
//	opening a visit: p95                              2.2 to 6.8        8.1
//	hand-in of 10 000 to 20 000 more files a second   1 060 to 1 660    725
//	made and handed in with their reviews a second    740               325
//	resident, asking for lists and visits [MB]        47 to 62          38
//	resident, desk on screen with inferences [MB]     118               66
//	size of the ledger [GB]                           8.0               8.8
//	ampwalk report: resident, processor time          106 MB, 40 s      72 MB, 25 s
//
// SQLite was asked four times: straight after the million, and with much of its file out of the
// system's memory. PostgreSQL was asked after VACUUM ANALYZE. Straight after the million, while
// its own vacuum worked, any list took 93 ms at p95: leave it some minutes after a first great
// hand-in. Its slowest list is one by dates in the order of what is due, which looks at all
// open work. One hand-in into SQLite while nine gigabytes were deleted beside it made 700 a
// second: the disk counts as much as the processors.
package main
