// Package ingest brings files in: it declares the feeds and their columns, lands a
// file as text, checks every cell by the feed's row rules, and merges what is good
// into the feed's table, all inside a transaction that its caller began.
//
// Pipeline: files → ingest → sql/ledgers → sql/reports → books. Ingest stands first.
//
// A file passes through the source files in this order: feedfile.go says whose it is,
// open.go whether it is text or a workbook. Both yield their rows as texts, by
// rowsource.go: textfile.go and frame.go of a CSV file, archive.go, xmlpart.go, workbook.go
// and sheetrows.go of a sheet, whose cells sheetcell.go turns into texts (by serial.go and
// clockstyle.go). From there on all files are alike: header.go names the cells, stage.go
// loads them as text; cells.go reads them (by length.go, size.go, clock.go,
// number.go), rules.go asks the feed's row rules, keys.go and groups.go settle what goes
// together; rejects.go tells what was refused (strayquote.go how a bad cell stands there),
// mended.go what becomes of it later, merge.go what becomes of the rest, and
// apply.go does it. receipt.go is what the caller gets to see. Every step is one method
// of the landing in land.go. quote.go reads rows of a file again, for those who ask where a
// figure comes from.
//
// It must not know: how ledgers are computed, what a report shows, where the warehouse
// file is or how it is opened. It takes a *sql.Tx and never commits.
package ingest
