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
// clockstyle.go). header.go names the cells, and from there on there are two ways. A text
// whose every line is a row, which textsurvey.go finds out, is copied for the engine, and it
// reads the copy by itself (plainfile.go); rows of any other file are loaded as text by
// stage.go. Both are then typed by the same SQL (typed.go): cells written the plain way by the
// engine (quick.go; definite.go for the instants of times), what that leaves open by the
// grammars of cells.go (length.go, size.go, clock.go, number.go).
//
// sound.go asks whether anything is wrong with any row. If so rules.go lists the feed's row
// rules that are broken, keys.go and groups.go settle what goes together, rejects.go tells what
// was refused (strayquote.go how a bad cell stands there), and mended.go what becomes of it
// later. merge.go says what becomes of the rest, in landing_moves: every row that is new,
// changed, unchanged or removed. Where the warehouse has nothing of the file's keys and groups,
// that is a view (sound.go). apply.go does it. receipt.go is what the caller gets to see. Every
// step is one method of the landing in land.go. quote.go reads rows of a file again, for those
// who ask where a figure comes from.
//
// It must not know: how ledgers are computed, what a report shows, where the warehouse
// file is or how it is opened. It takes a *sql.Tx and never commits.
package ingest
