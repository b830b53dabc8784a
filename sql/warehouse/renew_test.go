package warehouse_test

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trusstally/fixtures"
	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/sql/warehouse"
)

// demoRows lands every file of a demo plant into a new warehouse in memory, what stands in them
// to be refused left out, and keeps them whole.
func demoRows(t *testing.T, seed uint64) (*warehouse.Warehouse, *plant.Settings) {
	t.Helper()
	ctx := context.Background()
	demo := fixtures.DemoPlant(seed)
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "inbox"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := demo.Write(dir); err != nil {
		t.Fatal(err)
	}
	settings, err := plant.Parse([]byte(demo.PlantTOML), nil)
	if err != nil {
		t.Fatal(err)
	}
	var stations []string
	for _, station := range settings.Stations {
		stations = append(stations, station.Code)
	}
	w, err := warehouse.Open(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.Close() })
	inside(t, w, func(tx *sql.Tx) {
		for _, feed := range ingest.Feeds() {
			files, err := filepath.Glob(filepath.Join(dir, "inbox", feed.Name+"-*"))
			if err != nil {
				t.Fatal(err)
			}
			for _, file := range files {
				if _, err := ingest.Land(ctx, tx, feed, file, ingest.Options{Zone: settings.Zone, Stations: stations, TempDir: dir}); err != nil {
					t.Fatalf("%s: %v", file, err)
				}
			}
		}
	})
	keepWhole(t, w)
	return w, settings
}

func quoted(feed ingest.Feed) string { return `"` + feed.Name + `"` }

func inside(t *testing.T, w *warehouse.Warehouse, do func(tx *sql.Tx)) {
	t.Helper()
	tx, err := w.DB.BeginTx(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	do(tx)
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
}

func execute(t *testing.T, tx *sql.Tx, query string) {
	t.Helper()
	if _, err := tx.ExecContext(context.Background(), query); err != nil {
		t.Fatalf("%v\n%s", err, query)
	}
}

// spoiled are changes of a row that a later file takes back, by feed.
var spoiled = map[string]string{
	"timecards":    "ended_at + INTERVAL 7 MINUTE AS ended_at, ended_utc + INTERVAL 7 MINUTE AS ended_utc",
	"completions":  "quantity + 1 AS quantity",
	"lumber_usage": "boards + 1 AS boards",
	"receipts":     "usd_per_mbf + 1 AS usd_per_mbf",
	"jobs":         "price_usd + 1 AS price_usd",
	"trusses":      "quoted_build_min + 1 AS quoted_build_min",
	"cut_pieces":   "pieces_per_ply + 1 AS pieces_per_ply",
	"invoices":     "amount_usd + 1 AS amount_usd",
	"job_costs":    "amount_usd + 1 AS amount_usd",
	"wages":        "rate_usd + 1 AS rate_usd",
}

// renewer takes rows out of a plant, builds the ledgers, and reads the rows as new files and
// changes, in steps.
type renewer struct {
	w        *warehouse.Warehouse
	settings *plant.Settings
	seed     uint64
	r        *rand.Rand
	first    string // first day of the plant's rows
	from     int    // days after it from which on rows are read only in step 1
	between  int    // days until those that are read only in step 2
}

const renewalSteps = 3

// keepWhole keeps a copy of each feed in the schema whole.
func keepWhole(t *testing.T, w *warehouse.Warehouse) {
	inside(t, w, func(tx *sql.Tx) {
		execute(t, tx, "CREATE SCHEMA whole")
		for _, feed := range ingest.Feeds() {
			execute(t, tx, `CREATE TABLE whole.`+quoted(feed)+` AS SELECT * REPLACE (import_id * 1000000 + import_line AS import_line) FROM `+quoted(feed))
		}
	})
}

// takeOut leaves in the feeds what is read first, some of it wrong, and builds the ledgers.
func (n *renewer) takeOut(t *testing.T) {
	inside(t, n.w, func(tx *sql.Tx) {
		for _, feed := range ingest.Feeds() {
			date := ingest.MainDate(feed)
			if date == "" {
				date = "NULL::DATE"
			}
			lateSQL := "false"
			if late := []int{0, 0, 300, 50}[n.r.IntN(4)]; late > 0 { // one in so many comes a step late
				lateSQL = fmt.Sprintf("hash(import_line, %d) %% %d = 0 AND coalesce(%s > DATE '%s' + %d - 18, %d = 300)", n.seed, late, date, n.first, n.from, late)
			}
			name := quoted(feed)
			execute(t, tx, fmt.Sprintf(`
CREATE OR REPLACE TABLE whole.arrivals_%[1]s AS
SELECT *, CASE
    WHEN coalesce(%[2]s, DATE '2026-01-01') >= DATE '%[3]s' + %[4]d THEN 2
    WHEN coalesce(%[2]s, DATE '2026-01-01') >= DATE '%[3]s' + %[5]d THEN 1
    ELSE 0 END + CASE WHEN %[6]s THEN 1 ELSE 0 END AS arrives
FROM whole.%[7]s`, feed.Name, date, n.first, n.from+n.between, n.from, lateSQL, name))
			execute(t, tx, "DELETE FROM "+name+"; DELETE FROM history."+name)
			execute(t, tx, fmt.Sprintf("INSERT INTO %s SELECT * EXCLUDE (arrives) FROM whole.arrivals_%s WHERE arrives = 0", name, feed.Name))
			if change := spoiled[feed.Name]; change != "" && n.r.IntN(3) == 0 {
				execute(t, tx, fmt.Sprintf(`
CREATE OR REPLACE TEMP TABLE wrong AS
SELECT * REPLACE (%[2]s) FROM %[1]s WHERE hash(import_line, %[3]d) %% %[4]d = 0;
DELETE FROM %[1]s WHERE hash(import_line, %[3]d) %% %[4]d = 0;
INSERT INTO %[1]s SELECT * FROM wrong`, name, change, n.seed+1, []int{20, 500, 3000}[n.r.IntN(3)]))
			}
		}
		if err := warehouse.BuildLedgers(context.Background(), tx, n.settings); err != nil {
			t.Fatal(err)
		}
	})
}

// step reads what a step brings, renews the ledgers, holds them against ledgers that are built
// from scratch, and says whether it was more than building them.
func (n *renewer) step(t *testing.T, step int) (renewed bool) {
	since := ""
	inside(t, n.w, func(tx *sql.Tx) {
		var imports []int64
		for number, feed := range ingest.Feeds() {
			id := int64(1000*step + number)
			imports = append(imports, id)
			name := quoted(feed)
			columns := strings.Join(feedColumns(feed), ", ")
			execute(t, tx, fmt.Sprintf(`
CREATE OR REPLACE TEMP TABLE wrong AS
SELECT n.* FROM %[1]s AS n
ANTI JOIN whole.%[1]s AS o ON hash(%[2]s) = hash(%[3]s) AND n.import_line = o.import_line
WHERE hash(n.import_line, %[4]d) %% 2 = 0 OR %[4]d = %[5]d;
INSERT INTO history.%[1]s SELECT *, %[6]d, 'changed' FROM wrong;
DELETE FROM %[1]s WHERE import_line IN (SELECT import_line FROM wrong);
INSERT INTO %[1]s SELECT o.* REPLACE (%[6]d AS import_id) FROM whole.%[1]s AS o SEMI JOIN wrong AS n ON n.import_line = o.import_line;
INSERT INTO %[1]s SELECT * EXCLUDE (arrives) REPLACE (%[6]d AS import_id) FROM whole.arrivals_%[7]s WHERE arrives = %[4]d`,
				name, prefixed("n.", columns), prefixed("o.", columns), step, renewalSteps, id, feed.Name))
			// Some rows are taken out for good.
			if n.r.IntN(6) == 0 {
				execute(t, tx, fmt.Sprintf(`
CREATE OR REPLACE TEMP TABLE wrong AS
SELECT * FROM %[1]s WHERE hash(import_line, %[2]d) %% %[3]d = 0;
INSERT INTO history.%[1]s SELECT *, %[4]d, 'removed' FROM wrong;
DELETE FROM %[1]s WHERE import_line IN (SELECT import_line FROM wrong);
DELETE FROM whole.%[1]s WHERE import_line IN (SELECT import_line FROM wrong)`, name, n.r.IntN(1000), []int{8, 100, 4000}[n.r.IntN(3)], id))
			}
		}
		from, err := warehouse.RenewLedgers(context.Background(), tx, n.settings, imports)
		if err != nil {
			t.Fatal(err)
		}
		renewed, since = !from.IsZero(), from.Format("2006-01-02")
	})
	differ, _, err := n.w.RebuiltLedgers(context.Background(), n.settings)
	if err != nil {
		t.Fatal(err)
	}
	if len(differ) > 0 {
		t.Fatalf("step %d, renewed since %s: %v differ\n%s", step, since, differ, differences(t, n.w, n.settings, differ))
	}
	t.Logf("step %d, renewed since %s", step, since)
	return renewed
}

// TestRenewedLedgersAreBuiltOnes holds renewals of demo plants against ledgers built from
// scratch.
func TestRenewedLedgersAreBuiltOnes(t *testing.T) {
	renewals := 0
	for seed := range plantsToTry(t, 1) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 31))
			w, settings := demoRows(t, 1+seed%3)
			n := &renewer{w: w, settings: settings, seed: seed, r: r, first: "2026-08-17", from: 42 + r.IntN(42), between: 7}
			n.takeOut(t)
			for step := 1; step <= renewalSteps; step++ {
				if n.step(t, step) {
					renewals++
				}
			}
		})
	}
	if renewals == 0 {
		t.Error("nothing was renewed: all was built anew")
	}
}

// TestRenewedRandomPlants does the same with tiny plants in which everything goes wrong, whose
// workweeks begin in the middle of their four days, some with a closed month; and with plants
// of four weeks of which only the pay is of interest.
func TestRenewedRandomPlants(t *testing.T) {
	renewals := 0
	for seed := range plantsToTry(t, 1) {
		for _, kind := range []struct {
			name string
			make func(uint64) *randomPlant
		}{{"plant", newRandomPlant}, {"yard", newRandomYard}, {"less", newRandomLess}, {"closed", newRandomPlant}, {"pay", nil}} {
			t.Run(fmt.Sprintf("%s %d", kind.name, seed), func(t *testing.T) {
				n := &renewer{seed: seed, r: rand.New(rand.NewPCG(seed, 37))}
				if kind.make == nil {
					n.pay(t)
				} else {
					n.tiny(t, kind.make(seed), kind.name)
				}
				keepWhole(t, n.w)
				n.takeOut(t)
				if kind.name == "closed" {
					inside(t, n.w, func(tx *sql.Tx) {
						if _, err := warehouse.CloseMonth(context.Background(), tx, n.settings, time.Date(2026, 10, 1, 0, 0, 0, 0, time.UTC), time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)); err != nil {
							t.Fatal(err)
						}
					})
				}
				for step := 1; step <= renewalSteps; step++ {
					if n.step(t, step) {
						renewals++
					}
				}
			})
		}
	}
	if renewals == 0 {
		t.Error("nothing was renewed: all was built anew")
	}
}

// tiny builds a plant of four days.
func (n *renewer) tiny(t *testing.T, p *randomPlant, kind string) {
	starts := []string{"Fri", "Sat", "Sun"}[n.r.IntN(3)]
	settings, err := plant.Parse([]byte(strings.Replace(randomSettings, "timezone", "workweek_starts = \""+starts+" 00:00\"\ntimezone", 1)), nil)
	if err != nil {
		t.Fatal(err)
	}
	if kind == "plant" || kind == "closed" {
		p.books(n.seed)
	}
	n.settings, n.w = settings, p.build(t, settings)
	t.Cleanup(func() { n.w.Close() })
	n.first, n.from, n.between = "2026-10-29", 1+n.r.IntN(3), 1
}

// pay builds a plant of which only the pay is of interest.
func (n *renewer) pay(t *testing.T) {
	p := newPayPlant(n.seed)
	settings, err := plant.Parse([]byte(p.settings), nil)
	if err != nil {
		t.Fatal(err)
	}
	n.settings, n.w = settings, buildFiles(t, settings, p.whole())
	t.Cleanup(func() { n.w.Close() })
	n.first, n.from, n.between = dateText(p.first), 7+n.r.IntN(14), 3+n.r.IntN(7)
}

func feedColumns(feed ingest.Feed) []string {
	var list []string
	for _, column := range feed.Stored() {
		list = append(list, `"`+column+`"`)
	}
	return list
}

func prefixed(prefix, columns string) string {
	return prefix + strings.ReplaceAll(columns, ", ", ", "+prefix)
}

// differences are the first rows that only the renewed and only the built tables have.
func differences(t *testing.T, w *warehouse.Warehouse, settings *plant.Settings, tables []string) string {
	t.Helper()
	var text strings.Builder
	inside(t, w, func(tx *sql.Tx) {
		for i, table := range tables {
			execute(t, tx, fmt.Sprintf("CREATE OR REPLACE TEMP TABLE renewed_%d AS SELECT * FROM %s", i, table))
		}
		if err := warehouse.BuildLedgers(context.Background(), tx, settings); err != nil {
			t.Fatal(err)
		}
		for i, table := range tables {
			for _, side := range []struct{ name, query string }{
				{"renewed", fmt.Sprintf("FROM renewed_%d EXCEPT ALL FROM %s", i, table)},
				{"built", fmt.Sprintf("FROM %s EXCEPT ALL FROM renewed_%d", table, i)},
			} {
				rows, err := tx.QueryContext(context.Background(), "SELECT to_json(x)::VARCHAR FROM ("+side.query+") AS x ORDER BY 1 LIMIT 3")
				if err != nil {
					t.Fatal(err)
				}
				for rows.Next() {
					var row string
					if err := rows.Scan(&row); err != nil {
						t.Fatal(err)
					}
					fmt.Fprintf(&text, "%s, %s only: %s\n", table, side.name, row)
				}
				rows.Close()
			}
		}
	})
	return text.String()
}
