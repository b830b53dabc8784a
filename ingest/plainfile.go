package ingest

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// plainFile is a text whose every line is one row of well-formed cells, copied for the
// engine to read by itself: on all cores, and without a row of it in Go. What the engine
// reads is exactly what was hashed, whatever becomes of the file meanwhile.
type plainFile struct {
	path   string // of the copy; for its owner alone, as it may hold pay
	rows   int64  // after the header row
	survey *textSurvey
	first  int64 // number that the engine gives to the first row, set when they were read
	kept   bool  // landing_text is made
}

// remove takes the copy away.
func (p *plainFile) remove() {
	if p != nil {
		os.Remove(p.path)
	}
}

// mayBePlain says whether the engine could read the rows by itself, as far as the header row
// and plant.toml tell: every cell as it stands, and every line a row.
func (l *landing) mayBePlain(aside *setAside) bool {
	return l.source.book == nil && l.reader == nil && aside == nil && !l.opts.Reading.namesHeaderRow() &&
		l.header.line == 1 && !l.header.rejects && !l.header.ofRejects()
}

// copyPlain copies the text into a temporary file while it looks it through. It returns nil
// where only the framer can tell the rows of the text.
func (l *landing) copyPlain() (*plainFile, error) {
	text, err := l.source.text()
	if err != nil {
		return nil, err
	}
	file, err := os.CreateTemp(l.opts.TempDir, "trusstally-*.csv")
	if err != nil {
		return nil, fmt.Errorf("make a temporary file: %w", err)
	}
	p := &plainFile{path: file.Name(), survey: newTextSurvey(l.opts.Reading.delimiter())}
	err = p.fill(file, text, l.source)
	if closing := file.Close(); err == nil && closing != nil {
		err = fmt.Errorf("write a temporary file: %w", closing)
	}
	var known bool
	if p.rows, known = p.survey.rows(len(l.header.names)); err != nil || !known {
		p.remove()
		return nil, err
	}
	return p, nil
}

// fill writes the text to file. It stops where the text turns out to be no plain one.
func (p *plainFile) fill(file *os.File, text io.Reader, from *source) error {
	part := make([]byte, surveyPart)
	for {
		n, err := io.ReadFull(text, part)
		p.survey.observe(part[:n])
		if p.survey.odd {
			return nil
		}
		if _, err := file.Write(part[:n]); err != nil {
			return fmt.Errorf("write a temporary file: %w", err)
		}
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			return from.unchanged()
		case err != nil:
			return cannotRead(from.name, err)
		}
	}
}

// reading is SQL for the cells of the copy as texts, c1, c2 and so on, blank ones NULL. A row
// that the engine will not take for one of so many cells is left out, and missed by its
// number; an error would end the transaction.
func (p *plainFile) reading(cells int, delimiter byte) string {
	columns := make([]string, cells)
	for i := range columns {
		columns[i] = quoteText(cellName(i)) + ": 'VARCHAR'"
	}
	quote, newline := "", `\n`
	if p.survey.quoted {
		quote = `"`
	}
	if p.survey.returns > 0 {
		newline = `\r\n`
	}
	return fmt.Sprintf(`read_csv(%s, auto_detect = false, header = true, delim = %s, quote = '%[3]s', escape = '%[3]s', new_line = '%[4]s', nullstr = '',
        strict_mode = true, ignore_errors = true, max_line_size = %[5]d, buffer_size = %[6]d, columns = {%[7]s})`,
		quoteText(p.path), quoteText(string(delimiter)), quote, newline, 2*longestRow, plainBuffer, strings.Join(columns, ", "))
}

// plainBuffer is how much of a plain file one thread reads at a time: several of the longest
// rows, and small enough that every core gets a part of a file of a few megabytes.
const plainBuffer = 8 * longestRow

// number finds out which numbers the engine gave to the rows of a table that reading filled.
// ok is false where it did not take every line for a row.
func (p *plainFile) number(ctx context.Context, l *landing, table string) (ok bool, err error) {
	var rows, first, last int64
	query := fmt.Sprintf("SELECT count(*), coalesce(min(rowid), 0), coalesce(max(rowid), -1) FROM temp.%s", table)
	if err := l.tx.QueryRowContext(ctx, query).Scan(&rows, &first, &last); err != nil {
		return false, fmt.Errorf("count %s: %w", table, err)
	}
	if rows == p.rows && last-first+1 != rows {
		return false, fmt.Errorf("read %s: %d rows are numbered from %d to %d", l.source.name, rows, first, last)
	}
	p.first = first
	return rows == p.rows, nil
}

// line is SQL over a table t that reading filled for the line of a row. Rows keep the order
// of their lines, and the header row is the first.
func (p *plainFile) line() string { return fmt.Sprintf("t.rowid - %d", p.first-2) }

// trimmed is SQL for a cell of a plain file without blanks around it. To look for all kinds
// of blanks costs more than all else that is done with a cell.
func (p *plainFile) trimmed(cell int) string {
	name := cellName(cell)
	switch {
	case p.survey.rare:
		return fmt.Sprintf("nullif(trim(%s, %s), '')", name, quoteText(blanks))
	case p.survey.padded():
		return fmt.Sprintf("nullif(CASE WHEN starts_with(%[1]s, ' ') OR ends_with(%[1]s, ' ') THEN trim(%[1]s, ' ') ELSE %[1]s END, '')", name)
	}
	return name
}

// keepTexts makes landing_text of a plain file, which has none while nothing is wrong with
// its rows: it is for messages and for rejects/.
func (l *landing) keepTexts() error {
	if l.plain == nil || l.plain.kept {
		return nil
	}
	names := len(l.header.names)
	if err := l.execute("keep the cells as they stand", "CREATE TEMP TABLE landing_cells AS SELECT * FROM "+l.plain.reading(names, l.opts.Reading.delimiter())); err != nil {
		return err
	}
	texts := *l.plain
	if ok, err := texts.number(l.ctx, l, "landing_cells"); err != nil {
		return err
	} else if !ok {
		return fmt.Errorf("read %s once more: the rows are not those of before", l.source.name)
	}
	cells := make([]string, names)
	for i := range cells {
		cells[i] = fmt.Sprintf("%s AS %s", texts.trimmed(i), cellName(i))
	}
	l.plain.kept = true
	return l.makeView("landing_text", fmt.Sprintf(`
SELECT %s AS landing_line, 1::BIGINT AS landing_lines, %d::BIGINT AS landing_cells, CAST(NULL AS VARCHAR) AS landing_shape, CAST(NULL AS VARCHAR) AS landing_rest,
    CAST(NULL AS VARCHAR) AS landing_holes, CAST(NULL AS VARCHAR) AS landing_stray, %s
FROM temp.landing_cells AS t`, texts.line(), names, strings.Join(cells, ", ")))
}
