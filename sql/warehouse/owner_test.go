//go:build unix

package warehouse_test

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"trusstally/sql/warehouse"
)

// TestFilesOfAWriter: the warehouse, its .wal, also the one that a commit makes long after
// opening, and the lock file are their owner's alone, whatever the umask, and whatever mode
// they came with. Afterwards the process makes files as before.
func TestFilesOfAWriter(t *testing.T) {
	old := syscall.Umask(0)
	defer syscall.Umask(old)
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), warehouse.FileName)
	for _, before := range []string{"new", "there", "there for everybody"} {
		if before == "there for everybody" {
			for _, name := range []string{file, file + ".lock"} {
				if err := os.Chmod(name, 0o644); err != nil {
					t.Fatal(err)
				}
			}
		}
		lock, err := warehouse.TakeLock(file, time.Date(2026, 3, 16, 9, 0, 0, 0, time.UTC))
		if err != nil {
			t.Fatal(err)
		}
		w, err := warehouse.Open(ctx, file)
		if err != nil {
			t.Fatal(err)
		}
		for _, statement := range []string{"CHECKPOINT", "INSERT INTO jobs (job, import_id, import_line, occurrence) VALUES ('J1', 1, 1, 1)"} {
			if _, err := w.DB.ExecContext(ctx, statement); err != nil {
				t.Fatal(err)
			}
		}
		for _, name := range []string{file, file + ".wal", file + ".lock"} {
			if mode := modeOf(t, name); mode != 0o600 {
				t.Errorf("%s: %s has mode %o while it is written", before, filepath.Base(name), mode)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		if err := lock.Release(); err != nil {
			t.Fatal(err)
		}
		if mode := modeOf(t, file); mode != 0o600 {
			t.Errorf("%s: %s has mode %o", before, filepath.Base(file), mode)
		}
	}
	plain := filepath.Join(filepath.Dir(file), "plain")
	if err := os.WriteFile(plain, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if mode := modeOf(t, plain); mode != 0o666 {
		t.Errorf("after the last writer a file has mode %o, want 666", mode)
	}
}

func modeOf(t *testing.T, name string) fs.FileMode {
	t.Helper()
	info, err := os.Stat(name)
	if err != nil {
		t.Fatal(err)
	}
	return info.Mode().Perm()
}

// TestLeftWAL: a .wal that a writer left which was killed is closed to others before it is
// read.
func TestLeftWAL(t *testing.T) {
	ctx := context.Background()
	from, to := filepath.Join(t.TempDir(), warehouse.FileName), filepath.Join(t.TempDir(), warehouse.FileName)
	w, err := warehouse.Open(ctx, from)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.DB.ExecContext(ctx, "INSERT INTO jobs (job, import_id, import_line, occurrence) VALUES ('J1', 1, 1, 1)"); err != nil {
		t.Fatal(err)
	}
	for _, ending := range []string{"", ".wal"} {
		data, err := os.ReadFile(from + ending)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(to+ending, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	again, err := warehouse.Open(ctx, to)
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	for _, ending := range []string{"", ".wal"} {
		info, err := os.Stat(to + ending)
		if ending == ".wal" && os.IsNotExist(err) {
			continue // read, and gone
		}
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s%s: %v, %v", warehouse.FileName, ending, info.Mode(), err)
		}
	}
	var jobs int
	if err := again.DB.QueryRowContext(ctx, "SELECT count(*) FROM jobs").Scan(&jobs); err != nil || jobs != 1 {
		t.Errorf("%d jobs, %v", jobs, err)
	}
}
