// Package formulas keeps texts that a spreadsheet program would run as a formula from
// being one when it opens a CSV file that holds them.
//
// It stands beside the pipeline: ingest marks the files of rejects/, reports the CSV that
// report and query print. It must not know what a cell means.
package formulas
