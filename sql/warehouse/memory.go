package warehouse

import (
	"context"
	"database/sql"
	"fmt"
)

// What the engine may keep in memory while files are read in, in MiB: enough for a year of a
// large plant's records, and no more for a file of any size. What does not fit is put on disk
// beside the warehouse. Each thread has rows of its own in hand, which it cannot put away.
const (
	landingMiB       = 192
	landingMiBThread = 64
)

// BoundMemory bounds what the engine keeps in memory on tx's connection, which must be a
// writer's, while files are read in. free lifts the bound again: the ledgers are built
// faster with all the memory that there is.
func BoundMemory(ctx context.Context, tx *sql.Tx) (free func() error, err error) {
	var threads int
	if err := tx.QueryRowContext(ctx, "SELECT current_setting('threads')::INTEGER").Scan(&threads); err != nil {
		return nil, fmt.Errorf("ask for the engine's threads: %w", err)
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("SET memory_limit='%dMiB'", landingMiB+threads*landingMiBThread)); err != nil {
		return nil, fmt.Errorf("bound the engine's memory: %w", err)
	}
	return func() error {
		_, err := tx.ExecContext(ctx, "RESET memory_limit")
		return err
	}, nil
}
