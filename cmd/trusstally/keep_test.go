package main

import (
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestCutShortOfItsName: a file that was written and can't get its name leaves nothing. What
// was refused stays under the name that nobody sees, until it can have its own.
func TestCutShortOfItsName(t *testing.T) {
	folder := t.TempDir()
	taken := filepath.Join(folder, "taken") // by a folder: no file gets this name
	if err := os.Mkdir(taken, 0o700); err != nil {
		t.Fatal(err)
	}
	source := filepath.Join(t.TempDir(), "jobs-1.csv")
	if err := os.WriteFile(source, []byte("job\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	left := func(want string) {
		t.Helper()
		var names []string
		entries, err := os.ReadDir(folder)
		for _, entry := range entries {
			names = append(names, entry.Name())
		}
		if got := strings.Join(names, " "); err != nil || got != want {
			t.Errorf("the folder holds %s, want %s (%v)", got, want, err)
		}
	}
	if err := writeFile(taken, []byte("x")); err == nil {
		t.Error("writeFile gives a file the name of a folder")
	}
	left("taken")
	if err := copyFile(taken, source, fmt.Sprintf("%x", sha256.Sum256([]byte("job\n")))); err == nil {
		t.Error("copyFile gives a file the name of a folder")
	}
	left("taken")
	staged := filepath.Join(folder, stagedPrefix+"1")
	if err := os.WriteFile(staged, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := settle(staged, taken); err == nil {
		t.Error("settle gives a file the name of a folder")
	}
	left(stagedPrefix + "1 taken")
}

// TestBackupWithoutName: a backup that can't get its name leaves nothing.
func TestBackupWithoutName(t *testing.T) {
	p := newTestPlant(t, testSettings, nil)
	folder := t.TempDir()
	if _, stderr, code := p.run("backup", filepath.Join(folder, strings.Repeat("x", 300)+".zip")); code == exitFine {
		t.Errorf("a name of 300 letters is taken\n%s", stderr)
	}
	if entries, err := os.ReadDir(folder); err != nil || len(entries) > 0 {
		t.Errorf("%v is left (%v)", entries, err)
	}
}
