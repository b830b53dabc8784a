package reports

import (
	"context"

	"trusstally/reports/compare"
)

// needsIntervals is what a header line `needs: intervals` says: the sheet reads
// incident_intervals, which FillIntervals makes.
const needsIntervals = "intervals"

// intervalConfidence is how sure the interval of an incident rate is.
const intervalConfidence = 0.95

// FillIntervals puts the exact Poisson interval of every number of cases that the warehouse
// can count into the temporary table incident_intervals of this connection: cases, low and
// high, both in cases.
func FillIntervals(ctx context.Context, from Source) error {
	// grain: one number of cases
	const table = "CREATE TEMP TABLE IF NOT EXISTS incident_intervals (cases BIGINT, low DOUBLE, high DOUBLE)"
	if _, err := from.DB.ExecContext(ctx, table); err != nil {
		return err
	}
	most := int64(0)
	err := from.Query(ctx, "SELECT count(*) FROM incidents WHERE recordable = 'yes'", nil, nil, func(row []any) error {
		most = number(row[0])
		return nil
	})
	if err != nil {
		return err
	}
	rows := temporaryRows{}
	for cases := range most + 1 {
		interval := compare.PoissonInterval(cases, intervalConfidence)
		rows.add("incident_intervals", cases, decimal(interval.Low, 12), decimal(interval.High, 12))
	}
	return rows.store(ctx, from, []string{"incident_intervals"})
}
