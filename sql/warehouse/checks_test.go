package warehouse_test

import (
	"context"
	"testing"

	"trusstally/ingest/plant"
	"trusstally/sql/warehouse"
)

// TestChecksCanFail spoils one thing at a time and expects the check that guards it to find
// it: a check that cannot fail proves nothing.
func TestChecksCanFail(t *testing.T) {
	settings, err := plant.Parse([]byte(randomSettings), nil)
	if err != nil {
		t.Fatal(err)
	}
	w := newRandomPlant(3).build(t, settings)
	defer w.Close()
	cases := map[string]string{
		"10_lines_add_up":       "UPDATE imports SET blank = blank + 1 WHERE import_id = 1",
		"20_days_reach":         "DELETE FROM days WHERE day >= DATE '2026-10-30'",
		"30_seconds_balance":    "UPDATE minute_ledger SET seconds = seconds + 1 WHERE rowid = (SELECT min(rowid) FROM minute_ledger)",
		"31_people_once":        "INSERT INTO steps.punches SELECT * FROM steps.punches WHERE kind = 'clocked' AND elapsed_seconds > 0 LIMIT 1",
		"40_pay_posted":         "UPDATE steps.labour_postings SET cents = cents + 1 WHERE rowid = (SELECT min(rowid) FROM steps.labour_postings WHERE class = 'waiting')",
		"50_boards_balance":     "UPDATE board_ledger SET usd = usd + 0.01 WHERE rowid = (SELECT min(rowid) FROM board_ledger)",
		"51_yield_balances":     "UPDATE steps.yields SET offcut = offcut + 1 WHERE rowid = (SELECT min(rowid) FROM steps.yields)",
		"52_parts_credited":     "UPDATE steps.yields SET parts = parts + 1, offcut = offcut - 1 WHERE rowid = (SELECT min(rowid) FROM steps.yields WHERE parts > 0)",
		"53_backflush_taken":    "INSERT INTO steps.backflush_parts SELECT DATE '2026-10-30', 'J1', '2x4', 'SPF', 'No. 2', 2304, 10000000, 1, false",
		"60_dollars_balance":    "UPDATE dollar_ledger SET usd = usd + 0.01 WHERE rowid = (SELECT min(rowid) FROM dollar_ledger WHERE class = 'lumber')",
		"61_rows_reach_ledgers": "DELETE FROM board_ledger WHERE rowid = (SELECT min(rowid) FROM board_ledger)",
		"62_jobs_foot":          "DELETE FROM steps.job_days WHERE rowid = (SELECT min(rowid) FROM steps.job_days WHERE lumber_usd <> 0)",
		"63_bridge_adds_up":     "DELETE FROM steps.job_days WHERE rowid = (SELECT min(rowid) FROM steps.job_days WHERE lumber_usd <> 0)",
		"64_journal_balances":   "UPDATE board_ledger SET usd = usd - 0.01 WHERE rowid = (SELECT min(rowid) FROM board_ledger WHERE kind = 'cut')",
		"66_overhead_ties":      "UPDATE dollar_ledger SET class = 'idle' WHERE class = 'waiting'",
		"65_left_jobs_sold":     "DELETE FROM steps.delivered WHERE job = 'J1'; DELETE FROM steps.left_days WHERE job = 'J1'",
	}
	if len(cases)+3 != len(warehouse.CheckNames()) { // two only warn, one informs
		t.Errorf("%d checks are spoiled, of %d", len(cases), len(warehouse.CheckNames())-3)
	}
	before := failing(t, w)
	for name, spoil := range cases {
		if before[name] {
			t.Errorf("%s fails before anything is spoiled", name)
			continue
		}
		if _, err := w.DB.Exec("BEGIN"); err != nil {
			t.Fatal(err)
		}
		result, err := w.DB.Exec(spoil)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if n, err := result.RowsAffected(); err != nil || n == 0 {
			t.Errorf("%s: nothing was spoiled", name)
		}
		if !failing(t, w)[name] {
			t.Errorf("%s did not find what was spoiled", name)
		}
		if _, err := w.DB.Exec("ROLLBACK"); err != nil {
			t.Fatal(err)
		}
	}
}

// failing returns the checks of severity error that have rows.
func failing(t *testing.T, w *warehouse.Warehouse) map[string]bool {
	t.Helper()
	findings, err := w.Check(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	failing := map[string]bool{}
	for _, finding := range findings {
		if finding.Severity == "error" {
			failing[finding.Check] = true
		}
	}
	return failing
}
