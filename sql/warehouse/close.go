package warehouse

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

// Closing is what closing a month froze, or what opening it again gives back.
type Closing struct {
	Month       string // 2026-10
	Until       time.Time
	Postings    int64 // of the dollar ledger
	Movements   int64 // of the board ledger
	Corrections int64 // postings that correct closed months, on the day after the last closed one
}

// ClosedUntil returns the day after the last closed month; false when none is closed.
func ClosedUntil(ctx context.Context, from Queryer) (time.Time, bool, error) {
	var until sql.NullTime
	err := from.QueryRowContext(ctx, "SELECT max(until_on) FROM closed_months").Scan(&until)
	return until.Time, until.Valid, err
}

// CloseMonth freezes the postings of the month that ends before until, and of everything
// before it that is still open, and builds the ledgers anew. It notes that the month-end book
// is owed. A month that is closed already, or comes before one that is, is a problem.List.
func CloseMonth(ctx context.Context, tx *sql.Tx, settings *plant.Settings, month, until time.Time) (*Closing, error) {
	closed, any, err := ClosedUntil(ctx, tx)
	if err != nil {
		return nil, err
	}
	if any && !until.After(closed) {
		return nil, problem.List{{What: fmt.Sprintf("%s is closed already: the last closed month ends before %s", month.Format("2006-01"), closed.Format("2006-01-02")), Code: CodeAlreadyClosed, Usage: true,
			Hint: "trusstally close --undo opens the last closed month again"}}
	}
	c := &Closing{Month: month.Format("2006-01"), Until: until}
	if !any {
		closed = time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	for _, statement := range []struct {
		text  string
		count *int64
	}{
		{`INSERT INTO closed_dollars
SELECT ?::DATE, posted_on, original_on, occurred_on, class, pool, job, usd_to_cents(usd), feed, import_id, line, remake
FROM dollar_ledger WHERE posted_on >= ?::DATE AND posted_on < ?::DATE`, &c.Postings},
		{`INSERT INTO closed_boards
SELECT ?::DATE, moved_on, original_on, moved_at, size, species, grade, length_16ths, boards, usd_to_cents(usd), kind, job, batch, station, vendor, document,
    layer_import_id, layer_line, import_id, line, for_grade, unpriced
FROM board_ledger WHERE moved_on >= ?::DATE AND moved_on < ?::DATE`, &c.Movements},
	} {
		result, err := tx.ExecContext(ctx, statement.text, month, closed, until)
		if err != nil {
			return nil, err
		}
		if *statement.count, err = result.RowsAffected(); err != nil {
			return nil, err
		}
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO closed_job_stock SELECT ?::DATE, ?::DATE, job, class, cents, wip_cents, finished_cents, sold_cents FROM job_stock(?::DATE)`, month, until, until); err != nil {
		return nil, err
	}
	if _, err := tx.ExecContext(ctx, `
INSERT INTO closed_months (month, until_on, book_written, last_import_id)
SELECT ?::DATE, ?::DATE, false, coalesce(max(import_id), 0) FROM imports`, month, until); err != nil {
		return nil, err
	}
	return c, BuildLedgers(ctx, tx, settings)
}

// UndoClose opens the last closed month again: its postings are what they would be now, and
// what corrected it goes back into it. Without a closed month it is a problem.List.
func UndoClose(ctx context.Context, tx *sql.Tx, settings *plant.Settings) (*Closing, error) {
	until, any, err := ClosedUntil(ctx, tx)
	if err != nil {
		return nil, err
	}
	if !any {
		return nil, problem.List{{What: "no month is closed", Code: CodeNothingClosed, Usage: true, Hint: "trusstally close 2026-10 closes October 2026"}}
	}
	c := &Closing{Until: until}
	var month time.Time
	if err := tx.QueryRowContext(ctx, "SELECT month FROM closed_months WHERE until_on = ?::DATE", until).Scan(&month); err != nil {
		return nil, err
	}
	c.Month = month.Format("2006-01")
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM dollar_ledger WHERE posted_on = ?::DATE AND original_on < posted_on", until).Scan(&c.Corrections); err != nil {
		return nil, err
	}
	var rest int64
	for _, frozen := range []struct {
		table string
		rows  *int64
	}{{"closed_dollars", &c.Postings}, {"closed_boards", &c.Movements}, {"closed_job_stock", &rest}, {"closed_months", &rest}} {
		result, err := tx.ExecContext(ctx, "DELETE FROM "+frozen.table+" WHERE month = ?::DATE", month)
		if err != nil {
			return nil, err
		}
		if *frozen.rows, err = result.RowsAffected(); err != nil {
			return nil, err
		}
	}
	return c, BuildLedgers(ctx, tx, settings)
}

// OwedBooks returns the closed months whose month-end book was not written, which a closing
// that was cut short leaves behind, oldest first.
func OwedBooks(ctx context.Context, from *sql.DB) ([]Closing, error) {
	rows, err := from.QueryContext(ctx, `
SELECT strftime(c.month, '%Y-%m'), c.until_on,
    (SELECT count(*) FROM closed_dollars AS d WHERE d.month = c.month),
    (SELECT count(*) FROM closed_boards AS b WHERE b.month = c.month)
FROM closed_months AS c
WHERE NOT c.book_written
ORDER BY c.month`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var owed []Closing
	for rows.Next() {
		var c Closing
		if err := rows.Scan(&c.Month, &c.Until, &c.Postings, &c.Movements); err != nil {
			return nil, err
		}
		owed = append(owed, c)
	}
	return owed, rows.Err()
}

// BookWritten notes that the month-end book of the closing is there.
func BookWritten(ctx context.Context, to *sql.DB, closing Closing) error {
	_, err := to.ExecContext(ctx, "UPDATE closed_months SET book_written = true WHERE until_on = ?::DATE", closing.Until)
	return err
}
