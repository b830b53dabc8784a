// Package recalculation has another program work out the formulas of a written book, and
// compares what comes out with the results that are stored in it.
//
// Pipeline: for tests of books, beside workbook and the reports that use it.
//
// It must not know: how a book was made, or what its figures mean.
package recalculation
