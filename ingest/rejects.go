package ingest

import (
	"bytes"
	"database/sql"
	"fmt"
	"strings"
	"unicode/utf8"

	"trusstally/ingest/formulas"
	"trusstally/ingest/problem"
)

// report puts into the receipt what is wrong with each refused row, and the rows
// themselves as a CSV to be mended and read again. What goes into the table rejects waits
// in the temporary table landing_rejected.
//
// In the CSV the reject columns stand first: the cells of a row that has too many or too few
// then keep their places. Two of them name the row, by which mended.go knows it when it comes
// back. Texts that would be formulas are marked; the marks are taken off when it is read.
func (l *landing) report() error {
	any, err := l.count("SELECT count(*) FROM landing_faults")
	if err != nil || any == 0 {
		return err
	}
	if err := l.keepTexts(); err != nil {
		return err
	}
	logged, err := newBulk(l.opts.TempDir)
	if err != nil {
		return err
	}
	defer logged.close()
	var held problem.List
	out := rejectsWriter{header: l.header, importID: l.receipt.ImportID, delimiter: l.opts.Reading.delimiter()}
	if l.source.marked {
		out.text = append(out.text, "\ufeff"...)
	}
	out.begin()
	err = l.eachFault(func(f fault) error {
		p := l.describeFault(f)
		column, value := "", ""
		if f.ordinal >= 0 {
			column = l.feed.Columns[f.ordinal].Name
			if value = l.cellOf(f); l.feed.Columns[f.ordinal].Wage {
				value = ""
			}
		}
		if f.code == CodeWith {
			held = append(held, p)
		} else {
			l.receipt.Problems = append(l.receipt.Problems, p)
		}
		out.add(f, column, fmt.Sprintf("%s [%s]", p.What, p.Code))
		logged.number(f.line)
		for _, text := range []string{column, value, f.code, p.What} {
			logged.cell([]byte(text))
		}
		return logged.endRow()
	})
	if err != nil {
		return fmt.Errorf("report the refused rows of %s: %w", l.source.name, err)
	}
	l.receipt.Problems = append(l.receipt.Problems, held...)
	l.receipt.RejectsCSV, l.receipt.Rejected = out.end(), out.rows
	// The rejects are UTF-8, which a mark says where plant.toml declares another encoding.
	switch {
	case l.source.book != nil:
		l.receipt.RejectsCSV = markText(l.receipt.RejectsCSV)
	case l.source.encoding != "" && !l.source.marked:
		l.receipt.RejectsCSV = append([]byte("\ufeff"), l.receipt.RejectsCSV...)
	}
	return logged.load(l.ctx, l.tx, "landing_rejected", []bulkColumn{
		{"line", "BIGINT"}, {"column_name", "VARCHAR"}, {"value", "VARCHAR"}, {"code", "VARCHAR"}, {"reason", "VARCHAR"},
	})
}

// eachFault calls visit with each fault, by line and then by column.
func (l *landing) eachFault(visit func(f fault) error) error {
	cells := make([]string, len(l.header.names))
	for i := range cells {
		cells[i] = "t." + cellName(i)
	}
	rows, err := l.tx.QueryContext(l.ctx, fmt.Sprintf(`
SELECT f.landing_line, t.landing_lines, f.ordinal, f.code, f.rule, coalesce(f.note, ''), t.landing_cells, coalesce(t.landing_rest, ''),
    coalesce(t.landing_holes, ''), coalesce(t.landing_stray, ''), %s
FROM landing_faults AS f
JOIN landing_text AS t ON t.landing_line = f.landing_line
ORDER BY f.landing_line, f.ordinal, f.rule`, strings.Join(cells, ", ")))
	if err != nil {
		return err
	}
	defer rows.Close()
	texts := make([]sql.NullString, len(cells))
	for rows.Next() {
		var f fault
		targets := []any{&f.line, &f.lines, &f.ordinal, &f.code, &f.rule, &f.note, &f.found, &f.rest, &f.holes, &f.stray}
		for i := range texts {
			targets = append(targets, &texts[i])
		}
		if err := rows.Scan(targets...); err != nil {
			return err
		}
		f.cells = make([]string, len(texts))
		for i, text := range texts {
			f.cells[i] = text.String
		}
		if err := visit(f); err != nil {
			return err
		}
	}
	return rows.Err()
}

// rejectsWriter writes the rejects CSV, one row for the faults of one row.
type rejectsWriter struct {
	header    *header
	importID  int64
	delimiter byte
	text      []byte
	rows      int64
	last      fault
	columns   []string
	reasons   []string
}

// begin writes the header row: the reject columns, then the file's own as they stand.
func (w *rejectsWriter) begin() {
	w.write(append([]string{rejectImportHeader, rejectLineHeader, rejectColumnHeader, rejectReasonHeader}, w.own(w.header.names)...), -1, "")
}

// add takes one fault; the faults of one row come one after the other.
func (w *rejectsWriter) add(f fault, column, reason string) {
	if len(w.reasons) > 0 && w.last.line != f.line {
		w.flush()
	}
	if len(w.reasons) == 0 {
		w.last = f
	}
	// What a sheet shows in place of a value is none, and must not come back as one.
	if f.code == CodeErrorCell || f.code == CodeNoValue || f.code == CodeDateCell {
		for _, cell := range w.header.sources[f.ordinal] {
			if f.hole(cell) {
				w.last.cells[cell] = ""
			}
		}
	}
	w.reasons = append(w.reasons, reason)
	if column != "" {
		w.columns = append(w.columns, column)
	}
}

// end returns the CSV.
func (w *rejectsWriter) end() []byte {
	w.flush()
	return bytes.Clone(w.text)
}

func (w *rejectsWriter) flush() {
	f := w.last
	cells := f.cells[:min(f.found, len(f.cells))]
	names := []string{fmt.Sprint(w.importID), fmt.Sprint(f.line), strings.Join(w.columns, "; "), strings.Join(w.reasons, "; ")}
	row := append(names, w.own(cells)...)
	at, raw := cutStray(f.stray)
	if at >= 0 {
		at += len(row) - len(cells)
	}
	if further := f.found - len(f.cells); further > 0 {
		row = append(row, furtherCells(f.rest, w.delimiter, further)...)
	}
	w.write(row, at, raw)
	w.columns, w.reasons = nil, nil
	w.rows++
}

// furtherCells are the cells beyond the header row's, so many of them.
func furtherCells(rest string, delimiter byte, count int) []string {
	if rest == "" { // a single blank one
		return make([]string, count)
	}
	frames := newFramer(strings.NewReader(rest))
	frames.delimiter = delimiter
	row, err := frames.next()
	if err != nil {
		return []string{rest}
	}
	cells := make([]string, len(row.cells))
	for i, cell := range row.cells {
		cells[i] = string(cell)
	}
	return cells
}

// own leaves out the cells of reject columns that the file brought along.
func (w *rejectsWriter) own(cells []string) []string {
	var kept []string
	for i, cell := range cells {
		if w.header.columns[i] != rejectHeader {
			kept = append(kept, cell)
		}
	}
	return kept
}

// write writes a row. The cell in which a stray quote stands, if there is one, is written as
// the file has it: the row is no better for having been refused.
func (w *rejectsWriter) write(cells []string, stray int, raw string) {
	marked := make([]string, len(cells))
	for i, cell := range cells {
		marked[i] = formulas.Mark(cell)
	}
	if stray < 0 {
		w.text = append(appendDelimited(w.text, marked, w.delimiter), '\n')
		return
	}
	if marked[stray] != cells[stray] {
		raw = markedStray(raw)
	}
	if stray > 0 {
		w.text = append(appendDelimited(w.text, marked[:stray], w.delimiter), w.delimiter)
	}
	w.text = append(w.text, raw...)
	if further := marked[stray+1:]; len(further) > 0 {
		w.text = appendDelimited(append(w.text, w.delimiter), further, w.delimiter)
	}
	w.text = append(w.text, '\n')
}

// markText puts a byte order mark before a text that needs one: who sent a workbook opens
// the CSV in a spreadsheet, which takes it for UTF-8 by that mark only.
func markText(text []byte) []byte {
	for _, b := range text {
		if b >= utf8.RuneSelf {
			return append([]byte("\ufeff"), text...)
		}
	}
	return text
}

// logRejects writes what was refused into the table rejects.
func (l *landing) logRejects() error {
	r := l.receipt
	if r.ImportID == l.again {
		if err := l.execute("forget the refused rows", "DELETE FROM rejects WHERE import_id = ?", r.ImportID); err != nil {
			return err
		}
	}
	if r.Rejected == 0 {
		return nil
	}
	return l.execute("log the refused rows", `
INSERT INTO rejects (import_id, feed, file_name, line, column_name, value, code, reason, touched_seconds, touched_usd)
WITH numbered AS (
    SELECT *, row_number() OVER (PARTITION BY line ORDER BY column_name, code, reason) AS nth
    FROM landing_rejected
)
SELECT ?, ?, ?, n.line, n.column_name, n.value, n.code, n.reason, t.seconds, t.usd
FROM numbered AS n
LEFT JOIN landing_touched AS t ON t.landing_line = n.line AND n.nth = 1
ORDER BY n.line, n.column_name, n.code`, r.ImportID, r.Feed, r.FileName)
}

// noteTouched keeps, in the temporary table landing_touched, what each refused row stands
// for. A row out of shape says nothing: its cells may stand in the wrong columns.
func (l *landing) noteTouched() error {
	if l.sound {
		return nil
	}
	expression := func(text string) string {
		if text == "" {
			return "NULL"
		}
		return text
	}
	return l.execute("note what refused rows touch", fmt.Sprintf(`
CREATE TEMP TABLE landing_touched AS
SELECT landing_line, (%s)::BIGINT AS seconds, (%s)::DECIMAL(18,2) AS usd
FROM landing_rows
WHERE landing_shape IS NULL AND landing_line IN (SELECT landing_line FROM landing_faults)`,
		expression(l.feed.TouchedSeconds), expression(l.feed.TouchedUSD)))
}
