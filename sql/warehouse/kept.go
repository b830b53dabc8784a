package warehouse

import (
	"context"
	"database/sql"
	"time"
)

// KeepJobs works out once, on this connection, what many sheets ask of the jobs: job_position
// on each of the days, which are the first days of the sheets' periods and those after their
// last. From here on the macro reads what is kept, and refuses any other day: run the checks,
// which ask for others, before. Nothing is written to the file.
func (w *Warehouse) KeepJobs(ctx context.Context, days ...time.Time) error {
	if err := w.keep(ctx, "10_job_position.sql"); err != nil {
		return err
	}
	kept := map[string]bool{}
	for _, day := range days {
		text := day.Format(time.DateOnly)
		if kept[text] {
			continue
		}
		kept[text] = true
		if err := w.keep(ctx, "11_job_position.day.sql", sql.Named("day", text)); err != nil {
			return err
		}
		if _, err := w.DB.ExecContext(ctx, "INSERT INTO temp.kept_days VALUES ($day::DATE)", sql.Named("day", text)); err != nil {
			return err
		}
	}
	return w.keep(ctx, "12_job_position.macro.sql")
}

// keep runs a file of sql/kept.
func (w *Warehouse) keep(ctx context.Context, name string, arguments ...any) error {
	text, err := sqlText("kept/" + name)
	if err != nil {
		return err
	}
	_, err = w.DB.ExecContext(ctx, text, arguments...)
	return err
}
