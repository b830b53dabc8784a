package workbook

import (
	"errors"
	"fmt"
	"iter"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// rowsOf are rows as a sheet gives them, reused one for the next.
func rowsOf(rows [][]any, last error) iter.Seq2[[]any, error] {
	return func(yield func([]any, error) bool) {
		var row []any
		for _, cells := range rows {
			row = append(row[:0], cells...)
			if !yield(row, nil) {
				return
			}
		}
		if last != nil {
			yield(nil, last)
		}
	}
}

// taken are the rows of a sheet on the shelf.
func taken(t *testing.T, shelf *Shelf, sheet string) [][]any {
	t.Helper()
	var rows [][]any
	for row, err := range shelf.Rows(sheet) {
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, append([]any{}, row...))
	}
	return rows
}

// TestShelf: what was put comes back, sheet by sheet, side by side, from memory and from a
// file.
func TestShelf(t *testing.T) {
	for _, wide := range []int{1, spillLimit / 3} {
		t.Run(fmt.Sprint(wide), func(t *testing.T) {
			want := map[string][][]any{
				"first":  {{"a", Number("-0.10"), nil}, {strings.Repeat("é", wide/2), Number("12345678901234567890.5"), time.Date(2026, 11, 9, 6, 30, 1, 0, time.UTC)}},
				"empty":  nil,
				"second": {{strings.Repeat("x", wide)}, {"y"}, {strings.Repeat("z", wide)}, {strings.Repeat("v", wide)}},
			}
			var shelf Shelf
			defer shelf.Close()
			for _, sheet := range []string{"first", "empty", "second"} {
				columns := 3
				if sheet == "second" {
					columns = 1
				}
				if err := shelf.Put(sheet, columns, rowsOf(want[sheet], nil)); err != nil {
					t.Fatal(err)
				}
			}
			if inFile := shelf.data.file != nil; inFile != (wide > 1) {
				t.Fatalf("in a file: %v", inFile)
			}
			var readers sync.WaitGroup
			for range 4 {
				readers.Add(1)
				go func() {
					defer readers.Done()
					for sheet, rows := range want {
						var got [][]any
						for row, err := range shelf.Rows(sheet) {
							if err != nil {
								t.Error(err)
								return
							}
							got = append(got, append([]any{}, row...))
						}
						if diff := cmp.Diff(rows, got); diff != "" {
							t.Errorf("%s (-want +got):\n%.500s", sheet, diff)
						}
					}
				}()
			}
			readers.Wait()
		})
	}
}

// TestShelfRefuses: a name put twice or never, a row of another width, a cell that is none;
// the rows' own error comes through.
func TestShelfRefuses(t *testing.T) {
	var shelf Shelf
	defer shelf.Close()
	if err := shelf.Put("sheet", 1, rowsOf([][]any{{"a"}}, nil)); err != nil {
		t.Fatal(err)
	}
	own := errors.New("the rows' own")
	for name, err := range map[string]error{
		"twice": shelf.Put("sheet", 1, rowsOf(nil, nil)),
		"width": shelf.Put("narrow", 2, rowsOf([][]any{{"a"}}, nil)),
		"cell":  shelf.Put("odd", 1, rowsOf([][]any{{1.5}}, nil)),
	} {
		if err == nil {
			t.Errorf("%s: taken", name)
		}
	}
	if err := shelf.Put("broken", 1, rowsOf([][]any{{"a"}}, own)); !errors.Is(err, own) {
		t.Errorf("the rows' error is %v", err)
	}
	for _, err := range shelf.Rows("never") {
		if err == nil {
			t.Error("a sheet that was never put has rows")
		}
	}
	if diff := cmp.Diff([][]any{{"a"}}, taken(t, &shelf, "sheet")); diff != "" {
		t.Error(diff)
	}
}
