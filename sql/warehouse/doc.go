// Package warehouse keeps the plant's DuckDB file: it opens and migrates it, builds the
// ledgers from the SQL in sql/ledgers, runs the checks, and locks a connection down for
// those who only read.
//
// Pipeline: ingest lands files inside a transaction that this package began; reports read
// through its locked connection.
//
// It must not know: how a file is parsed, what a sheet looks like, or any arithmetic about
// boards, minutes and dollars (that is the SQL's).
package warehouse
