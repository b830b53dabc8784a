package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"trusstally/ingest/problem"
)

// stage reads the rows of the file, matches its header row and loads every row that is
// not blank, as text, into the temporary table landing_text:
//
//	landing_line   line on which the row begins, of the text or of the sheet
//	landing_lines  lines that it covers
//	landing_cells  cells found
//	landing_shape  code word when the row is not one of well-formed cells, else NULL
//	landing_rest   cells beyond the header row's, as CSV, else NULL
//	landing_holes  cells that hold no value or a stray quote, as markHoles writes them, else NULL
//	c1, c2, …      the cells without blanks around them, NULL where nothing is left
func (l *landing) stage() error {
	rows, err := l.source.rows(l.feed, l.opts)
	if err != nil {
		return err
	}
	l.at = rows.at()
	if err := l.readHeader(rows); err != nil {
		return err
	}
	staged, err := newBulk(l.opts.TempDir)
	if err != nil {
		return err
	}
	defer staged.close()
	for {
		row, err := rows.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		l.receipt.Lines++
		blank := l.header.blankButNames(row)
		l.noteNamed(row, blank)
		if blank {
			l.receipt.Blank++
			continue
		}
		if err := l.stageRow(staged, row); err != nil {
			return fmt.Errorf("write a temporary file: %w", err)
		}
	}
	warnings, err := rows.finish()
	if err != nil {
		return err
	}
	l.receipt.Warnings = append(l.receipt.Warnings, warnings...)
	columns := []bulkColumn{
		{"landing_line", "BIGINT"}, {"landing_lines", "BIGINT"}, {"landing_cells", "BIGINT"}, {"landing_shape", "VARCHAR"}, {"landing_rest", "VARCHAR"},
		{"landing_holes", "VARCHAR"},
	}
	for i := range l.header.names {
		columns = append(columns, bulkColumn{cellName(i), "VARCHAR"})
	}
	return staged.load(l.ctx, l.tx, "landing_text", columns)
}

// readHeader takes the first row that is not blank for the header row, and tells rows what
// its cells are.
func (l *landing) readHeader(rows rowSource) error {
	for {
		row, err := rows.next()
		if errors.Is(err, io.EOF) {
			return fileProblem(CodeEmptyFile, l.at.whole(), "there is no row in it", "the first row must be the header row", nil)
		}
		if err != nil {
			return err
		}
		if blankRow(row) {
			continue
		}
		switch row.fault {
		case "":
		case CodeStrayQuote:
			return problem.List{{
				Place: l.at.cell(int64(row.line), row.faultCell), What: "text follows a closing quote in the header row", Code: row.fault,
				Hint: "delete the quotes in the header row",
			}}
		default:
			return problem.List{{
				Place: l.at.row(int64(row.line)), What: "the header row is longer than any real one", Code: row.fault,
				Hint: "the first row must name the columns, and nothing else",
			}}
		}
		l.header, l.receipt.Warnings, err = matchHeader(row, l.at, l.feed, l.opts.Columns)
		if err != nil {
			return err
		}
		rows.declare(l.header.declared(l.feed))
		return nil
	}
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
	if l.header.ofRejects() {
		for i, cell := range row.cells {
			row.cells[i] = unmarked(cell)
		}
	}
	var rest []byte
	if len(row.cells) > want {
		rest = appendRow(nil, row.cells[want:])
	}
	staged.cell(rest)
	marks := row.bad
	if row.fault == CodeStrayQuote {
		marks = append(marks, badCell{cell: row.faultCell, code: row.fault})
	}
	staged.cell(markHoles(marks))
	l.holes = l.holes || len(row.bad) > 0
	for i := range want {
		if i < len(row.cells) {
			staged.cell(trimBlanks(row.cells[i]))
		} else {
			staged.cell(nil)
		}
	}
	return staged.endRow()
}

// markHoles writes the marked cells of a row as ,0:error-cell,7:no-value, with the number of
// the cell from 0.
func markHoles(bad []badCell) []byte {
	var marks []byte
	for _, b := range bad {
		if len(marks) == 0 {
			marks = append(marks, ',')
		}
		marks = fmt.Appendf(marks, "%d:%s,", b.cell, b.code)
	}
	return marks
}

// holeIn is SQL over landing_holes for the code word of a cell, NULL where it has a value.
func holeIn(cell int) string {
	return fmt.Sprintf("nullif(regexp_extract(landing_holes, ',%d:([a-z-]+),', 1), '')", cell)
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
