package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"trusstally/ingest/problem"
)

// stage frames the file, matches its header row and loads every row that is not blank, as
// text, into the temporary table landing_text:
//
//	landing_line   physical line on which the row begins
//	landing_lines  physical lines that it covers
//	landing_cells  cells found
//	landing_shape  code word when the row is not one of well-formed cells, else NULL
//	landing_rest   cells beyond the header row's, as CSV, else NULL
//	c1, c2, …      the cells without blanks around them, NULL where nothing is left
func (l *landing) stage() error {
	text, err := l.source.text()
	if err != nil {
		return err
	}
	frames := newFramer(text)
	if err := l.readHeader(frames); err != nil {
		return err
	}
	staged, err := newBulk(l.opts.TempDir)
	if err != nil {
		return err
	}
	defer staged.close()
	for {
		row, err := frames.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return l.framing(err)
		}
		l.receipt.Lines++
		if blankRow(row) {
			l.receipt.Blank++
			continue
		}
		if err := l.stageRow(staged, row); err != nil {
			return fmt.Errorf("write a temporary file: %w", err)
		}
	}
	if err := l.source.unchanged(); err != nil {
		return err
	}
	columns := []bulkColumn{
		{"landing_line", "BIGINT"}, {"landing_lines", "BIGINT"}, {"landing_cells", "BIGINT"}, {"landing_shape", "VARCHAR"}, {"landing_rest", "VARCHAR"},
	}
	for i := range l.header.names {
		columns = append(columns, bulkColumn{cellName(i), "VARCHAR"})
	}
	return staged.load(l.ctx, l.tx, "landing_text", columns)
}

// readHeader takes the first row that is not blank for the header row.
func (l *landing) readHeader(frames *framer) error {
	for {
		row, err := frames.next()
		if err != nil {
			return l.framing(err)
		}
		if blankRow(row) {
			continue
		}
		if row.fault != "" {
			return problem.List{{
				Place: fmt.Sprintf("%s:%d:%d", l.source.name, row.line, row.faultCell+1), What: "text follows a closing quote in the header row", Code: row.fault,
				Hint: "delete the quotes in the header row",
			}}
		}
		l.header, l.receipt.Warnings, err = matchHeader(row, l.source.name, l.feed, l.opts.Columns)
		return err
	}
}

// framing turns an error of the framer into what a person reads.
func (l *landing) framing(err error) error {
	var unterminated *unterminatedQuote
	if !errors.As(err, &unterminated) {
		return cannotRead(l.source.name, err)
	}
	what := "a quote opens here and never closes"
	if unterminated.swallows > 0 {
		what += fmt.Sprintf(": it swallows the %s after it", counted(unterminated.swallows, "line"))
	}
	return problem.List{{
		Place: fmt.Sprintf("%s:%d:%d", l.source.name, unterminated.line, unterminated.cell+1), What: what, Code: CodeUnterminatedQuote,
		Hint: "close the quote or delete it; nothing of this file was taken",
	}}
}

func (l *landing) stageRow(staged *bulk, row record) error {
	want := len(l.header.names)
	shape := row.fault
	if shape == "" && len(row.cells) != want {
		shape = CodeRaggedRow
	}
	staged.number(int64(row.line))
	staged.number(int64(row.lines))
	staged.number(int64(len(row.cells)))
	staged.cell([]byte(shape))
	var rest []byte
	if len(row.cells) > want {
		rest = appendRow(nil, row.cells[want:])
	}
	staged.cell(rest)
	for i := range want {
		if i < len(row.cells) {
			staged.cell(trimBlanks(row.cells[i]))
		} else {
			staged.cell(nil)
		}
	}
	return staged.endRow()
}

// cellName is the column of landing_text that holds cell i, from 0.
func cellName(i int) string { return fmt.Sprintf("c%d", i+1) }

// trimBlanks trims a cell. Nearly every cell needs none of it, which is found out fast.
func trimBlanks(cell []byte) []byte {
	if n := len(cell); n == 0 || plainByte(cell[0]) && plainByte(cell[n-1]) {
		return cell
	}
	return bytes.Trim(cell, blanks)
}

// plainByte says whether b is a character of its own, and no blank.
func plainByte(b byte) bool { return b > ' ' && b < utf8.RuneSelf }

func blankRow(row record) bool {
	for _, cell := range row.cells {
		if len(trimBlanks(cell)) > 0 {
			return false
		}
	}
	return row.fault == ""
}

// counted writes a number with its noun.
func counted[N int | int64](n N, noun string) string {
	if n == 1 {
		return fmt.Sprintf("%d %s", n, noun)
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
