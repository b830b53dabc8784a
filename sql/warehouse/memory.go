package warehouse

import (
	"context"
	"database/sql"
	"fmt"
)

// landingMemoryMiB is what the engine may keep in memory while files are read in: enough for
// a year of a large plant's records, and no more for a file of any size. What does not fit
// is put on disk beside the warehouse.
const landingMemoryMiB = 320

// BoundMemory bounds what the engine keeps in memory on tx's connection, which must be a
// writer's, while files are read in. free lifts the bound again: the ledgers are built
// faster with all the memory that there is.
func BoundMemory(ctx context.Context, tx *sql.Tx) (free func() error, err error) {
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("SET memory_limit='%dMiB'", landingMemoryMiB)); err != nil {
		return nil, fmt.Errorf("bound the engine's memory: %w", err)
	}
	return func() error {
		_, err := tx.ExecContext(ctx, "RESET memory_limit")
		return err
	}, nil
}
