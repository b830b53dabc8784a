package reports

import (
	"context"
	"database/sql"
)

// needsBridge is what a header line `needs: bridge` says: the sheet reads period_jobs or
// period_bridge, which FillBridge makes.
const needsBridge = "bridge"

// bridgeTables are the temporary tables of FillBridge. They say for which period they are:
// a sheet of another one finds no rows in them.
var bridgeTables = []string{
	// grain: one job of bridged_jobs(from_day, until_day)
	`CREATE TEMP TABLE IF NOT EXISTS period_jobs (
    from_day DATE, until_day DATE, job VARCHAR, customer VARCHAR, basis VARCHAR, margin_cents BIGINT, without_overhead BOOLEAN, actual_usd DECIMAL(18,2))`,
	// grain: one row of period_jobs and term of its bridge
	`CREATE TEMP TABLE IF NOT EXISTS period_bridge (
    from_day DATE, until_day DATE, job VARCHAR, place INTEGER, term VARCHAR, cents BIGINT)`,
}

// Each is filled once a period: the bridge of a job goes through all boards and minutes of all
// jobs, and three sheets and the front sheet show it.
const fillPeriodJobs = `INSERT INTO temp.period_jobs
SELECT $from::DATE, $until::DATE, b.job, b.customer, b.basis, b.margin_cents, b.without_overhead, b.actual_usd
FROM bridged_jobs($from::DATE, $until::DATE) AS b`

const fillPeriodBridge = `INSERT INTO temp.period_bridge
SELECT s.from_day, s.until_day, b.job, b.place, b.term, b.cents
FROM job_bridge($until::DATE) AS b
JOIN temp.period_jobs AS s ON s.job = b.job`

// makeBridgeTables makes the temporary tables, empty, where they are not there.
func makeBridgeTables(ctx context.Context, from Source) error {
	for _, table := range bridgeTables {
		if _, err := from.DB.ExecContext(ctx, table); err != nil {
			return err
		}
	}
	return nil
}

// FillBridge puts the period's bridged jobs and the terms of their bridges where the sheets
// read them: the temporary tables of this connection.
func FillBridge(ctx context.Context, from Source, period Period) error {
	if err := makeBridgeTables(ctx, from); err != nil {
		return err
	}
	for _, table := range []string{"period_jobs", "period_bridge"} {
		if _, err := from.DB.ExecContext(ctx, "DELETE FROM temp."+table); err != nil {
			return err
		}
	}
	first, until := sql.Named("from", day(period.From)), sql.Named("until", day(period.Until))
	if _, err := from.DB.ExecContext(ctx, fillPeriodJobs, first, until); err != nil {
		return err
	}
	_, err := from.DB.ExecContext(ctx, fillPeriodBridge, until)
	return err
}
