package warehouse

import (
	"context"
	"fmt"
	"strings"
)

// What the engine may keep in memory while files are read in, in MiB: enough for a year of a
// large plant's records, and no more for a file of any size. What does not fit is put on disk
// beside the warehouse. Each thread has rows of its own in hand, which it cannot put away.
const (
	landingMiB       = 192
	landingMiBThread = 64
)

// LandingMiB is the bound of memory while files are read in, for an engine of so many threads.
func LandingMiB(threads int) int { return landingMiB + threads*landingMiBThread }

// BoundMemory bounds what the engine of a writer keeps in memory, while files are read in;
// bound says how many MiB for how many threads, and 0 to leave it as it is. lift lifts the bound
// again, in the transaction or outside of one: the ledgers are built faster with all the memory
// that there is. What would need more and can't be put on disk is an error (OutOfMemory).
func (w *Warehouse) BoundMemory(ctx context.Context, bound func(threads int) int) (lift func(execer) error, err error) {
	var threads int
	var before string
	if err := w.DB.QueryRowContext(ctx, "SELECT current_setting('threads')::INTEGER, current_setting('memory_limit')").Scan(&threads, &before); err != nil {
		return nil, fmt.Errorf("ask for the engine's threads and memory: %w", err)
	}
	if bound(threads) == 0 {
		return func(execer) error { return nil }, nil
	}
	set := func(on execer, limit string) error {
		if _, err := on.ExecContext(ctx, "SET memory_limit='"+limit+"'"); err != nil {
			return fmt.Errorf("bound the engine's memory: %w", err)
		}
		return nil
	}
	// RESET would change what the setting says and leave the bound where it is.
	return func(on execer) error { return set(on, before) }, set(w.DB, fmt.Sprintf("%dMiB", bound(threads)))
}

// OutOfMemory says whether an error is the engine's word that its memory does not do.
func OutOfMemory(err error) bool {
	return strings.Contains(err.Error(), "Out of Memory Error") || strings.Contains(err.Error(), "could not allocate")
}
