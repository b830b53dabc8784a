package ingest

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"os"
	"strconv"
	"strings"
)

// bulkColumn is a column of a temporary table that is filled from Go.
type bulkColumn struct{ name, sqlType string }

// bulk carries rows from Go into a temporary table by way of a temporary CSV file, which
// the engine reads many times faster than it takes inserts. The file may hold pay: it is
// made for its owner alone, and removed by close.
type bulk struct {
	file     *os.File
	out      *bufio.Writer
	row      []byte
	rows     int64
	newlines bool // some cell holds a line end
}

// longestBulkRow is the engine's limit for one line of the temporary file: a row at its
// longest with every byte of it doubled by quoting, twice over, and a cell with a stray quote
// likewise once more.
const longestBulkRow = 12 * longestRow

// newBulk makes the temporary file in folder, or in the system's own when folder is "".
func newBulk(folder string) (*bulk, error) {
	file, err := os.CreateTemp(folder, "trusstally-*.csv")
	if err != nil {
		return nil, fmt.Errorf("make a temporary file: %w", err)
	}
	return &bulk{file: file, out: bufio.NewWriterSize(file, 256<<10)}, nil
}

// cell adds one cell to the row in hand. A blank one is NULL in the table.
func (b *bulk) cell(text []byte) {
	if bytes.IndexByte(text, '\n') >= 0 {
		b.newlines = true
	}
	b.row = append(appendCell(b.row, text), ',')
}

// number adds a whole number to the row in hand.
func (b *bulk) number(n int64) {
	b.row = append(strconv.AppendInt(b.row, n, 10), ',')
}

// endRow writes the row in hand.
func (b *bulk) endRow() error {
	b.row[len(b.row)-1] = '\n'
	_, err := b.out.Write(b.row)
	b.row = b.row[:0]
	b.rows++
	return err
}

// load makes the temporary table and fills it. It fails unless every row arrived.
func (b *bulk) load(ctx context.Context, tx *sql.Tx, table string, columns []bulkColumn) error {
	if err := b.out.Flush(); err != nil {
		return fmt.Errorf("write a temporary file: %w", err)
	}
	types := make([]string, len(columns))
	for i, c := range columns {
		types[i] = quoteText(c.name) + ": " + quoteText(c.sqlType)
	}
	// Only one thread may read a file whose cells hold line ends: where a thread starts in
	// the middle of the file, it could take the inside of such a cell for a row.
	load := fmt.Sprintf(`
CREATE TEMP TABLE %s AS
SELECT *
FROM read_csv(?, auto_detect = false, header = false, delim = ',', quote = '"', escape = '"', new_line = '\n',
    nullstr = '', strict_mode = true, parallel = %t, max_line_size = %d, store_rejects = true,
    rejects_table = 'landing_reject_errors', rejects_scan = 'landing_reject_scans',
    columns = {%s})`, table, !b.newlines, longestBulkRow, strings.Join(types, ", "))
	if _, err := tx.ExecContext(ctx, load, b.file.Name()); err != nil {
		return fmt.Errorf("load %s: %w", table, err)
	}
	if _, err := tx.ExecContext(ctx, "DROP TABLE IF EXISTS temp.landing_reject_errors; DROP TABLE IF EXISTS temp.landing_reject_scans"); err != nil {
		return fmt.Errorf("drop what the engine noted of %s: %w", table, err)
	}
	var loaded int64
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM temp."+table).Scan(&loaded); err != nil {
		return fmt.Errorf("count %s: %w", table, err)
	}
	if loaded != b.rows {
		return fmt.Errorf("load %s: %d of %d rows arrived", table, loaded, b.rows)
	}
	return nil
}

// close removes the temporary file.
func (b *bulk) close() {
	b.file.Close()
	os.Remove(b.file.Name())
}
