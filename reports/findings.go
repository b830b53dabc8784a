package reports

import (
	"context"
	"database/sql"
	"fmt"
	"iter"
)

// findingsTable is where the front sheet of a book reads its findings.
// grain: one finding of one book and period
const findingsTable = `CREATE TEMP TABLE IF NOT EXISTS book_findings (
    book VARCHAR, from_day DATE, until_day DATE, place INTEGER, item VARCHAR, detail VARCHAR, sheet_row VARCHAR,
    rows HUGEINT, people_min DECIMAL(18,2), amount_usd DECIMAL(38,2))`

// findingsOf is the SELECT of each book's findings. The front sheet of a book is planned and
// run with its own alone.
var findingsOf = map[string]string{
	"job-margin":   "SELECT place, item, detail, sheet_row, rows, people_min, amount_usd FROM job_margin_findings($from::DATE, $until::DATE)",
	"lumber-yield": "SELECT place, item, detail, sheet_row, rows, people_min, amount_usd FROM lumber_yield_findings($from::DATE, $until::DATE)",
	"crews-shifts": "SELECT place, item, detail, sheet_row, rows, people_min, amount_usd FROM crews_shifts_findings($from::DATE, $until::DATE)",
	"month-end":    "SELECT place, item, detail, sheet_row, rows, people_min, amount_usd FROM month_end_findings($from::DATE, $until::DATE)",
}

// makeFindingsTable makes the temporary table, empty, where it isn't there.
func makeFindingsTable(ctx context.Context, from Source) error {
	_, err := from.DB.ExecContext(ctx, findingsTable)
	return err
}

// fillFindings puts the book's findings of the period where its front sheet reads them.
func (b *Book) fillFindings(ctx context.Context, from Source, period Period) error {
	if _, err := from.DB.ExecContext(ctx, "DELETE FROM temp.book_findings WHERE book = ?", b.Name); err != nil {
		return err
	}
	text, known := findingsOf[b.Name]
	if !known {
		return nil
	}
	_, err := from.DB.ExecContext(ctx, "INSERT INTO temp.book_findings SELECT $book, $from::DATE, $until::DATE, f.* FROM ("+text+") AS f",
		sql.Named("book", b.Name), sql.Named("from", day(period.From)), sql.Named("until", day(period.Until)))
	if err != nil {
		return fmt.Errorf("findings of %s: %w", b.Name, err)
	}
	return nil
}

// frontRows is the front sheet's rows, after its findings were worked out.
func (b *Book) frontRows(ctx context.Context, from Source, period Period) iter.Seq2[[]any, error] {
	rows := b.front.rows(ctx, from, period)
	return func(yield func([]any, error) bool) {
		if b.front.shown.of(period) {
			rows(yield)
			return
		}
		if err := b.fillFindings(ctx, from, period); err != nil {
			yield(nil, err)
			return
		}
		rows(yield)
	}
}
