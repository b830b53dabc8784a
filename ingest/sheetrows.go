package ingest

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"

	"trusstally/ingest/problem"
)

// sheetRows are the rows of a sheet of a workbook, read one at a time. A row that the file
// leaves out, since nothing stands in it, is a blank row; those after the last value are
// none.
type sheetRows struct {
	place   places
	part    *xmlPart
	reader  cellReader
	columns []Column // of the cells, nil until the header row is matched
	write   []func(string) string
	line    int     // row that was returned last
	waiting *record // row that was read and comes after blank ones
	begun   int     // row whose element was begun last
	seen    bool    // the rows were begun
	hidden  int64   // rows after the header row that are hidden
	merged  int64   // blocks of merged cells
	text    []byte  // the waiting row's cells, one after the other
	ends    []int   // where each cell ends in text
}

func (r *sheetRows) at() places { return r.place }

func (r *sheetRows) declare(columns []Column, write []func(string) string) {
	r.columns, r.write = columns, write
}

// finish tells what a person may not see when looking at the sheet.
func (r *sheetRows) finish() ([]string, error) {
	warnings := r.part.book.leftAlone()
	if r.hidden > 0 {
		warnings = append(warnings, fmt.Sprintf("%s: %s read like the others", r.place.whole(), wereHidden(r.hidden)))
	}
	if r.merged > 0 {
		warnings = append(warnings, fmt.Sprintf("%s: %s: only the first cell of each has the value, the others are blank", r.place.whole(), counted(r.merged, "block")+" of merged cells"))
	}
	again, err := r.part.book.source.hashed(io.Discard)
	if err == nil && again != r.part.book.source.sha256 {
		err = changed(r.place.file)
	}
	return warnings, err
}

func wereHidden(n int64) string {
	if n == 1 {
		return "1 hidden row was"
	}
	return fmt.Sprintf("%d hidden rows were", n)
}

func (r *sheetRows) next() (record, error) {
	if r.waiting == nil {
		row, err := r.nextValued()
		if err != nil {
			r.part.body.Close()
			return record{}, err
		}
		r.waiting = row
	}
	r.line++
	if r.line < r.waiting.line {
		return record{line: r.line, lines: 1}, nil
	}
	row := *r.waiting
	r.waiting = nil
	return row, nil
}

// nextValued returns the next row in which anything stands.
func (r *sheetRows) nextValued() (*record, error) {
	for {
		token, err := r.part.next()
		if errors.Is(err, io.EOF) {
			if !r.seen {
				return nil, r.part.book.damagedPart(r.part.name, partFault("it holds no rows"))
			}
			return nil, io.EOF
		}
		if err != nil {
			return nil, err
		}
		switch element := token.(type) {
		case xml.StartElement:
			switch {
			case r.part.within("worksheet", "sheetData"):
				r.seen = true
			case r.part.within("worksheet", "sheetData", "row"):
				row, err := r.readRow(element)
				if err != nil || len(row.cells) > 0 || row.fault != "" {
					return row, err
				}
			case r.part.within("worksheet", "mergeCells", "mergeCell"):
				r.merged++
			}
		case xml.EndElement:
			r.part.end()
		}
	}
}

// readRow reads the row whose element was begun.
func (r *sheetRows) readRow(element xml.StartElement) (*record, error) {
	line := r.begun + 1
	if number := attribute(element, "r"); number != "" {
		n, err := strconv.Atoi(number)
		if err != nil || n < line {
			return nil, r.outOfOrder("row " + number)
		}
		line = n
	}
	if line > mostRows {
		return nil, tooLarge(r.place.whole(), fmt.Sprintf("the sheet goes on below row %d", mostRows), nil)
	}
	r.begun = line
	r.text, r.ends = r.text[:0], r.ends[:0]
	row := &record{line: line, lines: 1}
	depth, next := len(r.part.path), 0
	for {
		token, err := r.part.next()
		if errors.Is(err, io.EOF) {
			return nil, r.part.book.damagedPart(r.part.name, io.ErrUnexpectedEOF)
		}
		if err != nil {
			return nil, err
		}
		switch cell := token.(type) {
		case xml.StartElement:
			if len(r.part.path) != depth+1 || cell.Name.Local != "c" {
				continue
			}
			at := next
			if reference := attribute(cell, "r"); reference != "" {
				column, n, ok := columnOfLetters(reference)
				if !ok || n != line || column < next {
					return nil, r.outOfOrder("cell " + reference)
				}
				at = column
			}
			if at >= widestSheet {
				return nil, tooLarge(r.place.whole(), fmt.Sprintf("row %d goes on beyond column %d", line, widestSheet), nil)
			}
			next = at + 1
			if err := r.readCell(row, cell, at); err != nil {
				return nil, err
			}
		case xml.EndElement:
			r.part.end()
			if len(r.part.path) < depth {
				r.cut(row)
				if r.columns != nil && len(row.cells) > 0 && trueAttribute(element, "hidden") {
					r.hidden++
				}
				return row, nil
			}
		}
	}
}

// readCell reads the cell whose element was begun into the row, at its place from 0.
func (r *sheetRows) readCell(row *record, element xml.StartElement, at int) error {
	cell, err := r.part.sheetCell(element)
	if err != nil {
		return err
	}
	column := Column{Kind: Text}
	if at < len(r.columns) {
		column = r.columns[at]
	}
	text, code, err := r.reader.read(cell, column)
	if err != nil {
		return r.part.book.damagedPart(r.part.name, partFault(fmt.Sprintf("cell %s%d: %v", columnLetters(at), row.line, err)))
	}
	if text == "" {
		return nil
	}
	if at < len(r.write) && r.write[at] != nil && code == "" && (cell.kind == "" || cell.kind == "n") {
		text = r.write[at](text)
	}
	if code != "" {
		row.bad = append(row.bad, badCell{cell: at, code: code})
	}
	for len(r.ends) < at {
		r.ends = append(r.ends, len(r.text))
	}
	if len(r.text)+len(text) > longestRow {
		row.fault = CodeRowTooLong
		text = ""
	}
	r.text = append(r.text, text...)
	r.ends = append(r.ends, len(r.text))
	return nil
}

// cut makes the row's cells of the text. A row is as wide as the header row at least: that
// nothing stands at its end is no fault of its shape.
func (r *sheetRows) cut(row *record) {
	if len(r.ends) == 0 {
		return
	}
	for len(r.ends) < len(r.columns) {
		r.ends = append(r.ends, len(r.text))
	}
	start := 0
	for _, end := range r.ends {
		row.cells = append(row.cells, r.text[start:end])
		start = end
	}
}

// outOfOrder refuses a sheet whose rows or cells are not in their order: which of two
// readings is right, nobody can tell.
func (r *sheetRows) outOfOrder(what string) problem.List {
	return r.part.book.damagedPart(r.part.name, partFault(what+" is out of order"))
}
