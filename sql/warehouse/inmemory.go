package warehouse

import (
	"context"
	"fmt"
)

// OpenMemory opens a warehouse in memory that has the arithmetic of the ledgers and no table:
// for SQL over figures that come from the warehouses of several plants. It reads and writes no
// file.
func OpenMemory(ctx context.Context) (*Warehouse, error) {
	w, err := connect(ctx, "", "", append([]string{"SET temp_directory=''", "SET enable_external_access=false"}, noExtensions...))
	if err != nil {
		return nil, err
	}
	const arithmetic = "ledgers/05_arithmetic.sql"
	text, err := sqlText(arithmetic)
	if err == nil {
		_, err = w.DB.ExecContext(ctx, text)
	}
	if err != nil {
		w.Close()
		return nil, fmt.Errorf("sql/%s: %w", arithmetic, err)
	}
	return w, nil
}
