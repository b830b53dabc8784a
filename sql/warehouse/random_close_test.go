package warehouse_test

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/sql/warehouse"
)

// closedMonth reads what must not change once October is closed.
const closedMonth = `
SELECT md5(coalesce(string_agg(row_text, chr(10) ORDER BY row_text), ''))
FROM (SELECT concat_ws('|', posted_on, occurred_on, class, pool, job, usd, feed, remake) AS row_text FROM dollar_ledger WHERE posted_on < DATE '2026-11-01')`

const closedBoards = `
SELECT md5(coalesce(string_agg(row_text, chr(10) ORDER BY row_text), ''))
FROM (SELECT concat_ws('|', moved_on, size, species, grade, length_16ths, boards, usd, kind, job) AS row_text FROM board_ledger WHERE moved_on < DATE '2026-11-01')`

const closedStock = `
SELECT md5(coalesce(string_agg(row_text, chr(10) ORDER BY row_text), ''))
FROM (SELECT concat_ws('|', job, class, cents, wip_cents, finished_cents, sold_cents) AS row_text FROM job_stock(DATE '2026-11-01'))`

// totals are what corrections must bring to where they would be without closing.
const totals = `
SELECT coalesce(string_agg(row_text, chr(10) ORDER BY row_text), '')
FROM (SELECT concat_ws('|', class, pool, job, sum(usd)) AS row_text FROM dollar_ledger GROUP BY class, pool, job HAVING sum(usd) <> 0)`

// TestRandomCloses: a closed month never changes, whatever is imported after; corrections
// bring every total to what it is without closing; every balance holds; opening the month
// again leaves no trace.
func TestRandomCloses(t *testing.T) {
	settings, err := plant.Parse([]byte(randomSettings), nil)
	if err != nil {
		t.Fatal(err)
	}
	october := time.Date(2026, 10, 1, 0, 0, 0, 0, time.UTC)
	for seed := range plantsToTry(t, 1) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			before, after := newRandomYard(seed), newRandomYard(seed+1_000_000)
			w := before.build(t, settings)
			defer w.Close()
			plain := before.build(t, settings)
			defer plain.Close()
			change(t, w, func(ctx context.Context, tx *sql.Tx) error {
				_, err := warehouse.CloseMonth(ctx, tx, settings, october, october.AddDate(0, 1, 0))
				return err
			})
			dir := t.TempDir()
			frozen := []string{only(t, w, closedMonth), only(t, w, closedBoards), only(t, w, closedStock)}
			late := func(ctx context.Context, tx *sql.Tx) error { return after.landAgain(ctx, tx, settings, dir) }
			change(t, w, late)
			change(t, plain, late)
			for i, query := range []string{closedMonth, closedBoards, closedStock} {
				if only(t, w, query) != frozen[i] {
					t.Errorf("the closed month has changed: %s", query)
				}
			}
			if a, b := only(t, w, totals), only(t, plain, totals); a != b {
				t.Errorf("totals with a closed month:\n%s\nwithout:\n%s", a, b)
			}
			for name := range failing(t, w) {
				t.Errorf("%s fails with a closed month", name)
			}
			change(t, w, func(ctx context.Context, tx *sql.Tx) error {
				_, err := warehouse.UndoClose(ctx, tx, settings)
				return err
			})
			for _, query := range []string{closedMonth, closedBoards, closedStock, totals} {
				if only(t, w, query) != only(t, plain, query) {
					t.Errorf("opened again it differs: %s", query)
				}
			}
		})
	}
}

// landAgain lands the plant's files over what is there, and builds the ledgers anew.
func (p *randomPlant) landAgain(ctx context.Context, tx *sql.Tx, settings *plant.Settings, dir string) error {
	for _, feed := range ingest.Feeds() {
		content, ok := p.files[feed.Name]
		if !ok || feed.Name == "wages" {
			continue
		}
		path := filepath.Join(dir, feed.Name+"-late.csv")
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			return err
		}
		options := ingest.Options{Zone: settings.Zone, Stations: []string{"S1", "T1", "T2", "Y1"}, AcceptRemovals: true}
		if _, err := ingest.Land(ctx, tx, feed, path, options); err != nil {
			return err
		}
	}
	return warehouse.BuildLedgers(ctx, tx, settings)
}

// change makes a change in one transaction.
func change(t *testing.T, w *warehouse.Warehouse, make func(context.Context, *sql.Tx) error) {
	t.Helper()
	ctx := context.Background()
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := make(ctx, tx); err != nil {
		t.Fatal(err)
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
}

// only is the one cell of a query as text.
func only(t *testing.T, w *warehouse.Warehouse, query string) string {
	t.Helper()
	var cell sql.NullString
	if err := w.DB.QueryRowContext(context.Background(), query).Scan(&cell); err != nil {
		t.Fatal(err)
	}
	return cell.String
}
