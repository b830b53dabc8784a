package warehouse_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

// TestLock: one has it at a time, the other learns who; what a lock file says that nobody
// holds is never believed.
func TestLock(t *testing.T) {
	file := filepath.Join(t.TempDir(), warehouse.FileName)
	now := time.Date(2026, 11, 25, 9, 12, 0, 0, time.UTC)
	refused := func() string {
		t.Helper()
		lock, err := warehouse.TakeLock(file, now)
		var problems problem.List
		if lock != nil || !errors.As(err, &problems) || problems[0].Code != warehouse.CodeWarehouseLocked {
			t.Fatalf("%v, want [%s]", err, warehouse.CodeWarehouseLocked)
		}
		return problems[0].What
	}
	if err := os.WriteFile(file+".lock", []byte("1 2026-11-25T08:00:00Z\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	lock, err := warehouse.TakeLock(file, now)
	if err != nil {
		t.Fatalf("a lock file that nobody holds is believed: %v", err)
	}
	if what := refused(); !strings.Contains(what, fmt.Sprintf("(process %d", os.Getpid())) || !strings.Contains(what, "since 2026-11-25 09:12 UTC)") {
		t.Errorf("%q does not say who has it, since when", what)
	}
	for _, stale := range []string{"", "4194305 2026-11-25T08:00:00Z\n", "no process\n"} {
		if err := os.WriteFile(file+".lock", []byte(stale), 0o600); err != nil {
			t.Fatal(err)
		}
		if what := refused(); strings.Contains(what, "process") {
			t.Errorf("%q names a process that is not there: %q", stale, what)
		}
	}
	if err := lock.Release(); err != nil {
		t.Fatal(err)
	}
	again, err := warehouse.TakeLock(file, now)
	if err != nil {
		t.Fatalf("a released lock is not free: %v", err)
	}
	if err := again.Release(); err != nil {
		t.Fatal(err)
	}
}
