package warehouse

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"time"
)

// KeepJobs works out once, on this connection, what many sheets of one period ask of the jobs:
// job_position at its first day and at the day after its last, and job_bridge at the latter.
// From here on these macros read what is kept, and refuse any other day: run the checks, which
// ask for others, before. Nothing is written to the file.
func (w *Warehouse) KeepJobs(ctx context.Context, from, until time.Time) error {
	days := []any{sql.Named("from", from.Format(time.DateOnly)), sql.Named("until", until.Format(time.DateOnly))}
	// grain: one day for which something is kept
	if _, err := w.DB.ExecContext(ctx, "CREATE TEMP TABLE kept_days AS SELECT unnest([$from::DATE, $until::DATE]) AS day", days...); err != nil {
		return err
	}
	for _, file := range filesIn("kept") {
		text, err := sqlText(file)
		if err != nil {
			return err
		}
		arguments := days
		if strings.HasSuffix(file, ".macro.sql") {
			arguments = nil
		}
		if _, err := w.DB.ExecContext(ctx, text, arguments...); err != nil {
			return fmt.Errorf("sql/%s: %w", file, err)
		}
	}
	return nil
}
