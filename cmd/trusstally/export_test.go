package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"trusstally/sql/warehouse"
)

// exported runs export and returns its tables by name with their rows.
func (p *testPlant) exported(arguments ...string) map[string]int64 {
	p.t.Helper()
	stdout, stderr, code := p.run(append([]string{"export", "--json"}, arguments...)...)
	if code != exitFine || stderr != "" {
		p.t.Fatalf("export: exit %d\n%s%s", code, stdout, stderr)
	}
	var all []warehouse.Exported
	if err := json.Unmarshal([]byte(stdout), &all); err != nil {
		p.t.Fatal(err)
	}
	rows := map[string]int64{}
	for _, one := range all {
		rows[one.Table] = one.Rows
	}
	return rows
}

// files are SQL for the exported rows of a table.
func exportedFiles(dir, table string) string {
	return fmt.Sprintf("read_parquet('%s/%s/*/*/*.parquet', hive_partitioning = true, union_by_name = true)", filepath.ToSlash(dir), table)
}

// elsewhere runs a SELECT on an engine that knows nothing of the plant, and returns the
// first column of its rows as text.
func elsewhere(t *testing.T, text string) []string {
	t.Helper()
	w, err := warehouse.Open(context.Background(), "")
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	rows, err := w.DB.Query("SELECT CAST(x AS VARCHAR) FROM (" + text + ") AS found(x)")
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	defer rows.Close()
	var all []string
	for rows.Next() {
		var x string
		if err := rows.Scan(&x); err != nil {
			t.Fatal(err)
		}
		all = append(all, x)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}

// sole is the only row of elsewhere.
func sole(t *testing.T, text string) string {
	t.Helper()
	return strings.Join(elsewhere(t, text), "; ")
}

// TestExport reads what was exported back and holds its sums against the warehouse's.
func TestExport(t *testing.T) {
	p, _ := markedPlant(t)
	dir := filepath.Join(t.TempDir(), "company")
	rows := p.exported(dir, "--wages")
	for _, c := range []struct{ table, sums string }{
		{"board_ledger", "count(*) || ' ' || sum(boards) || ' ' || sum(bf) || ' ' || sum(usd)"},
		{"minute_ledger", "count(*) || ' ' || sum(seconds) || ' ' || count(DISTINCT employee)"},
		{"dollar_ledger", "count(*) || ' ' || sum(usd) || ' ' || sum(usd) FILTER (class = 'direct_labour')"},
		{"pay_weeks", "count(*) || ' ' || sum(gross_usd)"},
		{"overheads", "count(*) || ' ' || sum(actual_usd) || ' ' || min(month)"},
		{"jobs", "count(*) || ' ' || sum(price_usd)"},
		{"wages", "count(*) || ' ' || sum(rate_usd)"},
	} {
		want, got := p.value("SELECT "+c.sums+" FROM "+c.table), sole(t, "SELECT "+c.sums+" FROM "+exportedFiles(dir, c.table))
		if want != got || rows[c.table] == 0 || !strings.HasPrefix(got, fmt.Sprint(rows[c.table])+" ") {
			t.Errorf("%s: exported %s (%d rows told), the warehouse has %s", c.table, got, rows[c.table], want)
		}
	}
	p.holds("SELECT string_agg(DISTINCT plant_name || ' ' || strftime(posted_on, '%Y-%m'), ', ' ORDER BY plant_name || ' ' || strftime(posted_on, '%Y-%m')) FROM dollar_ledger CROSS JOIN settings",
		sole(t, "SELECT string_agg(DISTINCT plant || ' ' || in_month, ', ' ORDER BY plant || ' ' || in_month) FROM "+exportedFiles(dir, "dollar_ledger")))
	if got := sole(t, "SELECT DISTINCT decode(value) FROM parquet_kv_metadata('"+filepath.ToSlash(dir)+"/board_ledger/*/*/*.parquet') WHERE decode(key) = 'column:usd'"); got != "landed cost, freight included" {
		t.Errorf("the files say of usd: %s", got)
	}
	if n := exportModes(t, dir, 0o077); n < 15 {
		t.Errorf("%d files were exported", n)
	}

	// Without --wages the files with pay are gone, and what is left tells none.
	rows = p.exported(dir)
	for _, table := range []string{"wages", "pay_weeks", "other_pay", "payroll"} {
		if _, err := os.Stat(filepath.Join(dir, table)); rows[table] != 0 || err == nil && exportModes(t, filepath.Join(dir, table), 0) > 0 {
			t.Errorf("%s was exported without --wages", table)
		}
	}
	secrets := p.secrets()
	for table := range rows {
		if found, err := filepath.Glob(filepath.Join(dir, table, "*", "*", "*.parquet")); err != nil || len(found) == 0 {
			continue
		}
		for _, row := range elsewhere(t, "SELECT CAST(e AS VARCHAR) FROM "+exportedFiles(dir, table)+" AS e") {
			if found := secrets.FindString(row); found != "" {
				t.Errorf("%s shows %s: %s", table, found, row)
			}
		}
	}
	text, err := os.ReadFile(filepath.Join(dir, warehouse.ColumnsFile))
	if err != nil || strings.Contains(string(text), "rate_usd") || !strings.Contains(string(text), "landed cost, freight included") {
		t.Errorf("%s: %v\n%s", warehouse.ColumnsFile, err, text)
	}
}

// TestExportOfTwoPlants: a second plant leaves the first one's files where they are.
func TestExportOfTwoPlants(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "company")
	first := handPlant(t, testSettings)
	first.exported(dir)
	second := handPlant(t, strings.Replace(testSettings, `name = "`, `name = "It's another `, 1))
	second.exported(dir)
	second.exported(dir)
	if got, want := sole(t, "SELECT count(DISTINCT plant) || ' ' || count(*) FROM "+exportedFiles(dir, "board_ledger")), "2 "+second.value("SELECT 2 * count(*) FROM board_ledger"); got != want {
		t.Errorf("plants and rows: %s, want %s", got, want)
	}
	left, err := filepath.Glob(filepath.Join(dir, ".*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}

// exportModes counts the files below a folder, and finds those that have a mode that none may.
func exportModes(t *testing.T, dir string, none os.FileMode) (files int) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		info, err := entry.Info()
		if err != nil {
			return err
		}
		files++
		if info.Mode().Perm()&none != 0 && runtime.GOOS != "windows" {
			t.Errorf("%s has mode %o", path, info.Mode().Perm())
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}
