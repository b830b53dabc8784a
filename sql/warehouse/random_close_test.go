package warehouse_test

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/reports"
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

// closedSheets are the accountant's sheets of a month that say nothing of later ones.
var closedSheets = []string{"board_rollforward", "received_not_invoiced", "wip_rollforward", "cost_of_goods_sold", "overhead", "journal"}

// sheetsOf writes the closed sheets of a month as CSV, one text a sheet.
func sheetsOf(t *testing.T, w *warehouse.Warehouse, month reports.Period) map[string]string {
	t.Helper()
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		t.Fatal(err)
	}
	texts := map[string]string{}
	for _, book := range books {
		for _, sheet := range book.Sheets {
			if !slices.Contains(closedSheets, sheet.Sheet) {
				continue
			}
			var text bytes.Buffer
			if err := sheet.WriteCSV(context.Background(), &text, w, month); err != nil {
				t.Fatal(err)
			}
			texts[sheet.Sheet] = text.String()
		}
	}
	if len(texts) != len(closedSheets) {
		t.Fatalf("%d sheets of %d", len(texts), len(closedSheets))
	}
	return texts
}

// books gives the plant what an accountant closes besides boards and time: overheads, invoices
// of lumber and of jobs, loads, work taken over, and jobs shipped or closed early or late.
func (p *randomPlant) books(seed uint64) {
	r := rand.New(rand.NewPCG(seed, 23))
	date := func(day int) string { return wall(day * 24 * 60).Format("2006-01-02") }
	amount := func() string { return fmt.Sprintf("%d.%02d", r.IntN(3000), r.IntN(100)) }
	perhaps := func(text string) string {
		if r.IntN(2) == 0 {
			return ""
		}
		return text
	}
	jobs := strings.SplitAfter(p.files["jobs"], "\n")
	jobs[0] = strings.TrimSuffix(jobs[0], "\n") + ",closed_on\n"
	for i, line := range jobs[1:3] {
		cells := strings.Split(strings.TrimSuffix(line, "\n"), ",")
		cells[3] = perhaps(date(r.IntN(5)))
		jobs[i+1] = strings.Join(cells, ",") + "," + perhaps(date(r.IntN(5))) + "\n"
	}
	p.files["jobs"] = strings.Join(jobs, "")
	receipts := strings.Split(strings.TrimSpace(p.files["receipts"]), "\n")
	receipts[0] += ",invoice,invoiced_on"
	for i := range receipts[1:] {
		receipts[i+1] += []string{",,", ",I1," + date(3+r.IntN(2)), ",I2,2026-11-20"}[r.IntN(3)]
	}
	p.files["receipts"] = strings.Join(receipts, "\n") + "\n"
	overheads := "month,pool,budget_usd,actual_usd\n"
	for _, pool := range []string{"rent", "power", "Burden", "waiting"} {
		for _, month := range []string{"2026-09-01", "2026-10-01", "2026-11-01"} {
			if r.IntN(3) > 0 {
				overheads += month + "," + pool + "," + perhaps(amount()) + "," + amount() + "\n"
			}
		}
	}
	p.files["overheads"] = overheads
	p.files["opening_wip"] = "on,job,class,amount_usd,trusses_built\n" + []string{"2026-09-30", "2026-10-29"}[r.IntN(2)] + ",J2,lumber," + amount() + ",3\n"
	p.files["deliveries"] = "delivered_on,load,job,truss,quantity\n"
	for load := range r.IntN(6) {
		p.files["deliveries"] += fmt.Sprintf("%s,L%d,%s,%d\n", date(r.IntN(5)), load, []string{"J1,A", "J1,B", "J2,A"}[r.IntN(3)], r.IntN(12))
	}
	p.files["invoices"] = "invoice,job,invoiced_on,amount_usd,kind\n"
	for n := range 1 + r.IntN(4) {
		p.files["invoices"] += fmt.Sprintf("I%d,J%d,%s,%d.%02d,%s\n", n, 1+r.IntN(2), date(r.IntN(5)), 1+r.IntN(4000), r.IntN(100), []string{"sale", "deposit", "scrap"}[r.IntN(3)])
	}
}

// TestRandomCloses: a closed month and its sheets never change, whatever is imported after; corrections
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
			before.books(seed)
			after.books(seed + 1_000_000)
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
			month := reports.Period{From: october, Until: october.AddDate(0, 1, 0), Label: "2026-10"}
			sheets := sheetsOf(t, w, month)
			if diff := cmp.Diff(sheetsOf(t, plain, month), sheets); diff != "" {
				t.Errorf("closing changes a sheet:\n%s", diff)
			}
			late := func(ctx context.Context, tx *sql.Tx) error { return after.landAgain(ctx, tx, settings, dir) }
			change(t, w, late)
			change(t, plain, late)
			for i, query := range []string{closedMonth, closedBoards, closedStock} {
				if only(t, w, query) != frozen[i] {
					t.Errorf("the closed month has changed: %s", query)
				}
			}
			if diff := cmp.Diff(sheets, sheetsOf(t, w, month)); diff != "" {
				t.Errorf("a closed sheet has changed:\n%s", diff)
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
			if diff := cmp.Diff(sheetsOf(t, plain, month), sheetsOf(t, w, month)); diff != "" {
				t.Errorf("opened again a sheet differs:\n%s", diff)
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
