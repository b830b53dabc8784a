package reports

import (
	"context"
	"io"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/plant"
	"trusstally/sql/warehouse"
)

// emptyPlant is a warehouse of a plant that has read nothing, with its ledgers built.
func emptyPlant(t *testing.T) *warehouse.Warehouse {
	t.Helper()
	ctx := context.Background()
	w, err := warehouse.Open(ctx, filepath.Join(t.TempDir(), warehouse.FileName))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.Close() })
	settings, err := plant.Parse([]byte("[plant]\nname = \"x\"\ntimezone = \"America/Chicago\"\n[[station]]\ncode = \"T1\"\nkind = \"table\"\n"), nil)
	if err != nil {
		t.Fatal(err)
	}
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	if err := warehouse.BuildLedgers(ctx, tx, settings); err != nil {
		t.Fatal(err)
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
	return w
}

// What the books remember is what the pages would read, and all of it: after the books are
// written the pages are the same, and need no warehouse at all.
func TestPagesShowWhatTheBooksShowed(t *testing.T) {
	ctx := context.Background()
	w := emptyPlant(t)
	period, err := Week("2026-W46", time.Monday)
	if err != nil {
		t.Fatal(err)
	}
	books, err := Books(warehouse.ReportFiles())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := KeepChecks(ctx, w); err != nil {
		t.Fatal(err)
	}
	if _, err := Fill(ctx, w, period, books...); err != nil {
		t.Fatal(err)
	}
	week, wall, err := Pages(ctx, books, w, period, "x")
	if err != nil {
		t.Fatal(err)
	}
	RememberForPages(books)
	for _, book := range books {
		if err := book.Write(ctx, io.Discard, w, book.PeriodOf(period), "x"); err != nil {
			t.Fatal(err)
		}
	}
	other, err := Week("2026-W45", time.Monday)
	if err != nil {
		t.Fatal(err)
	}
	for _, book := range books {
		for _, d := range append([]*Definition{book.front}, book.Sheets...) {
			during := period
			during.book = book.Name
			if remembered := slices.Contains(pageSheets, d.Sheet) && !book.Monthly; d.shown.of(during) != remembered {
				t.Errorf("%s of %s: remembered is %v", d.Sheet, book.Name, !remembered)
			}
			if other.book = book.Name; d.shown.of(other) {
				t.Errorf("%s of %s is taken for another week's", d.Sheet, book.Name)
			}
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	again, wallAgain, err := Pages(ctx, books, w, period, "x")
	if err != nil {
		t.Fatalf("a page asked the warehouse for what its book had shown: %v", err)
	}
	if difference := cmp.Diff(week, again); difference != "" {
		t.Error(difference)
	}
	if difference := cmp.Diff(wall, wallAgain); difference != "" {
		t.Error(difference)
	}
}

// A solution is put in once, whatever is kept already, and only what is asked for is read.
func TestKeptSolutions(t *testing.T) {
	ctx := context.Background()
	w := emptyPlant(t)
	first := CutSolution{Key: "a", Bound: 1, Cost: 2, Boards: "768:3", TooLong: 4}
	second := CutSolution{Key: "b", Bound: 5, Cost: 6, Boards: "", TooLong: 0}
	for _, solutions := range [][]CutSolution{{first}, {first, second}, {}} {
		if err := KeepCutting(ctx, w, solutions); err != nil {
			t.Fatal(err)
		}
	}
	var rows int
	if err := w.DB.QueryRowContext(ctx, "SELECT count(*) FROM cut_solutions").Scan(&rows); err != nil || rows != 2 {
		t.Errorf("%d rows are kept, want 2 (%v)", rows, err)
	}
	if err := makeCutTables(ctx, w); err != nil {
		t.Fatal(err)
	}
	known, err := keptSolutions(ctx, w, map[string]cutProblem{"b": {}, "c": {}})
	if err != nil {
		t.Fatal(err)
	}
	if difference := cmp.Diff(map[string]CutSolution{"b": second}, known); difference != "" {
		t.Error(difference)
	}
}
