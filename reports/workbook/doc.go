// Package workbook writes .xlsx books: sheets of one table each, with live totals, charts
// and print set-up, made to be read, filtered, printed and audited by people who did not
// write the query behind them.
//
// A sheet reads downwards: title, notes, the row of totals, the heading row, the rows.
// Totals stand above the headings because a table's end moves with every run: there they
// stay in sight, within the frozen part, and nothing ever stands below a table.
//
// Totals are SUBTOTAL formulas: when the reader filters the table they are the totals of
// the rows that are shown. A ratio is a live formula in every row and in the total. Every
// formula carries its result, worked out here with exact decimals, so that a viewer that
// cannot calculate shows the same figures.
//
// The same Book gives the same bytes on every machine and at every moment.
//
// Pipeline: last step; reports runs the queries and hands over their rows, and workbook
// makes the file.
//
// It must not know: where rows come from, any query, any database, what a column means to
// the trade, the clock.
package workbook
