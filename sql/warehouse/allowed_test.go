package warehouse

import (
	"context"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"

	"trusstally/ingest/plant"
	"trusstally/sql"
)

// builtWarehouse has every table, and nothing in them.
func builtWarehouse(t *testing.T) *Warehouse {
	t.Helper()
	ctx := context.Background()
	w, err := Open(ctx, filepath.Join(t.TempDir(), FileName))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.Close() })
	settings, err := plant.Parse([]byte("[plant]\nname = \"x\"\ntimezone = \"America/Chicago\"\n[[station]]\ncode = \"T1\"\nkind = \"table\"\n"), nil)
	if err != nil {
		t.Fatal(err)
	}
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := BuildLedgers(ctx, tx, settings); err != nil {
		t.Fatal(err)
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
	return w
}

func column(t *testing.T, w *Warehouse, text string) []string {
	t.Helper()
	var values []string
	for row, err := range w.Rows(context.Background(), text, nil) {
		if err != nil {
			t.Fatal(err)
		}
		values = append(values, row[0].(string))
	}
	return values
}

// TestEveryTableIsLookedAt: somebody has decided of each table who may read it, and no table
// that everybody may read has a column of pay, but behind its veil.
func TestEveryTableIsLookedAt(t *testing.T) {
	w := builtWarehouse(t)
	there := map[string]bool{}
	for _, name := range column(t, w, `
SELECT DISTINCT CASE WHEN schema_name = 'main' THEN table_name ELSE schema_name || '.' || table_name END
FROM duckdb_columns() WHERE NOT internal AND database_name = 'plant'`) {
		there[name] = true
		lists := 0
		for _, list := range []map[string]bool{openTables, wageTables, closedTables} {
			if list[name] {
				lists++
			}
		}
		if lists != 1 {
			t.Errorf("%s is in %d of the three lists of allowed.go", name, lists)
		}
	}
	for _, list := range []map[string]bool{openTables, wageTables, closedTables} {
		for name := range list {
			if !there[name] {
				t.Errorf("there is no table %s", name)
			}
		}
	}
	for _, name := range column(t, w, `
SELECT CASE WHEN schema_name = 'main' THEN table_name ELSE schema_name || '.' || table_name END || ' ' || column_name
FROM duckdb_columns() WHERE NOT internal AND database_name = 'plant'`) {
		table, column, _ := strings.Cut(name, " ")
		if openTables[table] && wageColumns[column] && veilOf(table) == nil {
			t.Errorf("%s has the column %s and may be read by everybody", table, column)
		}
	}
}

// TestAllowedFunctions: what is allowed exists, and nothing of it reaches out.
func TestAllowedFunctions(t *testing.T) {
	w := builtWarehouse(t)
	there := map[string]bool{}
	for _, name := range column(t, w, "SELECT DISTINCT lower(function_name) FROM duckdb_functions()") {
		there[name] = true
	}
	// Words of the language that the parser keeps as functions.
	for _, name := range strings.Fields("count_star unnest current_time current_timestamp localtime localtimestamp filter fill first lead lag last nth_value ntile rank dense_rank rank_dense percent_rank cume_dist row_number first_value last_value pivot unpivot_list list_value struct_pack") {
		there[name] = true
	}
	for _, list := range []map[string]bool{allowedScalars, allowedFunctions, clockScalars} {
		for name := range list {
			if !there[name] {
				t.Errorf("the engine has no function %s", name)
			}
			for _, part := range []string{"read_", "parquet", "csv", "glob", "getenv", "setting", "secret", "pragma", "duckdb", "query", "sql", "log_", "_log", "sleep", "stats", "nextval", "random", "http", "attach", "scan"} {
				if strings.Contains(name, part) && name != "log2" && name != "log10" {
					t.Errorf("%s looks outside (%s)", name, part)
				}
			}
		}
	}
}

// TestBuiltInSheetsKeepToTheLists: our own sheets call nothing that a reader may not, but
// for the macros that are theirs alone.
func TestBuiltInSheetsKeepToTheLists(t *testing.T) {
	w := builtWarehouse(t)
	ours := wordsOf("compared_runs weekly_measures minute_cost what_if_savings overhead_pools thin_labour job_margin_findings lumber_yield_findings crews_shifts_findings month_end_findings row_of tenths pct")
	sheets := 0
	err := fs.WalkDir(sqlfiles.Files, "reports", func(file string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		sheets++
		text, err := sqlText(file)
		if err != nil {
			return err
		}
		found, err := w.References(context.Background(), text)
		if err != nil {
			t.Errorf("%s: %v", file, err)
			return nil
		}
		for _, function := range found.Functions {
			if !allowedFunctions[function.Name] && !ours[function.Name] {
				t.Errorf("%s calls the table function %s", file, function.Name)
			}
		}
		for _, function := range found.Scalars {
			if !allowedScalars[function.Name] && !ours[function.Name] {
				t.Errorf("%s calls %s", file, function.Name)
			}
		}
		for _, table := range found.Tables {
			name := table.plain()
			if !openTables[name] && !wageTables[name] && !contains(found.With, table.Name) && table.Schema != "temp" && name != "check_results" {
				t.Errorf("%s reads %s", file, name)
			}
		}
		if len(found.Unbounded) > 0 || !found.Sorted {
			t.Errorf("%s: unbounded %v, sorted %v", file, found.Unbounded, found.Sorted)
		}
		return nil
	})
	if err != nil || sheets < 30 {
		t.Errorf("%d sheets: %v", sheets, err)
	}
}
