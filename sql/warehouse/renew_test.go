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

	"trusstally/fixtures"
	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/sql/warehouse"
)

// demoRows lands every file of a demo plant into a new warehouse in memory, what stands in them
// to be refused left out, and keeps a copy of each feed in the schema whole.
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
		execute(t, tx, "CREATE SCHEMA whole")
		for _, feed := range ingest.Feeds() {
			execute(t, tx, `CREATE TABLE whole.`+quoted(feed)+` AS SELECT * REPLACE (import_id * 1000000 + import_line AS import_line) FROM `+quoted(feed))
		}
	})
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

// TestRenewedLedgersAreBuiltOnes takes rows out of a plant, builds the ledgers, reads the rows
// as new files, changes and removals, several times, and holds each renewal against ledgers
// that are built from scratch.
func TestRenewedLedgersAreBuiltOnes(t *testing.T) {
	renewals := 0
	for seed := range plantsToTry(t, 2) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, 31))
			w, settings := demoRows(t, 1+seed%3)
			ctx := context.Background()
			steps := 3
			// In which of the steps each row is read, 0 first.
			day := 42 + r.IntN(42)
			inside(t, w, func(tx *sql.Tx) {
				for _, feed := range ingest.Feeds() {
					date := ingest.MainDate(feed)
					if date == "" {
						date = "NULL::DATE"
					}
					late := []int{0, 0, 300, 50}[r.IntN(4)] // one in so many comes late, 0: none does
					lateSQL := "false"
					if late > 0 {
						lateSQL = fmt.Sprintf("hash(import_line, %d) %% %d = 0 AND coalesce(%s > DATE '2026-08-17' + %d - 18, %d = 300)", seed, late, date, day, late)
					}
					name := quoted(feed)
					execute(t, tx, fmt.Sprintf(`
CREATE OR REPLACE TABLE whole.arrivals_%[1]s AS
SELECT *, CASE
    WHEN coalesce(%[2]s, DATE '2026-01-01') >= DATE '2026-08-17' + %[3]d + 7 THEN 2
    WHEN coalesce(%[2]s, DATE '2026-01-01') >= DATE '2026-08-17' + %[3]d THEN 1
    ELSE 0 END + CASE WHEN %[4]s THEN 1 ELSE 0 END AS arrives
FROM whole.%[5]s`, feed.Name, date, day, lateSQL, name))
					execute(t, tx, "DELETE FROM "+name+"; DELETE FROM history."+name)
					execute(t, tx, fmt.Sprintf("INSERT INTO %s SELECT * EXCLUDE (arrives) FROM whole.arrivals_%s WHERE arrives = 0", name, feed.Name))
					// Some of the first rows are wrong, until a later file has them right.
					if change := spoiled[feed.Name]; change != "" && r.IntN(3) == 0 {
						execute(t, tx, fmt.Sprintf(`
CREATE OR REPLACE TEMP TABLE wrong AS
SELECT * REPLACE (%[2]s) FROM %[1]s WHERE hash(import_line, %[3]d) %% %[4]d = 0;
DELETE FROM %[1]s WHERE hash(import_line, %[3]d) %% %[4]d = 0;
INSERT INTO %[1]s SELECT * FROM wrong`, name, change, seed+1, []int{20, 500, 3000}[r.IntN(3)]))
					}
				}
				if err := warehouse.BuildLedgers(ctx, tx, settings); err != nil {
					t.Fatal(err)
				}
			})
			for step := 1; step <= steps; step++ {
				since := ""
				inside(t, w, func(tx *sql.Tx) {
					var imports []int64
					for number, feed := range ingest.Feeds() {
						id := int64(1000*step + number)
						imports = append(imports, id)
						name := quoted(feed)
						// What was wrong, or is read only now.
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
							name, prefixed("n.", columns), prefixed("o.", columns), step, steps, id, feed.Name))
					}
					from, err := warehouse.RenewLedgers(ctx, tx, settings, imports)
					if err != nil {
						t.Fatal(err)
					}
					if !from.IsZero() {
						renewals++
					}
					since = from.Format("2006-01-02")
				})
				differ, _, err := w.RebuiltLedgers(ctx, settings)
				if err != nil {
					t.Fatal(err)
				}
				t.Logf("step %d, renewed since %s", step, since)
				if len(differ) > 0 {
					t.Fatalf("step %d, renewed since %s: %v differ\n%s", step, since, differ, differences(t, w, settings, differ))
				}
			}
		})
	}
	if renewals == 0 {
		t.Error("nothing was renewed: all was built anew")
	}
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
