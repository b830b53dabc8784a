package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"trusstally/ingest/problem"
)

// stage matches the header row of the file and makes its rows ready to be typed: a plain
// text is copied for the engine, which reads it by itself, and the rows of any other file are
// framed here.
func (l *landing) stage() error {
	rows, aside, err := l.begin()
	if err != nil {
		return err
	}
	if l.mayBePlain(aside) {
		if l.plain, err = l.copyPlain(); err != nil {
			return err
		}
		if l.plain != nil {
			l.receipt.Lines = l.plain.rows
			return nil
		}
		if rows, aside, err = l.begin(); err != nil {
			return err
		}
	}
	return l.stageRows(rows, aside)
}

// frame is stage for a file that turned out to be no plain text.
func (l *landing) frame() error {
	rows, aside, err := l.begin()
	if err != nil {
		return err
	}
	return l.stageRows(rows, aside)
}

// begin reads the file from its beginning up to the header row.
func (l *landing) begin() (rowSource, *setAside, error) {
	rows, err := l.source.rows(l.feed, l.opts)
	if err != nil {
		return nil, nil, err
	}
	l.at = rows.at()
	if err := l.readHeader(rows); err != nil {
		return nil, nil, err
	}
	return rows, newSetAside(l.opts.Reading, l.reader, l.header, l.feed, l.at), nil
}

// stageRows loads every row that is not blank, as text, into the temporary table landing_text:
//
//	landing_line   line on which the row begins, of the text or of the sheet
//	landing_lines  lines that it covers
//	landing_cells  cells found
//	landing_shape  code word when the row is not one of well-formed cells, else NULL
//	landing_rest   cells beyond the header row's, as CSV, else NULL
//	landing_holes  cells that hold no value, as markHoles writes them, else NULL
//	landing_stray  the cell in which a stray quote stands, as strayCell writes it, else NULL
//	c1, c2, …      the cells without blanks around them, NULL where nothing is left
//	read_0, …      for columns that reading rules change, the text of a canonical file
//	landing_unread where there are such columns: what could not be read by the rules, as
//	               ,COLUMN:CODE, with the number of the column, else NULL
func (l *landing) stageRows(rows rowSource, aside *setAside) error {
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
		if kind := aside.take(row); kind != rowLine {
			l.receipt.aside(kind)
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
	if warnings, err = aside.finish(); err != nil {
		return err
	}
	l.receipt.Warnings = append(l.receipt.Warnings, warnings...)
	columns := []bulkColumn{
		{"landing_line", "BIGINT"}, {"landing_lines", "BIGINT"}, {"landing_cells", "BIGINT"}, {"landing_shape", "VARCHAR"}, {"landing_rest", "VARCHAR"},
		{"landing_holes", "VARCHAR"}, {"landing_stray", "VARCHAR"},
	}
	for i := range l.header.names {
		columns = append(columns, bulkColumn{cellName(i), "VARCHAR"})
	}
	columns = append(columns, l.reader.staged()...)
	return staged.load(l.ctx, l.tx, "landing_text", columns)
}

// readHeader finds the header row, the first that is not blank unless plant.toml says
// otherwise, and tells rows what its cells are.
func (l *landing) readHeader(rows rowSource) error {
	skipped := false
	for {
		row, err := rows.next()
		if errors.Is(err, io.EOF) {
			return l.opts.Reading.noHeaderRow(l.feed, l.at, skipped)
		}
		if err != nil {
			return err
		}
		if l.opts.Reading.before(row) {
			skipped = skipped || !blankRow(row)
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
				Hint: "the header row must name the columns, and nothing else",
			}}
		}
		l.header, l.receipt.Warnings, err = matchHeader(row, l.at, l.feed, l.opts.Columns, l.opts.Reading)
		if err != nil {
			return err
		}
		l.reader = newRowReader(l.opts.Reading, l.feed, l.header)
		rows.declare(l.reader.sheetColumns(l.header.declared(l.feed)))
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
	stray := strayCell(row)
	if l.header.ofRejects() {
		stray = unmarkedStray(row, stray)
		for i, cell := range row.cells {
			row.cells[i] = unmarked(cell)
		}
	}
	var rest []byte
	if len(row.cells) > want {
		rest = appendDelimited(nil, row.cells[want:], l.opts.Reading.delimiter())
	}
	staged.cell(rest)
	staged.cell(markHoles(row.bad))
	staged.cell(stray)
	l.holes = l.holes || len(row.bad) > 0
	for i := range want {
		if i < len(row.cells) {
			staged.cell(trimBlanks(row.cells[i]))
		} else {
			staged.cell(nil)
		}
	}
	l.reader.stage(staged, row)
	return staged.endRow()
}

// markHoles writes the cells of a row that hold no value as ,0:error-cell,7:no-value,
// with the number of the cell from 0.
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
