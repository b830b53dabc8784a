package reports

import (
	"context"
	"fmt"
	"slices"

	"trusstally/reports/page"
	"trusstally/reports/workbook"
)

// pageSource gives the pages the cells of the week's books. The first error is kept, and
// what is asked for after it is empty.
type pageSource struct {
	seen   func(book, sheet string) (workbook.View, error)
	sheets map[string]*seenSheet
	failed error
}

func newPageSource(ctx context.Context, books []*Book, from Source, period Period, plant string) *pageSource {
	written := map[string]workbook.Book{}
	for _, book := range books {
		written[book.Name] = book.workbook(ctx, from, period, plant)
	}
	return &pageSource{
		seen: func(book, sheet string) (workbook.View, error) {
			return workbook.See(written[book], sheet)
		},
		sheets: map[string]*seenSheet{},
	}
}

// sheet reads one sheet, once.
func (s *pageSource) sheet(book, sheet string) *seenSheet {
	key := book + "/" + sheet
	if known := s.sheets[key]; known != nil {
		return known
	}
	result := &seenSheet{source: s, book: book, name: sheet}
	if s.failed == nil {
		var err error
		if result.View, err = s.seen(book, sheet); err != nil {
			s.fail(fmt.Errorf("page: %s: %w", book, err))
		}
	}
	s.sheets[key] = result
	return result
}

func (s *pageSource) fail(err error) {
	if s.failed == nil {
		s.failed = err
	}
}

// seenSheet is one sheet of a book as its reader sees it.
type seenSheet struct {
	workbook.View
	source     *pageSource
	book, name string
}

// link leads to the book that has the sheet.
func (s *seenSheet) link() page.Link {
	return page.Link{File: s.book + ".xlsx", Words: "sheet " + s.name + " of " + s.book}
}

// column is the column's place among the sheet's; 0 where it has none of that name, which
// fails the source.
func (s *seenSheet) column(name string) int {
	index := slices.IndexFunc(s.Columns, func(c workbook.ViewColumn) bool { return c.Name == name })
	if index < 0 {
		s.source.fail(fmt.Errorf("page: sheet %s of %s has no column %s", s.name, s.book, name))
		return 0
	}
	return index
}

// text is what the cell shows.
func (s *seenSheet) text(row int, column string) string {
	index := s.column(column)
	if row >= len(s.Rows) || s.source.failed != nil {
		return ""
	}
	return s.Rows[row][index].Text
}

// where lists the rows whose column shows the text.
func (s *seenSheet) where(column, text string) []int {
	var rows []int
	for row := range s.Rows {
		if s.text(row, column) == text {
			rows = append(rows, row)
		}
	}
	return rows
}

// cell is the cell with its place. A blank one is a blank text.
func (s *seenSheet) cell(row int, column string) page.Cell {
	return s.value(row, column).Cell
}

// value is the cell as a figure.
func (s *seenSheet) value(row int, column string) page.Value {
	index := s.column(column)
	if row >= len(s.Rows) || s.source.failed != nil {
		return page.Value{}
	}
	return s.placed(s.Rows[row][index])
}

// total is the column's figure in the row of totals.
func (s *seenSheet) total(column string) page.Value {
	index := s.column(column)
	if index >= len(s.Totals) || s.source.failed != nil {
		return page.Value{}
	}
	return s.placed(s.Totals[index])
}

func (s *seenSheet) placed(cell workbook.ViewCell) page.Value {
	value := page.Value{Number: cell.Number, Known: cell.IsKnown}
	if cell.Text != "" {
		value.Cell = page.Cell{Text: cell.Text, Place: page.Place{Book: s.book, Sheet: s.name, Cell: cell.Address}}
	}
	return value
}

// notKnown stands where a cell is blank: a blank is never zero.
const notKnown = "not known"

// shown is the value with words where it is blank.
func shown(value page.Value) page.Value {
	if value.Text == "" {
		value.Cell = page.Cell{Text: notKnown}
	}
	return value
}

// tile is the value in large type; words where it is blank.
func tile(label string, value page.Value, unit string, beside ...any) page.Tile {
	if !value.Known {
		return page.Tile{Label: label, Figure: shown(value).Cell}
	}
	return page.Tile{Label: label, Figure: value.Cell, Unit: unit, Beside: page.Say(beside...)}
}

// table shows these columns of these rows.
func (s *seenSheet) table(caption string, rows []int, columns ...string) *page.Table {
	table := &page.Table{Caption: caption}
	for _, name := range columns {
		column := s.column(name)
		if s.source.failed != nil {
			return table
		}
		c := s.Columns[column]
		unit := c.Unit
		if unit == "%" { // is in the figures
			unit = ""
		}
		table.Columns = append(table.Columns, page.Column{Heading: c.Heading, Unit: unit, Number: c.IsNumber})
	}
	for _, row := range rows {
		cells := make([]page.Cell, len(columns))
		for i, name := range columns {
			cells[i] = s.cell(row, name)
		}
		table.Rows = append(table.Rows, cells)
	}
	return table
}

// allRows lists the rows of the sheet.
func (s *seenSheet) allRows() []int {
	rows := make([]int, len(s.Rows))
	for i := range rows {
		rows[i] = i
	}
	return rows
}
