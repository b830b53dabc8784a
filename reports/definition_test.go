package reports

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

// header is a good definition; each case of TestHeaderFaults spoils one line of it.
const header = `-- sheet:  tiny
-- title:  Tiny
-- reader: owner
-- grain:  one row
-- param:  from DATE first day
-- column: amount_usd | Amount | usd | sum | dollars
-- sort:   amount
SELECT 1 AS amount_usd
`

func TestHeaderFaults(t *testing.T) {
	cases := []struct{ name, old, with, want string }{
		{"misspelt key", "-- reader:", "-- raeder:", "x.sql:3: unknown header key (raeder) [unknown-key]\nhint: did you mean reader:?\nx.sql:8: the header has no reader [missing-key]\n"},
		{"missing key", "-- grain:  one row\n", "", "x.sql:7: the header has no grain [missing-key]\n"},
		{"repeated key", "-- grain:  one row\n", "-- grain: a\n-- grain: b\n", "x.sql:5: the header key grain stands twice [repeated-key]\n"},
		{"no value", "-- title:  Tiny", "-- title:", "x.sql:2: the header key title has no value [missing-value]\n"},
		{"four parts", "| sum | dollars", "| sum", "x.sql:6: a column line has 4 parts instead of 5 (amount_usd | Amount | usd | sum) [bad-column]\n"},
		{"unknown format", "| usd |", "| usdd |", "x.sql:6: unknown format (usdd) [bad-column]\n"},
		{"unit against format", "| usd |", "| bf |", "x.sql:6: the column amount_usd ends in _usd and has format bf [bad-column]\n"},
		{"chart of nothing", "-- sort:", "-- chart: bar | Sizes | size | amount_usd | USD | bars\n-- sort:", "x.sql:7: there is no column of that name (size) [unknown-column]\n"},
		{"chart without kind", "-- sort:", "-- chart: pie | Sizes | amount_usd | amount_usd | USD | bars\n-- sort:", "x.sql:7: not a chart line (pie | Sizes | amount_usd | amount_usd | USD | bars) [bad-chart]\n"},
		{"misspelt column of a link", "-- sort:", "-- link: amount_us | detail | job\n-- sort:", "x.sql:7: there is no column of that name (amount_us) [unknown-column]\nhint: did you mean amount_usd?\n"},
		{"bad parameter", "from DATE first day", "from", "x.sql:5: a parameter needs a name and a type (from) [bad-param]\n"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := ParseDefinition("x.sql", strings.Replace(header, c.old, c.with, 1))
			list, ok := err.(problem.List)
			if !ok {
				t.Fatalf("got %v, want problems", err)
			}
			var b strings.Builder
			list.Print(&b, false)
			got := b.String()
			// Hints other than the nearest name are prose; the first lines are the contract.
			if !strings.Contains(c.want, "hint:") {
				var lines []string
				for _, line := range strings.SplitAfter(got, "\n") {
					if !strings.HasPrefix(line, "hint:") {
						lines = append(lines, line)
					}
				}
				got = strings.Join(lines, "")
			} else {
				got = strings.Replace(got, "hint: add a line -- reader: …\n", "", 1)
			}
			if got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
	if _, err := ParseDefinition("x.sql", header); err != nil {
		t.Errorf("the good header: %v", err)
	}
}

// TestHeadersMatchTheirSQL holds every header against what the engine says of its SQL: the
// names in order, a type that suits the format, and the declared parameters.
func TestHeadersMatchTheirSQL(t *testing.T) {
	ctx := context.Background()
	w := emptyPlant(t)
	books, err := Books(warehouse.ReportFiles())
	if err != nil {
		t.Fatal(err)
	}
	period := Period{From: time.Date(2026, 11, 9, 0, 0, 0, 0, time.UTC), Until: time.Date(2026, 11, 16, 0, 0, 0, 0, time.UTC)}
	sheets := 0
	if _, err := KeepChecks(ctx, w); err != nil {
		t.Fatal(err)
	}
	if _, err := FillCutting(ctx, w, period); err != nil {
		t.Fatal(err)
	}
	if err := FillComparison(ctx, w, period); err != nil {
		t.Fatal(err)
	}
	if err := FillIntervals(ctx, w); err != nil {
		t.Fatal(err)
	}
	for _, book := range books {
		for _, d := range slices.Concat([]*Definition{book.front, book.checks, book.files}, book.Sheets, book.Asked) {
			sheets++
			values, err := d.parameters(period)
			if err != nil {
				t.Errorf("%s: %v", d.File, err)
				continue
			}
			err = w.Query(ctx, d.SQL, values, func(columns []warehouse.ResultColumn) {
				if err := d.checkColumns(columns); err != nil {
					t.Error(err)
					return
				}
				for i, column := range columns {
					if want := typesOfFormats[d.Columns[i].Format]; !strings.HasPrefix(column.Type, want) {
						t.Errorf("%s: %s is %s, its format %s wants %s", d.File, column.Name, column.Type, d.Columns[i].Format, want)
					}
				}
			}, func([]any) error { return nil })
			if err != nil {
				t.Errorf("%s: %v", d.File, err)
			}
			for _, link := range d.Links {
				if link.Sheet == "" {
					continue
				}
				if target := sheetNamed(book, link.Sheet); target == nil || !slices.Contains(target.columnNames(), link.Target) {
					t.Errorf("%s: the link of %s leads nowhere (%s, %s)", d.File, link.Column, link.Sheet, link.Target)
				}
			}
			private, err := w.HoldsWages(ctx, d.SQL)
			if err != nil {
				t.Errorf("%s: %v", d.File, err)
			}
			if private && book.Name != "month-end" {
				t.Errorf("%s reads wages and is in the book %s", d.File, book.Name)
			}
			if d.Reader != book.Reader && d.Reader != "everyone" {
				t.Errorf("%s is for the %s, its book for the %s", d.File, d.Reader, book.Reader)
			}
		}
	}
	if sheets < 18 {
		t.Errorf("%d sheets were looked at", sheets)
	}
}

// typesOfFormats says how the type of a column of each format begins.
var typesOfFormats = map[string]string{"text": "VARCHAR", "count": "BIGINT", "line": "BIGINT", "on": "DATE", "at": "TIMESTAMP", "usd": "DECIMAL", "bf": "DECIMAL", "pct": "DECIMAL", "min": "DECIMAL", "hours": "DECIMAL", "number": "DECIMAL"}

// emptyPlant is a warehouse whose ledgers were built of nothing.
func emptyPlant(t *testing.T) *warehouse.Warehouse {
	t.Helper()
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), warehouse.FileName)
	w, err := warehouse.Open(ctx, file)
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
	if err := warehouse.BuildLedgers(ctx, tx, settings); err != nil {
		t.Fatal(err)
	}
	if err := tx.Commit(); err != nil {
		t.Fatal(err)
	}
	return w
}

func sheetNamed(book *Book, name string) *Definition {
	for _, d := range book.Sheets {
		if d.Sheet == name {
			return d
		}
	}
	return nil
}

func TestWeeks(t *testing.T) {
	cases := []struct {
		label  string
		starts time.Weekday
		from   string
	}{
		{"2026-W46", time.Monday, "2026-11-09"},
		{"2026-W46", time.Sunday, "2026-11-08"},   // its fourth day is Wednesday the 11th
		{"2026-W46", time.Thursday, "2026-11-12"}, // its fourth day is Sunday the 15th
		{"2026-W46", time.Friday, "2026-11-06"},   // its fourth day is Monday the 9th
		{"2026-W01", time.Monday, "2025-12-29"},
		{"2026-W53", time.Monday, "2026-12-28"},
	}
	for _, c := range cases {
		got, err := Week(c.label, c.starts)
		if err != nil {
			t.Fatal(err)
		}
		if day(got.From) != c.from || warehouse.WeekLabel(got.From) != c.label || got.Until.Sub(got.From) != 7*24*time.Hour {
			t.Errorf("%s from %s: %v, want %s", c.label, c.starts, got, c.from)
		}
	}
	for _, bad := range []string{"2025-W53", "2026-W00", "2026-W54", "2026-46", "46", ""} {
		if got, err := Week(bad, time.Monday); err == nil {
			t.Errorf("%q was read as %v", bad, got)
		}
	}
}
