package warehouse

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

// Fingerprint is what a table holds, told apart from any other content: how many rows, and
// the sum of the engine's hashes of them, whatever their order.
type Fingerprint struct {
	Table string // with its schema: main.jobs
	Rows  int64
	Sum   string // a whole number
}

// ListTables names the tables of the warehouse with their schemas, in order, temporary ones
// left out.
func (w *Warehouse) ListTables(ctx context.Context) ([]string, error) { return listTables(ctx, w.DB) }

// rowQueryer is a transaction or a database.
type rowQueryer interface {
	Queryer
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

func listTables(ctx context.Context, from rowQueryer) ([]string, error) {
	rows, err := from.QueryContext(ctx, `
SELECT concat(schema_name, '.', table_name)
FROM duckdb_tables()
WHERE NOT internal AND NOT temporary AND database_name = current_database()
ORDER BY schema_name, table_name`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var tables []string
	for rows.Next() {
		var table string
		if err := rows.Scan(&table); err != nil {
			return nil, err
		}
		tables = append(tables, table)
	}
	return tables, rows.Err()
}

// ReadTable reads every row and column of the table, and thereby every block of the file
// that holds them, each against the checksum that the engine keeps in it. A block that is
// not what was written is a problem.List.
func (w *Warehouse) ReadTable(ctx context.Context, table string) (Fingerprint, error) {
	f, err := fingerprint(ctx, w.DB, table)
	if err != nil && damaged(err) {
		return f, damage("the table "+strings.TrimPrefix(table, "main.")+" can't be read", err)
	}
	return f, err
}

// DamageOf is what a reader is told when the engine finds the warehouse file itself at fault
// while a sheet is read; nil of any other error.
func DamageOf(err error) problem.List {
	if err == nil || !damaged(err) {
		return nil
	}
	return damage("not every sheet can be read", err)
}

func damage(what string, cause error) problem.List {
	return problem.List{{Place: FileName, What: "a part of the file is damaged: " + what, Code: CodeDamagedTable,
		Hint: "put back a backup, or move the file away and import the files of archive/ again; then look after the disk", Group: "damaged", Cause: cause}}
}

// damaged says whether the engine found the file itself at fault.
func damaged(err error) bool {
	text := strings.ToLower(err.Error())
	return strings.Contains(text, "checksum") || strings.Contains(text, "corrupt") || strings.Contains(text, "io error") || strings.Contains(text, "serialization error")
}

func fingerprint(ctx context.Context, from Queryer, table string) (Fingerprint, error) {
	f := Fingerprint{Table: table}
	schema, name, _ := strings.Cut(table, ".")
	err := from.QueryRowContext(ctx, fmt.Sprintf(`SELECT count(*), CAST(coalesce(sum(CAST(hash(t) AS HUGEINT)), 0) AS VARCHAR) FROM "%s"."%s" AS t`, schema, name)).Scan(&f.Rows, &f.Sum)
	return f, err
}

// RebuiltLedgers builds the ledgers of the warehouse anew in a transaction that is rolled
// back, and returns the tables that hold something else then, or are not there before or
// after. It is meant for a copy: the engine may let the file grow. compared is how many
// tables were held against each other, the feeds' among them, which building must not touch.
func (w *Warehouse) RebuiltLedgers(ctx context.Context, settings *plant.Settings) (differ []string, compared int, err error) {
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		return nil, 0, err
	}
	defer func() { err = errors.Join(err, tx.Rollback()) }()
	before, err := fingerprints(ctx, tx)
	if err != nil {
		return nil, 0, err
	}
	if err := BuildLedgers(ctx, tx, settings); err != nil {
		return nil, 0, err
	}
	after, err := fingerprints(ctx, tx)
	if err != nil {
		return nil, 0, err
	}
	was := map[string]Fingerprint{}
	for _, f := range before {
		was[f.Table] = f
	}
	for _, f := range after {
		if was[f.Table] != f {
			differ = append(differ, f.Table)
		}
		delete(was, f.Table)
	}
	for _, f := range before {
		if _, gone := was[f.Table]; gone {
			differ = append(differ, f.Table)
		}
	}
	return differ, len(after), nil
}

func fingerprints(ctx context.Context, tx *sql.Tx) ([]Fingerprint, error) {
	tables, err := listTables(ctx, tx)
	if err != nil {
		return nil, err
	}
	var list []Fingerprint
	for _, table := range tables {
		f, err := fingerprint(ctx, tx, table)
		if err != nil {
			return nil, err
		}
		list = append(list, f)
	}
	return list, nil
}
