package workbook

import (
	"errors"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Rows come back as they went in, in memory and from a file, all of them and the first few.
func TestSpoolGivesBackItsRows(t *testing.T) {
	cell := rapid.OneOf(
		rapid.Just[any](nil),
		rapid.Map(rapid.String(), func(text string) any { return text }),
		rapid.Map(rapid.StringMatching(`-?[0-9]{1,20}(\.[0-9]{1,4})?`), func(text string) any { return Number(text) }),
		rapid.Map(rapid.Int64Range(-1<<36, 1<<36), func(seconds int64) any { return time.Unix(seconds, 0).UTC() }),
	)
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfN(rapid.SliceOfN(cell, 3, 3), 0, 20).Draw(t, "rows")
		limit := rapid.IntRange(0, 25).Draw(t, "limit")
		var s spool
		for _, row := range rows {
			if err := s.add(row); err != nil {
				t.Fatal(err)
			}
		}
		want := rows
		if limit > 0 {
			want = rows[:min(limit, len(rows))]
		}
		for range 2 { // the second walk is like the first
			if diff := cmp.Diff(want, spooled(t, &s, limit), cmp.Transformer("empty", emptyRows)); diff != "" {
				t.Fatalf("(-want +got):\n%s", diff)
			}
		}
		if err := s.data.close(); err != nil {
			t.Fatal(err)
		}
	})
}

// emptyRows makes no rows and nil the same.
func emptyRows(rows [][]any) [][]any { return append([][]any{}, rows...) }

type fataler interface{ Fatal(...any) }

func spooled(t fataler, s *spool, limit int) [][]any {
	var got [][]any
	err := s.each(3, limit, func(_ int, row []any) error {
		got = append(got, slices.Clone(row))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// Rows beyond the limit of memory are in a file that only this user can read, and that is
// gone when the spool is closed.
func TestSpoolBeyondMemory(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	var s spool
	text := strings.Repeat("x", 1000)
	rows := 2*spillLimit/len(text) + 1
	for range rows {
		if err := s.add([]any{text, Number("1"), nil}); err != nil {
			t.Fatal(err)
		}
	}
	got := spooled(t, &s, 0)
	if len(got) != rows || got[0][0] != text || got[rows-1][0] != text {
		t.Errorf("%d rows came back of %d", len(got), rows)
	}
	info, err := s.data.file.Stat()
	if err != nil {
		t.Fatal(err)
	}
	if mode := info.Mode().Perm(); mode != 0o600 {
		t.Errorf("the file has mode %v", mode)
	}
	if err := s.data.close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(s.data.file.Name()); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the file is still there: %v", err)
	}
}

func TestWrap(t *testing.T) {
	for _, test := range []struct {
		name, text string
		width      float64
		want       []string
	}{
		{"fits", "two words", 20, []string{"two words"}},
		{"breaks at blanks", "two words", 5, []string{"two", "words"}},
		{"keeps a long word", "unbreakable", 3, []string{"unbreakable"}},
		{"keeps line breaks", "Cost\nUSD", 40, []string{"Cost", "USD"}},
		{"nothing", "  ", 40, nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			if diff := cmp.Diff(test.want, wrap(test.text, test.width, false)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}
