package warehouse_test

import (
	"context"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/sql/warehouse"
)

const randomSettings = `[plant]
name = "Random plant"
timezone = "America/Chicago"
[pay]
burden_pct = 0.2375
burden_usd_per_hour = 0.55
[overhead]
usd_per_labour_hour = 13.37
[lumber]
end_trim_in = 0.5
[[station]]
code = "S1"
kind = "saw"
[[station]]
code = "T1"
kind = "table"
[[station]]
code = "T2"
kind = "table"
[[station]]
code = "Y1"
kind = "yard"
`

// halfUp is n/d rounded half away from zero; d is above 0.
func halfUp(n, d int64) int64 { return halfUpBig(n, 1, d) }

// halfUpBig is a x b / d rounded half away from zero.
func halfUpBig(a, b, d int64) int64 {
	n := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
	negative := n.Sign() < 0
	n.Abs(n).Mul(n, big.NewInt(2)).Add(n, big.NewInt(d)).Quo(n, big.NewInt(2*d))
	if negative {
		n.Neg(n)
	}
	return n.Int64()
}

// plantsToTry is how many random plants a test tries: a few every day, and as many as
// TRUSSTALLY_RANDOM_PLANTS says on request.
func plantsToTry(t *testing.T, daily uint64) uint64 {
	if text := os.Getenv("TRUSSTALLY_RANDOM_PLANTS"); text != "" {
		n, err := strconv.ParseUint(text, 10, 32)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	return daily
}

// feedFile is one file of a feed.
type feedFile struct {
	feed, name, text string
}

// build lands the plant's files into a new warehouse in memory and builds the ledgers.
func (p *randomPlant) build(t *testing.T, settings *plant.Settings) *warehouse.Warehouse {
	t.Helper()
	var files []feedFile
	for _, feed := range ingest.Feeds() {
		if text, ok := p.files[feed.Name]; ok {
			files = append(files, feedFile{feed.Name, feed.Name + ".csv", text})
		}
	}
	return buildFiles(t, settings, files)
}

// buildFiles lands files in their order into a new warehouse in memory and builds the
// ledgers.
func buildFiles(t *testing.T, settings *plant.Settings, files []feedFile) *warehouse.Warehouse {
	t.Helper()
	t.Setenv(warehouse.ThreadsVariable, "1") // for plants this small a second thread only costs
	ctx := context.Background()
	w, err := warehouse.Open(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	feeds := map[string]ingest.Feed{}
	for _, feed := range ingest.Feeds() {
		feeds[feed.Name] = feed
	}
	dir := t.TempDir()
	for _, file := range files {
		path := filepath.Join(dir, file.name)
		if err := os.WriteFile(path, []byte(file.text), 0o600); err != nil {
			t.Fatal(err)
		}
		receipt, err := ingest.Land(ctx, tx, feeds[file.feed], path, ingest.Options{Zone: settings.Zone, Stations: []string{"S1", "T1", "T2", "Y1"}})
		if err != nil {
			t.Fatal(err)
		}
		if receipt.Rejected > 0 {
			t.Fatalf("the random plant has a row that is refused: %v", receipt.Problems)
		}
	}
	if err := warehouse.BuildLedgers(ctx, tx, settings); err != nil {
		t.Fatal(err)
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
	return w
}

// TestRandomPlantsBalance: for any input seconds, boards and cents conserve exactly, and
// agree with a simulation that shares no code with the SQL.
func TestRandomPlantsBalance(t *testing.T) {
	settings, err := plant.Parse([]byte(randomSettings), nil)
	if err != nil {
		t.Fatal(err)
	}
	for seed := range plantsToTry(t, 3) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			p := newRandomPlant(seed)
			w := p.build(t, settings)
			defer w.Close()
			findings, err := w.Check(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			for _, finding := range findings {
				if finding.Severity == "error" {
					t.Errorf("%s: %s: %s", finding.Check, finding.Reason, finding.Keys)
				}
			}
			for employee, want := range p.paidSeconds() {
				if got := number(t, w, "SELECT coalesce(sum(seconds), 0)::BIGINT FROM minute_ledger WHERE employee = ?", employee); got != want {
					t.Errorf("%s: %d seconds used, %d paid", employee, got, want)
				}
			}
			for employee, want := range p.grossCents() {
				if got := number(t, w, "SELECT coalesce(sum(usd_to_cents(gross_usd)), 0)::BIGINT FROM pay_weeks WHERE employee = ?", employee); got != want {
					t.Errorf("%s: gross %d cents, simulated %d", employee, got, want)
				}
			}
			onHand, byJob := p.stock()
			if got := number(t, w, "SELECT coalesce(sum(usd_to_cents(usd)), 0)::BIGINT FROM board_ledger"); got != onHand {
				t.Errorf("%d cents on hand, simulated %d", got, onHand)
			}
			for job, want := range byJob {
				if got := number(t, w, "SELECT coalesce(sum(usd_to_cents(usd)), 0)::BIGINT FROM dollar_ledger WHERE class = 'lumber' AND job = ?", job); got != want {
					t.Errorf("%s: lumber %d cents, simulated %d", job, got, want)
				}
			}
		})
	}
}

func number(t *testing.T, w *warehouse.Warehouse, query string, arguments ...any) int64 {
	t.Helper()
	var n int64
	if err := w.DB.QueryRowContext(context.Background(), query, arguments...).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}
