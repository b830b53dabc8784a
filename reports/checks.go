package reports

import (
	"context"

	"trusstally/sql/warehouse"
)

// KeepChecks runs every check and keeps how many rows each found wrong where the front and
// checks sheets read it: the temporary table check_results of this connection. Where no
// cutting plans, bridges or comparisons were worked out, their tables are there and empty. It also
// makes the macros of the front sheet's findings, which read these tables.
func KeepChecks(ctx context.Context, from Source) ([]warehouse.Finding, error) {
	findings, err := from.Check(ctx)
	if err != nil {
		return nil, err
	}
	if err := makeCutTables(ctx, from); err != nil {
		return nil, err
	}
	if err := makeBridgeTables(ctx, from); err != nil {
		return nil, err
	}
	if err := makeComparisonTables(ctx, from); err != nil {
		return nil, err
	}
	if err := makeFindingsTable(ctx, from); err != nil {
		return nil, err
	}
	if err := from.KeepCheckResults(ctx, findings); err != nil {
		return nil, err
	}
	return findings, from.MakeFindings(ctx)
}
