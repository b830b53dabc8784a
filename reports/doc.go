// Package reports reads the headers of report definitions, chooses the period, runs a
// sheet's SQL with its parameters, and hands the rows to a workbook, to JSON or to CSV.
//
// Pipeline: after the ledgers. Each definition is one .sql file under sql/reports; books
// are written by reports/workbook.
//
// It must not know: how a figure is computed (that is the SQL's), how a cell is styled
// (that is the workbook's), or how the warehouse is opened.
package reports
