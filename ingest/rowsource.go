package ingest

import (
	"errors"
	"fmt"
	"io"

	"trusstally/ingest/problem"
)

// record is one row of a file as it stands there, before anything is known about it.
type record struct {
	line      int       // line on which it begins, from 1: of the text, or of the sheet
	lines     int       // lines that it covers
	cells     [][]byte  // valid until the next call
	fault     string    // code word of what is wrong with the row, or ""
	faultCell int       // the cell, from 0, in which a stray quote stands
	faultAt   int       // where in the text of that cell it stands, in bytes
	bad       []badCell // cells that hold no value to read
}

// badCell is a cell that its file says holds no value, whatever its column.
type badCell struct {
	cell int    // from 0
	code string // code word
}

// rowSource yields the rows of a file, of whatever kind it is. What it yields are the
// texts that the columns' grammars read: from there on all files are alike.
type rowSource interface {
	// at names the places of the file.
	at() places
	// next returns the next row, blank ones among them, and io.EOF after the last. Any
	// other error refuses the whole file.
	next() (record, error)
	// declare tells what the cells are, by position, once the header row is matched; and how
	// to write what a workbook holds as a number, nil for as it stands.
	declare(columns []Column, write []func(text string) string)
	// finish is called after the last row. It returns what the reader should know of the
	// file as a whole, and an error when the file is not the one that was hashed.
	finish() ([]string, error)
}

// textRows are the rows of a CSV file.
type textRows struct {
	source *source
	frames *framer
}

func newTextRows(s *source, delimiter byte) (*textRows, error) {
	text, err := s.text()
	if err != nil {
		return nil, err
	}
	frames := newFramer(text)
	frames.delimiter = delimiter
	return &textRows{source: s, frames: frames}, nil
}

func (t *textRows) at() places { return places{file: t.source.name} }

// declare does nothing: a cell of a CSV file is its text whatever its column.
func (t *textRows) declare([]Column, []func(string) string) {}

func (t *textRows) finish() ([]string, error) { return nil, t.source.unchanged() }

// next turns an error of the framer into what a person reads.
func (t *textRows) next() (record, error) {
	row, err := t.frames.next()
	if err == nil || errors.Is(err, io.EOF) {
		return row, err
	}
	var unterminated *unterminatedQuote
	if !errors.As(err, &unterminated) {
		return row, cannotRead(t.source.name, err)
	}
	what := "a quote opens here and never closes"
	if unterminated.swallows > 0 {
		what += fmt.Sprintf(": it swallows the %s after it", counted(unterminated.swallows, "line"))
	}
	return row, problem.List{{
		Place: t.at().cell(int64(unterminated.line), unterminated.cell), What: what, Code: CodeUnterminatedQuote,
		Hint: "close the quote or delete it; nothing of this file was taken",
	}}
}
