package warehouse

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"time"

	"trusstally/ingest/plant"
)

// StatementTime is one statement of the ledgers and how long it took.
type StatementTime struct {
	File  string // within sql/
	Line  int    // on which the statement begins
	First string // its first line
	Took  time.Duration
}

// tellTime tells how long a statement took that was begun then; nothing where nobody listens.
func tellTime(told func(StatementTime), file string, one statement, began time.Time) {
	if told != nil {
		first, _, _ := strings.Cut(one.text, "\n")
		told(StatementTime{File: file, Line: one.line, First: first, Took: time.Since(began)})
	}
}

// TimeLedgers is BuildLedgers, statement by statement, and tells how long each took. What
// Go does between them, and files that are repeated, are in none.
func TimeLedgers(ctx context.Context, tx *sql.Tx, settings *plant.Settings, told func(StatementTime)) error {
	return buildLedgers(ctx, tx, settings, func(ctx context.Context, tx *sql.Tx, file string) error {
		if strings.HasSuffix(file, repeated) {
			return runLedgerFile(ctx, tx, file)
		}
		text, err := sqlText(file)
		if err != nil {
			return err
		}
		for _, statement := range statementsOf(text) {
			began := time.Now()
			if _, err := tx.ExecContext(ctx, statement.text); err != nil {
				return fmt.Errorf("sql/%s:%d: %w", file, statement.line, err)
			}
			tellTime(told, file, statement, began)
		}
		return nil
	})
}

// TimeRenewal is RenewLedgers, and tells how long each statement took and what moved the first
// renewed day back.
func TimeRenewal(ctx context.Context, tx *sql.Tx, settings *plant.Settings, newImports []int64, told func(StatementTime)) (time.Time, error) {
	began := time.Now()
	since, reaches, err := renewedSince(ctx, tx, settings, newImports)
	if err != nil {
		return since, err
	}
	told(StatementTime{File: "ledgers/first-day", First: since.Format("2006-01-02") + " " + strings.Join(reaches, ", "), Took: time.Since(began)})
	if since.IsZero() {
		return since, TimeLedgers(ctx, tx, settings, told)
	}
	return since, renewLedgers(ctx, tx, settings, since, told)
}
