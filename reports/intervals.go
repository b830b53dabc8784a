package reports

import (
	"context"
	"fmt"

	"trusstally/reports/compare"
)

// needsIntervals is what a header line `needs: intervals` says: the sheet reads
// incident_intervals, which FillIntervals makes.
const needsIntervals = "intervals"

// intervalConfidence is how sure the interval of an incident rate is.
const intervalConfidence = 0.95

// NeedsIntervals says whether a sheet of the book reads the intervals of case counts.
func (b *Book) NeedsIntervals() bool {
	for _, d := range b.Sheets {
		if d.Needs == needsIntervals {
			return true
		}
	}
	return false
}

// FillIntervals puts the exact Poisson interval of every number of cases that the warehouse
// can count into the temporary table incident_intervals of this connection: cases, low and
// high, both in cases.
func FillIntervals(ctx context.Context, from Source) error {
	// grain: one number of cases
	const table = "CREATE OR REPLACE TEMP TABLE incident_intervals (cases BIGINT, low DOUBLE, high DOUBLE)"
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
	rows := make([]string, 0, most+1)
	for cases := range int(most) + 1 {
		low, high := compare.PoissonInterval(cases, intervalConfidence)
		rows = append(rows, fmt.Sprintf("(%d, %.17g, %.17g)", cases, low, high))
	}
	return from.FillTemporary(ctx, "incident_intervals", rows)
}
