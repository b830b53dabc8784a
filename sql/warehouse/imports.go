package warehouse

import (
	"context"
	"database/sql"
	"time"
)

// Import is one line of the import log.
type Import struct {
	ID        int64
	Read      time.Time // zero for imports older than this column
	File      string
	Feed      string
	New       int64
	Changed   int64
	Unchanged int64
	Removed   int64
	Refused   int64
	FirstOn   string    // first date in its rows, ISO, "" when there is none
	LastOn    string    // last date, likewise
	Undone    time.Time // zero while the import is in force
}

// Imports returns the import log in order of reading.
func (w *Warehouse) Imports(ctx context.Context) ([]Import, error) {
	rows, err := w.DB.QueryContext(ctx, `
SELECT import_id, read_utc, file_name, feed, rows_new, rows_changed, rows_unchanged, rows_removed, rejected,
    coalesce(CAST(first_on AS VARCHAR), ''), coalesce(CAST(last_on AS VARCHAR), ''), undone_utc
FROM imports
ORDER BY import_id`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var imports []Import
	for rows.Next() {
		var i Import
		var read, undone sql.NullTime
		if err := rows.Scan(&i.ID, &read, &i.File, &i.Feed, &i.New, &i.Changed, &i.Unchanged, &i.Removed, &i.Refused, &i.FirstOn, &i.LastOn, &undone); err != nil {
			return nil, err
		}
		i.Read, i.Undone = read.Time, undone.Time
		imports = append(imports, i)
	}
	return imports, rows.Err()
}
