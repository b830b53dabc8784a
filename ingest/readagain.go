package ingest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"trusstally/ingest/problem"
)

// Older is an import whose file is to be read again, since the version that read it did not
// note what today's notes of refused rows: what they stand for, and which file settled them.
type Older struct {
	ImportID    int64
	Feed        Feed
	FileName    string // base name, as it came
	SHA256      string
	ArchiveName string // name of its copy in archive/
}

// ListOlder returns such imports in the order of reading.
func ListOlder(ctx context.Context, tx *sql.Tx) ([]Older, error) {
	rows, err := tx.QueryContext(ctx, "SELECT import_id, feed, file_name, sha256, archive_name FROM imports WHERE read_again ORDER BY import_id")
	if err != nil {
		return nil, fmt.Errorf("list imports of an older version: %w", err)
	}
	defer rows.Close()
	var list []Older
	for rows.Next() {
		var o Older
		var name string
		if err := rows.Scan(&o.ImportID, &name, &o.FileName, &o.SHA256, &o.ArchiveName); err != nil {
			return nil, err
		}
		var known bool
		if o.Feed, known = FeedByName(name); known {
			list = append(list, o)
		}
	}
	return list, rows.Err()
}

// ReadAgain reads the file's copy at path and notes inside tx what landing it today would note
// of refused rows; rows and counts stay as they are. Imports are given in the order in which
// they were read, each once. A copy that is gone, or that plant.toml has no reading for any
// more, leaves its refused rows unknown and open, and is no error.
func ReadAgain(ctx context.Context, tx *sql.Tx, o Older, path string, opts Options) error {
	l := &landing{ctx: ctx, tx: tx, feed: o.Feed, opts: opts, receipt: &Receipt{ImportID: o.ImportID, Feed: o.Feed.Name, FileName: o.FileName, SHA256: o.SHA256}}
	var refused problem.List
	if err := l.readAgain(path); err != nil && !errors.As(err, &refused) {
		return err
	}
	if l.source != nil {
		defer l.close()
		if err := l.dropTables(); err != nil {
			return err
		}
	}
	_, err := tx.ExecContext(ctx, "UPDATE imports SET read_again = false WHERE import_id = ?", o.ImportID)
	return err
}

func (l *landing) readAgain(path string) error {
	if err := (Copy{Name: l.receipt.FileName, SHA256: l.receipt.SHA256, Path: path}).Verify(); err != nil {
		return err
	}
	source, err := openNamed(path, l.receipt.FileName, l.opts.Reading.encoding())
	if err != nil {
		return err
	}
	l.source = source
	for _, step := range []func() error{l.stage, l.typeCells, l.applyRules, l.refuseRepeatedKeys, l.refuseWith, l.noteTouched} {
		if err := step(); err != nil {
			return err
		}
	}
	if l.receipt.Rejected, err = l.count("SELECT count(DISTINCT landing_line) FROM landing_faults"); err != nil {
		return err
	}
	if l.receipt.Rejected > 0 {
		if err := l.noteRefused(); err != nil {
			return err
		}
		if err := l.noteAgain(); err != nil {
			return err
		}
	}
	if _, err := l.keepGood(); err != nil {
		return err
	}
	return l.settleReplaced()
}

// noteAgain writes what refused rows stand for and what keys they have.
func (l *landing) noteAgain() error {
	// As logRejects has it: said once a row, on its first fault.
	err := l.execute("note what refused rows touch", `
UPDATE rejects
SET touched_seconds = t.seconds, touched_usd = t.usd
FROM landing_touched AS t
WHERE rejects.import_id = ? AND t.landing_line = rejects.line
    AND rejects.rowid IN (
        SELECT r.rowid
        FROM rejects AS r
        WHERE r.import_id = ?
        QUALIFY row_number() OVER (PARTITION BY r.line ORDER BY r.column_name, r.code, r.reason) = 1
    )`, l.receipt.ImportID, l.receipt.ImportID)
	if err != nil {
		return err
	}
	return l.execute("note the keys of refused rows", `
UPDATE refused_rows
SET row_key = n.row_key
FROM landing_refused AS n
WHERE refused_rows.import_id = ? AND n.landing_line = refused_rows.line AND refused_rows.row_key IS NULL`, l.receipt.ImportID)
}
