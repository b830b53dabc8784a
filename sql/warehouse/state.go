package warehouse

import (
	"context"
	"database/sql"
	"time"

	"trusstally/ingest/plant"
)

// Queryer is a transaction or a database.
type Queryer interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// LedgersStale says whether the ledgers were never built, or were built with another
// plant.toml or by another version of the program.
func LedgersStale(ctx context.Context, from Queryer, settings *plant.Settings) (bool, error) {
	if built, err := LedgersBuilt(ctx, from); err != nil || !built {
		return true, err
	}
	// A first version's ledgers have no fingerprint of their SQL.
	var known int
	if err := from.QueryRowContext(ctx, "SELECT count(*) FROM information_schema.columns WHERE table_schema = 'main' AND table_name = 'settings' AND column_name = 'ledgers_sha256'").Scan(&known); err != nil || known == 0 {
		return true, err
	}
	var toml, ledgers string
	err := from.QueryRowContext(ctx, "SELECT plant_toml_sha256, ledgers_sha256 FROM settings").Scan(&toml, &ledgers)
	return toml != settings.Hash || ledgers != ledgersHash(), err
}

// LedgersBuilt says whether the ledgers were ever built.
func LedgersBuilt(ctx context.Context, from Queryer) (bool, error) {
	var built int
	err := from.QueryRowContext(ctx, "SELECT count(*) FROM information_schema.tables WHERE table_schema = 'main' AND table_name IN ('settings', 'exceptions')").Scan(&built)
	return built == 2, err
}

// NewestWeek returns the label of the newest workweek that had ended before the date of now
// and holds a punch or a completion, or "".
func (w *Warehouse) NewestWeek(ctx context.Context, now time.Time) (string, error) {
	var label sql.NullString
	err := w.DB.QueryRowContext(ctx, `
SELECT max_by(label, workweek_start)
FROM workweeks AS w
WHERE w.workweek_start + 7 <= ?::DATE
    AND (EXISTS (SELECT 1 FROM minute_ledger AS m WHERE m.workweek_start = w.workweek_start)
        OR EXISTS (SELECT 1 FROM steps.run_rows AS r WHERE r.finished_on >= w.workweek_start AND r.finished_on < w.workweek_start + 7))`,
		now.Format("2006-01-02")).Scan(&label)
	return label.String, err
}

// DescribedColumn is one column of a table, with its comment.
type DescribedColumn struct {
	Table        string `json:"table"`
	TableMeaning string `json:"table_meaning"`
	Column       string `json:"column"`
	Type         string `json:"type"`
	Meaning      string `json:"meaning"`
}

// Describe lists the tables that a reader may query and their columns, by table name.
func (w *Warehouse) Describe(ctx context.Context) ([]DescribedColumn, error) {
	rows, err := w.DB.QueryContext(ctx, `
SELECT c.table_name, coalesce(t.comment, ''), c.column_name, c.data_type, coalesce(c.comment, '')
FROM duckdb_columns() AS c
JOIN duckdb_tables() AS t ON t.table_oid = c.table_oid AND t.schema_name = c.schema_name
WHERE c.schema_name = 'main' AND NOT c.internal AND c.database_name <> 'temp'
ORDER BY c.table_name, c.column_index`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var columns []DescribedColumn
	for rows.Next() {
		var c DescribedColumn
		if err := rows.Scan(&c.Table, &c.TableMeaning, &c.Column, &c.Type, &c.Meaning); err != nil {
			return nil, err
		}
		if !closedTables[c.Table] {
			columns = append(columns, c)
		}
	}
	return columns, rows.Err()
}
