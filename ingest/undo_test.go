package ingest

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/problem"
)

// undo undoes an import and returns the code word of what refuses it, "" when it is undone.
func (w *testWarehouse) undo(importID int64) (*Undone, string) {
	w.t.Helper()
	undone, err := Undo(context.Background(), w.tx, importID, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
	var refused problem.List
	switch {
	case err == nil:
		return undone, ""
	case errors.As(err, &refused):
		return nil, refused[0].Code
	default:
		w.t.Fatal(err)
		return nil, ""
	}
}

// state is everything that the merges of a feed and their undoing may touch.
func (w *testWarehouse) state(feed string) []string {
	w.t.Helper()
	var all []string
	for _, query := range []string{
		"SELECT 'row', * FROM " + feed, "SELECT 'history', * FROM history." + feed,
		"SELECT 'base', * FROM import_bases", "SELECT 'place', * FROM row_places", "SELECT 'reject', * FROM rejects",
		"SELECT 'refused', * FROM refused_rows",
	} {
		all = append(all, w.rows(query+" ORDER BY ALL")...)
	}
	return all
}

// TestUndo lands files, undoes an import, and expects the rows as before it, with their own
// imports and lines; or the refusal.
func TestUndo(t *testing.T) {
	const cards = "employee,work_date,started_at\n"
	const jobs = "job,price_usd\n"
	w := newTestWarehouse(t)
	for _, c := range []struct {
		name    string
		files   []string // name and text
		undo    int64
		want    Undone
		refused string
	}{
		{"what was new goes", []string{"jobs-1.csv", jobs + "J1,100\n", "jobs-2.csv", jobs + "J2,100\n"}, 2, Undone{TakenOut: 1}, ""},
		{"what was superseded comes back", []string{"jobs-1.csv", jobs + "J1,100\n", "jobs-2.csv", jobs + "J1,150\nJ2,1\n"}, 2, Undone{TakenOut: 2, Restored: 1}, ""},
		{"what was removed comes back", []string{
			"timecards-1.csv", cards + "E1,2026-08-24,2026-08-24 06:00\nE1,2026-08-24,2026-08-24 06:00\nE1,2026-08-24,2026-08-24 10:30\n",
			"timecards-2.csv", cards + "E1,2026-08-24,2026-08-24 06:00\nE1,2026-08-24,2026-08-24 09:30\n",
		}, 2, Undone{TakenOut: 1, Restored: 2}, ""},
		{"an earlier import on which nothing builds", []string{"jobs-1.csv", jobs + "J1,100\n", "jobs-2.csv", jobs + "J2,100\n"}, 1, Undone{TakenOut: 1}, ""},
		{"refused rows are forgotten", []string{"jobs-1.csv", jobs + "J1,100\nJ2,x\n"}, 1, Undone{TakenOut: 1}, ""},
		{"a later import took the place of its row", []string{"jobs-1.csv", jobs + "J1,100\n", "jobs-2.csv", jobs + "J1,150\n"}, 1, Undone{}, CodeBuiltOn},
		{"a later import found its row unchanged", []string{"jobs-1.csv", jobs + "J1,100\n", "jobs-2.csv", jobs + "J1,100\nJ2,100\n"}, 1, Undone{}, CodeBuiltOn},
		{"a later import met the group without the row that it removed", []string{
			"timecards-1.csv", cards + "E1,2026-08-24,2026-08-24 06:00\nE1,2026-08-24,2026-08-24 10:30\n",
			"timecards-2.csv", cards + "E1,2026-08-24,2026-08-24 06:00\n",
			"timecards-3.csv", cards + "E1,2026-08-24,2026-08-24 06:00\nE2,2026-08-24,2026-08-24 06:00\n",
		}, 2, Undone{}, CodeBuiltOn},
		{"an import that brought nothing", []string{"jobs-1.csv", jobs + "J1,100\n", "jobs-2.csv", jobs + "J1,100.00\n"}, 2, Undone{}, ""},
		{"no such import", []string{"jobs-1.csv", jobs + "J1,100\n"}, 7, Undone{}, CodeUnknownImport},
	} {
		t.Run(c.name, func(t *testing.T) {
			w.begin()
			feed, _, _ := strings.Cut(c.files[0], "-")
			var before []string
			for i := 0; i < len(c.files); i += 2 {
				if int64(i/2+1) != c.undo { // as if the import to be undone had never been
					w.mustLand(c.files[i], c.files[i+1])
				}
			}
			before = w.rows("SELECT * EXCLUDE (import_id) FROM " + feed + " ORDER BY ALL")
			w.begin()
			for i := 0; i < len(c.files); i += 2 {
				w.mustLand(c.files[i], c.files[i+1])
			}
			now := w.state(feed)
			got, refused := w.undo(c.undo)
			if refused != c.refused {
				t.Fatalf("refused [%s], want [%s]", refused, c.refused)
			}
			if refused != "" {
				if diff := cmp.Diff(now, w.state(feed)); diff != "" {
					t.Errorf("a refused undo changed rows (-before +after):\n%s", diff)
				}
				return
			}
			if got.TakenOut != c.want.TakenOut || got.Restored != c.want.Restored {
				t.Errorf("%d taken out and %d restored, want %d and %d", got.TakenOut, got.Restored, c.want.TakenOut, c.want.Restored)
			}
			if diff := cmp.Diff(before, w.rows("SELECT * EXCLUDE (import_id) FROM "+feed+" ORDER BY ALL")); diff != "" {
				t.Errorf("rows (-never imported +undone):\n%s", diff)
			}
			if _, again := w.undo(c.undo); again != CodeAlreadyUndone {
				t.Errorf("undone twice: [%s], want [%s]", again, CodeAlreadyUndone)
			}
			at := 2 * (int(c.undo) - 1)
			if back := w.mustLand(c.files[at], c.files[at+1]); back.AlreadyRead {
				t.Error("the file of an undone import is taken for read")
			}
		})
	}
}

// TestUndoOfClosedMonth: a closing stands on the imports read before it.
func TestUndoOfClosedMonth(t *testing.T) {
	const cards = "employee,work_date,started_at\n"
	w := newTestWarehouse(t)
	for _, c := range []struct{ name, file, text, refused string }{
		{"rows of the month", "timecards-1.csv", cards + "E1,2026-10-31,2026-10-31 06:00\n", CodeClosedWith},
		{"rows after the month", "timecards-1.csv", cards + "E1,2026-11-01,2026-11-01 06:00\n", ""},
		{"rows without a date", "trusses-1.csv", "job,truss,quantity\nJ1,A,2\n", CodeClosedWith},
		{"no rows", "timecards-1.csv", cards + "E1,2026-10-31,noon\n", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			w.begin()
			w.mustLand(c.file, c.text)
			if _, err := w.tx.Exec("INSERT INTO closed_months (month, until_on, last_import_id) VALUES (DATE '2026-10-01', DATE '2026-11-01', 1)"); err != nil {
				t.Fatal(err)
			}
			w.mustLand(strings.Replace(c.file, "1", "2", 1), c.text+"\n") // read after the closing: nothing stands on it
			if _, refused := w.undo(2); refused != "" {
				t.Errorf("read after the closing: [%s]", refused)
			}
			if _, refused := w.undo(1); refused != c.refused {
				t.Errorf("[%s], want [%s]", refused, c.refused)
			}
		})
	}
}

// TestRandomUndo lands random corrections of one day's groups, some of them refused, and
// undoes random imports: undoing the newest always leads back to exactly what was there before it, and a refused
// undo changes nothing.
func TestRandomUndo(t *testing.T) {
	w := newTestWarehouse(t)
	for seed := range uint64(6) {
		w.begin()
		r := rand.New(rand.NewPCG(seed, 11))
		type landed struct {
			id     int64
			before []string
		}
		var stack []landed
		for step := range 10 {
			if len(stack) > 0 && r.IntN(3) == 0 {
				if at := r.IntN(len(stack)); at < len(stack)-1 {
					before := w.state("lumber_usage")
					if _, refused := w.undo(stack[at].id); refused == CodeBuiltOn && !slices.Equal(before, w.state("lumber_usage")) {
						t.Fatalf("seed %d: a refused undo changed something", seed)
					} else if refused == "" {
						break // what was before the others is not known any more
					}
					continue
				}
				top := stack[len(stack)-1]
				stack = stack[:len(stack)-1]
				if _, refused := w.undo(top.id); refused != "" {
					t.Fatalf("seed %d: the newest import can't be undone: [%s]", seed, refused)
				}
				if diff := cmp.Diff(top.before, w.state("lumber_usage")); diff != "" {
					t.Fatalf("seed %d, step %d (-before +undone):\n%s", seed, step, diff)
				}
				continue
			}
			var text strings.Builder
			text.WriteString("record,used_at,station,job,size,species,grade,length,boards,reason\n")
			for range 1 + r.IntN(6) {
				record := []string{"", "", fmt.Sprintf("U%d", r.IntN(4))}[r.IntN(3)]
				fmt.Fprintf(&text, "%s,2026-08-%d,%s,J1,2x4,SPF,No. 2,16,%s,cut\n", record, 24+r.IntN(2), []string{"S1", "T1"}[r.IntN(2)], []string{"1", "2", "3", "x"}[r.IntN(4)])
			}
			text.WriteString(strings.Repeat("\n", step)) // never the same bytes twice
			before := w.state("lumber_usage")
			receipt := w.mustLand(fmt.Sprintf("lumber_usage-%d.csv", step), text.String())
			stack = append(stack, landed{receipt.ImportID, before})
		}
	}
}
