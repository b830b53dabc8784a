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
	if err := freezeOverhead(ctx, tx, month, until); err != nil {
		return nil, err
	}
	if err := freezePositions(ctx, tx, month, until); err != nil {
		return nil, err
	}
	if _, err := tx.ExecContext(ctx, `
INSERT INTO closed_months (month, until_on, book_written, last_import_id)
SELECT ?::DATE, ?::DATE, false, coalesce(max(import_id), 0) FROM imports`, month, until); err != nil {
		return nil, err
	}
	return c, BuildLedgers(ctx, tx, settings)
}

// freezeOverhead keeps the hours that overhead was applied for, the budgets and the rate of
// what isn't frozen yet before until.
func freezeOverhead(ctx context.Context, tx *sql.Tx, month, until time.Time) error {
	for _, text := range []string{
		`INSERT INTO closed_run_days
SELECT ?::DATE, posted_on, original_on, seconds FROM steps.run_days
WHERE posted_on < ?::DATE AND posted_on >= (SELECT coalesce(max(until_on), DATE '1900-01-01') FROM closed_positions)`,
		`INSERT INTO closed_budgets
SELECT ?::DATE, for_month, pool, cents, overhead_per_hour_e4 FROM steps.overhead_budgets
WHERE for_month < ?::DATE AND for_month >= (SELECT coalesce(max(until_on), DATE '1900-01-01') FROM closed_positions)`,
	} {
		if _, err := tx.ExecContext(ctx, text, month, until); err != nil {
			return err
		}
	}
	return nil
}

// freezePositions keeps the balances at the start and the end of every month up to until with
// anything in it: where the cost of each job stood, which jobs had left, and what was received
// and not invoiced. What an earlier closing kept stays.
func freezePositions(ctx context.Context, tx *sql.Tx, month, until time.Time) error {
	rows, err := tx.QueryContext(ctx, `
WITH months AS (
    SELECT date_trunc('month', posted_on)::DATE AS first_day FROM dollar_ledger
    UNION
    SELECT date_trunc('month', moved_on)::DATE FROM board_ledger
    UNION
    SELECT ?::DATE
),
edges AS (
    SELECT first_day AS until_on FROM months
    UNION
    SELECT (first_day + INTERVAL 1 MONTH)::DATE FROM months
)
SELECT until_on FROM edges
WHERE until_on <= ?::DATE AND until_on NOT IN (SELECT until_on FROM closed_positions)
ORDER BY until_on`, month, until)
	if err != nil {
		return err
	}
	defer rows.Close()
	var edges []time.Time
	for rows.Next() {
		var edge time.Time
		if err := rows.Scan(&edge); err != nil {
			return err
		}
		edges = append(edges, edge)
	}
	if err := rows.Err(); err != nil {
		return err
	}
	// Each macro also reads the table that it fills: what it finds has to stand before the
	// first row goes in.
	for _, edge := range edges {
		for _, text := range []string{
			`INSERT INTO closed_job_stock
WITH rows AS MATERIALIZED (SELECT * FROM job_stock($2::DATE) WHERE NOT EXISTS (SELECT 1 FROM closed_job_stock WHERE until_on = $2::DATE))
SELECT $1::DATE, $2::DATE, job, class, cents, wip_cents, finished_cents, sold_cents FROM rows`,
			`INSERT INTO closed_left_jobs
WITH rows AS MATERIALIZED (SELECT * FROM left_jobs($2::DATE))
SELECT $1::DATE, $2::DATE, job, sold_on, was_cancelled FROM rows`,
			`INSERT INTO closed_accruals
WITH rows AS MATERIALIZED (SELECT * FROM received_not_invoiced($2::DATE))
SELECT $1::DATE, $2::DATE, vendor, document, line, received_on, size, species, grade, length_16ths, boards, cents, priced_by FROM rows`,
			`INSERT INTO closed_job_bases
WITH rows AS MATERIALIZED (SELECT * FROM job_basis($2::DATE))
SELECT $1::DATE, $2::DATE, job, basis FROM rows`,
			`INSERT INTO closed_positions VALUES ($1::DATE, $2::DATE, true)`,
		} {
			if _, err := tx.ExecContext(ctx, text, month, edge); err != nil {
				return err
			}
		}
	}
	return nil
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
	}{{"closed_dollars", &c.Postings}, {"closed_boards", &c.Movements}, {"closed_job_stock", &rest}, {"closed_left_jobs", &rest}, {"closed_accruals", &rest}, {"closed_job_bases", &rest},
		{"closed_run_days", &rest}, {"closed_budgets", &rest}, {"closed_positions", &rest}, {"closed_months", &rest}} {
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
