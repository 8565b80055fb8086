// Package ledger keeps the visits of many laptops for one office: in a file (SQLite) or, where
// many desks share it, in PostgreSQL.
//
// Start with [Open], [Ledger.HandIn], [Ledger.List] and [Ledger.Review]. The clock is handed in.
//
// There is one set of tables and of statements for both databases: $1 stands for an argument
// in both, times are numbers, and nothing is used that the two say differently. Every test of
// the room runs on both. A journal is kept whole, as zstd of its bytes, and the other columns
// can be made from it again. Nothing in a visit names a place: what a stranger's file says
// becomes values in the database, never a path or a statement.
//
// # Hand-in
//
// Readers on all processors unpack files, check the chain, make the digest and compress
// (handin.go). One writer puts what is ready into one transaction, up to 512 files, and reports
// each once it is on the disk. So a death at any moment loses nothing that was reported, and
// doing it again doubles nothing. No inference runs. A journal that goes on from the one in
// the ledger has that one's last hash among its own; no other comparison is needed. Reviews come after the
// visits of the same hand-in. They wait, quarantined, where their visit is not there yet.
//
// # Two at once
//
// A row changes only if its last hash and its last review are still those that were read
// (compare and swap; put.go, reviews.go). Otherwise all is read again. Of two decisions the
// second does not follow the last review any more, and is told whose came first. Hand-ins of
// one site wait for each other at its row in the table sites, in the order of names, so they cannot
// deadlock. If a database breaks one off all the same, it is done again.
//
// # Clocks
//
// A laptop's clock may be wrong by years. A visit needs attention if it is dated more than a
// day after its hand-in, or long before this program, or if its steps go back in time
// (triage/flag.go). One dated ahead is never the latest of its site, so it hides no work. The
// next visit with a right clock takes over from it.
//
// # Lists
//
// A page begins behind a row, not at a number, so a late page costs what the first does
// (runs.go). A list is merged from runs: one for each state and level of attention that
// the filter allows, each read from an index in the order of the list. Open actions belong to
// the last finished visit of a site, which takes over those of the visits before. So they are
// few and have indices of their own, and so have the visits that are now seen differently. A visit that
// was decided on needs no attention until it goes on. What is overdue does, whatever was decided.
// Since that changes with the day, it is a run of its own and not a column. One test compares
// every list with plain filtering of everything. Another asks SQLite that no run is sorted.
//
// Two sites of the same name are one site to the ledger. A programme gives its sites names that
// tell them apart, by a number or a district.
//
// # What it is checked against
//
// Lists are compared with plain filtering (rapid). Hand-in is killed at random moments, on each
// database. The wire to PostgreSQL is cut after so many bytes. Several programs write at once.
//
// # From one office to a country
//
//   - Some 100 000 visits, an office: one SQLite file on its computer. The desk and hand-in open
//     it at the same time. To make a copy: sqlite3 visits.ledger ".backup copy", or hand in the
//     same files elsewhere. The file must not be on a network drive: its locks do not work there.
//   - Some millions, a region with several desks: one PostgreSQL on a machine of its own.
//   - Tens of millions, a country: the same, with the steps below, in this order.
//
// 1. Files stay the truth. What a laptop hands in is kept as files too, a folder a month,
// written once and never changed. That is cheap storage, signed, and verified without any
// database. A lost ledger is handed in again from them. Only a ledger knows when it had each
// review and what it refused; that needs a backup.
//
// 2. Batch hand-in. Districts collect files in a folder and hand it in once a night. Hand-in is
// idempotent, so a broken line is no loss. Several may run at once: they wait for each other
// only where they bring visits to the same sites.
//
// 3. Read replicas. Lists and overviews only use SELECT, in transactions that say so. They can
// go to a streaming replica some seconds behind; decisions and hand-in go to the primary. A
// decision on what a stale replica showed is refused by the compare and swap. It needs a second
// address in [Open], and nothing else.
//
// 4. Partitions. Tables visits and journals by range of started, a year each: every list begins
// at a time or at what is open now, and journals of old partitions can move to slow disks.
// PostgreSQL wants the partition key in every unique key, so the primary key becomes
// (id, started), and a small table ids keeps each id once. Tables reviews and sites stay whole.
// Up to some 10 million visits the indices of one table (1.5 kB a visit) fit into the memory of
// one machine, and partitions only help to move old journals.
//
// 5. The set of open actions grows with the number of sites, one visit a site at most. With a
// million sites an unfiltered list by a rare condition takes about a second. Then condition goes before
// the time in the index visits_open, and that list is merged from runs like the others.
//
// The figures behind this are in ampwalk/diagnose/internal/ledgerload, which measures them.
package ledger
