package warehouse

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// ExportTable is one table to export and SQL for the date that says in which month each of
// its rows stands, "" for a table without one.
type ExportTable struct{ Name, Date string }

// Exported is one table that was exported.
type Exported struct {
	Table string `json:"table"`
	Rows  int64  `json:"rows"`
}

// LedgerExports are the ledgers, by the day on which each row counts.
func LedgerExports() []ExportTable {
	return []ExportTable{{"board_ledger", "moved_on"}, {"minute_ledger", "calendar_day"}, {"dollar_ledger", "posted_on"}, {"pay_weeks", "workweek_start"}}
}

// ColumnsFile is the name of the file of an export that says what each table and column is.
const ColumnsFile = "columns.json"

// unfinishedExport is the folder in which an export is written before it takes its place.
const unfinishedExport = UnfinishedPrefix + "export"

// Export writes the tables of the warehouse file as Parquet into
// dir/TABLE/plant=PLANT/in_month=YYYY-MM, and dir/columns.json. Files of the same plant from an
// earlier export go; those of other plants stay. Without wages a reader's veils lie over the
// tables, and tables that hold pay are left out; with wages all files are their owner's
// alone. Who was in an incident is never exported. A row without a date is in
// in_month=none; the name is no feed's column.
//
// The connection is locked: it can write into dir and nowhere else.
func Export(ctx context.Context, file, dir, plant string, tables []ExportTable, wages bool) ([]Exported, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	if wages {
		defer onlyOwner()()
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	unfinished := filepath.Join(dir, unfinishedExport)
	if err := os.RemoveAll(unfinished); err != nil {
		return nil, err
	}
	defer os.RemoveAll(unfinished)
	if err := os.Mkdir(unfinished, 0o755); err != nil {
		return nil, err
	}
	prepare := []string{"SET allowed_directories=[" + quoted(unfinished+string(filepath.Separator)) + "]"}
	for _, v := range veils {
		if !wages || !v.wages {
			prepare = append(prepare, fmt.Sprintf(v.view, catalogName()))
		}
	}
	w, err := OpenLocked(ctx, file, prepare...)
	if err != nil {
		return nil, err
	}
	defer w.Close()
	known, err := w.Describe(ctx)
	if err != nil {
		return nil, err
	}
	var all []Exported
	var columns []DescribedColumn
	for _, table := range tables {
		if wageTables[table.Name] && !wages || closedTables[table.Name] {
			continue
		}
		described, err := w.exportedColumns(ctx, table.Name, known)
		if err != nil {
			return nil, err
		}
		columns = append(columns, described...)
		rows, err := w.exportTable(ctx, unfinished, plant, table, described)
		if err != nil {
			return nil, fmt.Errorf("export %s: %w", table.Name, err)
		}
		all = append(all, Exported{Table: table.Name, Rows: rows})
	}
	return all, settleExport(dir, unfinished, tables, columns)
}

// exportedColumns are the columns of a table as the connection shows it, with the comments
// of the table that a veil may lie over.
func (w *Warehouse) exportedColumns(ctx context.Context, table string, known []DescribedColumn) ([]DescribedColumn, error) {
	rows, err := w.DB.QueryContext(ctx, "SELECT column_name, column_type FROM (DESCRIBE SELECT * FROM "+quotedName(table)+")")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []DescribedColumn
	for rows.Next() {
		one := DescribedColumn{Table: table}
		if err := rows.Scan(&one.Column, &one.Type); err != nil {
			return nil, err
		}
		for _, k := range known {
			if k.Table == table {
				one.TableMeaning = k.TableMeaning
				if k.Column == one.Column {
					one.Meaning = k.Meaning
				}
			}
		}
		list = append(list, one)
	}
	return list, rows.Err()
}

// exportTable writes one table below folder and returns how many rows it has. The comments
// stand in each file's own metadata too.
func (w *Warehouse) exportTable(ctx context.Context, folder, plant string, table ExportTable, columns []DescribedColumn) (int64, error) {
	month := "'none'"
	if table.Date != "" {
		month = "coalesce(strftime(" + table.Date + ", '%Y-%m'), 'none')"
	}
	metadata := []string{"table_meaning: " + quoted(columns[0].TableMeaning)}
	for _, column := range columns {
		if column.Meaning != "" {
			metadata = append(metadata, quotedName("column:"+column.Column)+": "+quoted(column.Meaning))
		}
	}
	result, err := w.DB.ExecContext(ctx, fmt.Sprintf(`
COPY (SELECT %s AS plant, %s AS in_month, * FROM %s ORDER BY in_month)
TO %s (FORMAT parquet, COMPRESSION zstd, PARTITION_BY (plant, in_month), KV_METADATA {%s})`,
		quoted(plant), month, quotedName(table.Name), quoted(filepath.Join(folder, table.Name)), strings.Join(metadata, ", ")))
	if err != nil {
		return 0, err
	}
	return result.RowsAffected()
}

// settleExport puts what was written in place of what an earlier export of the plant left,
// in tables that are not exported this time too: pay that was exported goes with them.
func settleExport(dir, unfinished string, tables []ExportTable, columns []DescribedColumn) error {
	written := map[string]bool{}
	partition := ""
	for _, table := range tables {
		found, err := filepath.Glob(filepath.Join(unfinished, table.Name, "plant=*"))
		if err != nil {
			return err
		}
		if len(found) > 0 {
			partition, written[table.Name] = filepath.Base(found[0]), true
		}
	}
	for _, table := range tables {
		if partition == "" {
			break // a plant without a row has exported none before
		}
		place := filepath.Join(dir, table.Name, partition)
		if err := os.RemoveAll(place); err != nil {
			return err
		}
		if !written[table.Name] {
			continue
		}
		if err := os.MkdirAll(filepath.Dir(place), 0o755); err != nil {
			return err
		}
		if err := os.Rename(filepath.Join(unfinished, table.Name, partition), place); err != nil {
			return err
		}
	}
	text, err := json.MarshalIndent(columns, "", "  ")
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, ColumnsFile), append(text, '\n'), 0o644)
}

// quoted writes a text as an SQL literal, quotedName a name.
func quoted(text string) string { return "'" + strings.ReplaceAll(text, "'", "''") + "'" }

func quotedName(name string) string { return `"` + strings.ReplaceAll(name, `"`, `""`) + `"` }
