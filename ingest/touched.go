package ingest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"trusstally/ingest/problem"
)

// noteTouched keeps, in the temporary table landing_touched, what each refused row stands
// for. A row out of shape says nothing: its cells may stand in the wrong columns.
func (l *landing) noteTouched() error {
	return l.noteTouchedOf("SELECT landing_line FROM landing_faults")
}

// noteTouchedOf is noteTouched for the rows whose lines the SELECT returns.
func (l *landing) noteTouchedOf(lines string, args ...any) error {
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
WHERE landing_shape IS NULL AND landing_line IN (%s)`,
		expression(l.feed.TouchedSeconds), expression(l.feed.TouchedUSD), lines), args...)
}

// Untouched is an import with refused rows of which the warehouse doesn't say what they
// stand for: it was read before rejects had columns for that.
type Untouched struct {
	ImportID    int64
	Feed        Feed
	FileName    string // base name, as it came
	SHA256      string
	ArchiveName string // name of its copy in archive/
}

// ListUntouched returns such imports in order. Imports that are newer than the column
// read_utc, which came later, never are among them.
func ListUntouched(ctx context.Context, tx *sql.Tx) ([]Untouched, error) {
	rows, err := tx.QueryContext(ctx, `
SELECT i.import_id, i.feed, i.file_name, i.sha256, i.archive_name
FROM imports AS i
JOIN rejects AS r USING (import_id)
WHERE i.read_utc IS NULL AND i.undone_utc IS NULL
GROUP BY ALL
HAVING count(r.touched_seconds) = 0 AND count(r.touched_usd) = 0
ORDER BY i.import_id`)
	if err != nil {
		return nil, fmt.Errorf("list imports of an older version: %w", err)
	}
	defer rows.Close()
	var list []Untouched
	for rows.Next() {
		var u Untouched
		var name string
		if err := rows.Scan(&u.ImportID, &name, &u.FileName, &u.SHA256, &u.ArchiveName); err != nil {
			return nil, err
		}
		feed, known := FeedByName(name)
		if known && (feed.TouchedSeconds != "" || feed.TouchedUSD != "") {
			u.Feed = feed
			list = append(list, u)
		}
	}
	return list, rows.Err()
}

// FillTouched reads the copy of the file at path again and notes, inside tx, what its refused
// rows stand for, as reading it today would. A copy that is gone, or that plant.toml has no
// reading for any more, leaves them unknown and is no error.
func FillTouched(ctx context.Context, tx *sql.Tx, u Untouched, path string, opts Options) error {
	var refused problem.List
	if err := (Copy{Name: u.FileName, SHA256: u.SHA256, Path: path}).Verify(); err != nil {
		if errors.As(err, &refused) {
			return nil
		}
		return err
	}
	from, err := openNamed(path, u.FileName, opts.Reading.encoding())
	if err != nil {
		if errors.As(err, &refused) {
			return nil
		}
		return err
	}
	defer from.file.Close()
	l := &landing{ctx: ctx, tx: tx, feed: u.Feed, opts: opts, source: from, receipt: &Receipt{Feed: u.Feed.Name, FileName: from.name, SHA256: from.sha256}}
	err = l.fillTouched(u.ImportID)
	if err != nil && !errors.As(err, &refused) {
		return err
	}
	return l.dropTables()
}

func (l *landing) fillTouched(importID int64) error {
	if err := l.stage(); err != nil {
		return err
	}
	if err := l.typeCells(); err != nil {
		return err
	}
	if err := l.noteTouchedOf("SELECT line FROM rejects WHERE import_id = ?", importID); err != nil {
		return err
	}
	// As logRejects has it: said once a row, on its first fault.
	return l.execute("note what refused rows touch", `
UPDATE rejects
SET touched_seconds = t.seconds, touched_usd = t.usd
FROM landing_touched AS t
WHERE rejects.import_id = ? AND t.landing_line = rejects.line
    AND rejects.rowid IN (
        SELECT r.rowid
        FROM rejects AS r
        WHERE r.import_id = ?
        QUALIFY row_number() OVER (PARTITION BY r.line ORDER BY r.column_name, r.code, r.reason) = 1
    )`, importID, importID)
}
