package main

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"io"
	"os"
	"path/filepath"
	"testing"

	"trusstally/sql/warehouse"
)

// TestBackup: a backup that is unpacked into an empty folder is the plant, and writes the
// same books; what a run left unfinished is not in it, nor are logs.
func TestBackup(t *testing.T) {
	week := filepath.Join(reportPlants, "week")
	plant := newTestPlant(t, readText(t, week, "plant.toml"), feedTexts(t, week))
	plant.runWith("")
	plant.write("inbox/jobs-later.csv", "job,price_usd\nJ9,100\n")
	for _, folder := range []string{"templates", "books/logs"} {
		if err := os.MkdirAll(filepath.Join(plant.dir, folder), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	plant.write("templates/jobs.csv", "job,price_usd\nJ8,half filled in\n")
	plant.write("books/logs/run.log", "x")
	plant.write("inbox/"+warehouse.UnfinishedPrefix+"1", "x")
	target := filepath.Join(t.TempDir(), "plant.zip")
	stdout, stderr, code := plant.run("backup", target)
	if code != exitFine || stderr != "" {
		t.Fatalf("exit %d\n%s%s", code, stdout, stderr)
	}
	if info, err := os.Stat(target); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v, %v: a backup is its owner's alone", info, err)
	}

	restored := newTestPlant(t, "", nil)
	unpack(t, target, restored.dir)
	for _, file := range []string{"plant.toml", "plant.duckdb", "inbox/jobs-later.csv", "templates/jobs.csv", "books/2026-W12/job-margin.xlsx"} {
		if readText(t, restored.dir, file) != readText(t, plant.dir, file) {
			t.Errorf("%s is not what it was", file)
		}
	}
	for _, file := range []string{"inbox/" + warehouse.UnfinishedPrefix + "1", "books/logs"} {
		if _, err := os.Stat(filepath.Join(restored.dir, file)); err == nil {
			t.Errorf("%s is in the backup", file)
		}
	}
	if err := os.RemoveAll(filepath.Join(restored.dir, "books")); err != nil {
		t.Fatal(err)
	}
	for _, p := range []*testPlant{plant, restored} {
		p.runWith("") // with the file in inbox/
	}
	sameBooks(t, plant, restored)

	t.Run("file-exists", func(t *testing.T) {
		_, stderr, code := plant.run("backup", target)
		if code != exitUsage {
			t.Errorf("exit %d, want %d", code, exitUsage)
		}
		compareProblem(t, codeFileExists, string(bytes.ReplaceAll([]byte(stderr), []byte(filepath.ToSlash(target)), []byte("/backup/mill.zip"))))
	})
	t.Run("backup-differs", func(t *testing.T) {
		zipped, err := zip.OpenReader(target)
		if err != nil {
			t.Fatal(err)
		}
		defer zipped.Close()
		var files []string
		for _, part := range zipped.File {
			files = append(files, part.Name)
		}
		var got bytes.Buffer
		p := &program{stderr: &got}
		p.explain(p.rootCommand(), readBack(target, "/backup/mill.zip", files, make([][sha256.Size]byte, len(files))))
		compareProblem(t, codeBackupDiffers, got.String())
	})
	if _, stderr, code := plant.run("backup", filepath.Join(plant.dir, "no", "such.zip")); code != exitUsage {
		t.Errorf("a folder that is not there: exit %d\n%s", code, stderr)
	}
}

// unpack writes the files of a zip file into the folder, with their modes.
func unpack(t *testing.T, file, folder string) {
	t.Helper()
	archive, err := zip.OpenReader(file)
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	for _, part := range archive.File {
		from, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(from)
		if err != nil {
			t.Fatal(err)
		}
		target := filepath.Join(folder, filepath.FromSlash(part.Name))
		if err := os.MkdirAll(filepath.Dir(target), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(target, text, part.Mode().Perm()); err != nil {
			t.Fatal(err)
		}
	}
}
