package main

import (
	"compress/gzip"
	"crypto/sha256"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/plant"
	"trusstally/sql/warehouse"
)

// upgradePlant is a warehouse of the first schema with the files that it has read;
// its why.txt says how it was made.
const upgradePlant = "testdata/upgrade"

// TestUpgrade: a warehouse of the first schema, opened by today's program, gives the books
// of a plant that read the same files with today's program, byte for byte, now and after
// the next files.
func TestUpgrade(t *testing.T) {
	settings := readText(t, upgradePlant, "plant.toml")
	older, fresh := newTestPlant(t, settings, nil), newTestPlant(t, settings, nil)
	older.write(warehouse.FileName, gunzipped(t, filepath.Join(upgradePlant, "plant.duckdb.gz")))
	if err := os.MkdirAll(filepath.Join(older.dir, "archive"), 0o700); err != nil {
		t.Fatal(err)
	}
	for _, run := range []string{"1", "2"} {
		files := filesOf(t, filepath.Join(upgradePlant, run))
		fresh.run(append([]string{"import"}, inFeedOrder(t, files)...)...) // exits with 1 for the refused rows
		for _, file := range files {
			text := readText(t, file)
			older.write(fmt.Sprintf("archive/%x.csv", sha256.Sum256([]byte(text))), text)
		}
	}
	if version := older.oldSchema(); version != 1 {
		t.Fatalf("the fixture has schema %d, want 1", version)
	}
	for _, p := range []*testPlant{older, fresh} {
		p.runWith("")
	}
	sameBooks(t, older, fresh)
	// The newest file's import builds on those of the first program.
	for _, p := range []*testPlant{older, fresh} {
		p.runWith(filepath.Join(upgradePlant, "3"))
	}
	sameBooks(t, older, fresh)
	for _, p := range []*testPlant{older, fresh} {
		if stdout, stderr, code := p.run("undo", "14"); code != exitFine {
			t.Fatalf("undo: exit %d\n%s%s", code, stdout, stderr)
		}
	}
	sameAnswers(t, older, fresh)
}

// runWith copies the folder's files into inbox/ and runs the week; "" for none.
func (p *testPlant) runWith(folder string) {
	p.t.Helper()
	if err := os.MkdirAll(filepath.Join(p.dir, "inbox"), 0o755); err != nil {
		p.t.Fatal(err)
	}
	if folder != "" {
		for _, file := range filesOf(p.t, folder) {
			p.write("inbox/"+filepath.Base(file), readText(p.t, file))
		}
	}
	if stdout, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
		p.t.Fatalf("run: exit %d\n%s%s", code, stdout, stderr)
	}
}

// oldSchema is the newest schema that the warehouse file has, without opening it for writing.
func (p *testPlant) oldSchema() (version int) {
	p.t.Helper()
	if err := p.open().DB.QueryRow("SELECT max(version) FROM schema_versions").Scan(&version); err != nil {
		p.t.Fatal(err)
	}
	p.release()
	return version
}

// sameBooks holds each book of one plant against the other's, and what check says.
func sameBooks(t *testing.T, older, fresh *testPlant) {
	t.Helper()
	books, err := filepath.Glob(filepath.Join(fresh.dir, "books", "*", "*.xlsx"))
	if err != nil || len(books) != 4 {
		t.Fatalf("%d books, want 4 (%v)", len(books), err)
	}
	for _, book := range books {
		name, err := filepath.Rel(fresh.dir, book)
		if err != nil {
			t.Fatal(err)
		}
		if readText(t, book) != readText(t, older.dir, name) {
			t.Errorf("%s is not that of a fresh import", name)
		}
	}
	sameAnswers(t, older, fresh)
}

// sameAnswers holds what check says, and the rows that history gives back, against each other:
// all but the numbers of imports, for the first version read feeds in another order.
func sameAnswers(t *testing.T, older, fresh *testPlant) {
	t.Helper()
	for _, arguments := range [][]string{
		{"check"},
		{"query", "--wages", "--format", "csv", "SELECT * EXCLUDE (import_id) FROM rejects ORDER BY ALL"},
		{"query", "--wages", "--format", "csv", "SELECT * EXCLUDE (import_id) FROM timecards ORDER BY ALL"},
		{"query", "--wages", "--format", "csv", "SELECT * EXCLUDE (import_id) FROM dollar_ledger ORDER BY ALL"},
	} {
		was, _, _ := older.run(arguments...)
		want, _, _ := fresh.run(arguments...)
		if diff := cmp.Diff(want, was); diff != "" {
			t.Errorf("%v of the upgraded plant differs (-fresh +upgraded):\n%s", arguments, diff)
		}
	}
}

// inFeedOrder puts files in the order in which run reads them.
func inFeedOrder(t *testing.T, files []string) []string {
	t.Helper()
	incoming, err := (&program{}).incomingOf(files, "", &folder{settings: &plant.Settings{}})
	if err != nil {
		t.Fatal(err)
	}
	sortIncoming(incoming)
	ordered := make([]string, len(incoming))
	for i, file := range incoming {
		ordered[i] = file.path
	}
	return ordered
}

func filesOf(t *testing.T, folder string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*.csv"))
	if err != nil || len(files) == 0 {
		t.Fatalf("%s holds %d files (%v)", folder, len(files), err)
	}
	return files
}

func gunzipped(t *testing.T, file string) string {
	t.Helper()
	zipped, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer zipped.Close()
	reader, err := gzip.NewReader(zipped)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(reader)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
