// Package ledger keeps the visits of many laptops for one office: in a file
// (SQLite) or, where many desks share it, in PostgreSQL. Both are asked the same
// questions in the same words.
//
// Start with [Open], [Ledger.HandIn], [Ledger.List] and [Ledger.Review]. The clock
// is handed in. A journal is kept whole, byte for byte, and everything else about
// a visit can be made from it again.
//
// Nothing in a visit names a place: what a stranger's file says of itself becomes
// values in the database, never a path or a statement.
package ledger
