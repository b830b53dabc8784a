//go:build unix

package warehouse_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"trusstally/sql/warehouse"
)

// TestFilesOfAWriter: the warehouse and its .wal are their owner's alone, also the .wal that
// a commit makes long after opening.
func TestFilesOfAWriter(t *testing.T) {
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), warehouse.FileName)
	for range 2 { // new, and there already
		w, err := warehouse.Open(ctx, file)
		if err != nil {
			t.Fatal(err)
		}
		for _, statement := range []string{"CHECKPOINT", "INSERT INTO jobs (job, import_id, import_line, occurrence) VALUES ('J1', 1, 1, 1)"} {
			if _, err := w.DB.ExecContext(ctx, statement); err != nil {
				t.Fatal(err)
			}
		}
		for _, name := range []string{file, file + ".wal"} {
			info, err := os.Stat(name)
			if err != nil {
				t.Fatal(err)
			}
			if mode := info.Mode().Perm(); mode != 0o600 {
				t.Errorf("%s has mode %o while it is written", filepath.Base(name), mode)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
	}
}
