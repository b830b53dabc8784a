package workbook

import (
	"iter"
	"time"
)

// Book is one .xlsx file.
type Book struct {
	Title, Subject, Author string

	// Created is the time written into the document's properties. It is the caller's, and
	// part of the bytes: give one that follows from the data, never the clock.
	Created time.Time

	// Footer stands at the left of every printed page, as plant and period. What does not
	// fit is cut with an ellipsis.
	Footer string

	Sheets []Sheet
}

// Sheet is one tab: a title, notes and at most one table.
type Sheet struct {
	Name  string   // the tab: 1 to 30 characters, unique in the book whatever the case
	Title string   // the first row
	Notes []string // each starts a row under the title: what the sheet says, and its cautions

	// Columns of the table, from left to right. A sheet without columns is title and notes.
	Columns []Column

	// Rows gives each row in order, one cell for each column: nil (a blank cell), string,
	// Number, time.Time (its wall clock, whole seconds) or bool (written yes or no). It is
	// walked once, and a row may be reused for the next. nil means no rows.
	Rows iter.Seq2[[]any, error]

	Charts   []Chart
	Emphasis []Emphasis
}

// Column is one column of a sheet's table.
type Column struct {
	Name    string // unique in the sheet; what Total, Chart, Emphasis and Link refer to
	Heading string // without its unit, which the writer puts on a line of its own; Name if empty
	Format  string // one of Formats: how cells look, and the unit
	Unit    string // unit line in place of the format's own, as "min a truss"

	// Total says what stands in the row of totals:
	//
	//	"" or "-"      nothing
	//	"sum"          the sum of the rows shown
	//	"count"        how many of the rows shown have this cell filled
	//	"a - b"        a sum or difference of columns: a formula in each row, and its sum
	//	"a / b"        a ratio: a formula in each row, and total of a by total of b over the
	//	"(a - b) / b"  rows in which every column above the bar has a number
	//
	// A row's formula is written where the row gives a Number, which becomes its stored
	// result. Where the row gives a blank or a word, the cell is that.
	Total string

	Meaning string // what the column says, for the caller's own definitions; not written
	Link    *Link  // makes each cell lead to a row of another sheet
}

// Link leads from a cell to the first row of another sheet whose Column holds the same
// value. A cell whose value is not there is no link, and neither are cells after the first
// 10,000 rows (spreadsheet programs limit links).
//
// The zero Link is for cells that name their place themselves: a later sheet of the book, as
// "waste", or the first row of it that holds a text, as "waste: B117". A cell that names
// no sheet of the book is no link.
type Link struct {
	Sheet  string
	Column string
}

// Chart draws columns of its sheet's table. Charts stand to the right of the table, beside
// its first rows, one under the other, and print after it on pages of their own. Bars run
// sideways, the first row on top, and start at zero. A blank or a word is a gap. A chart of
// no rows is left out.
type Chart struct {
	Kind           string   // "bar", "bar stacked", "line", "line limits", "scatter" or "scatter limits"
	Title          string   // the finding, in words
	Category       string   // column of the labels; for a scatter the horizontal values
	Series         []string // columns drawn, 1 to 6
	MaxRows        int      // draw the first so many rows; 0 draws all, up to 10,000
	Where          Where    // draw only the rows that it names, which must stand together; the zero value draws all
	ValueAxisTitle string   // with its unit
	AltText        string   // what a reader who cannot see the chart is told
}

// Where names the rows of a chart: those whose Column holds Value.
type Where struct{ Column, Value string }

// Emphasis sets cells of a column in bold and in colour, live: it follows an edited cell.
type Emphasis struct {
	Column string
	Kind   string // "negative" or "word"
	Word   string // for "word": the cell's whole text, whatever the case
}
