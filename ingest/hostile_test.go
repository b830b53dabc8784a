package ingest

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestMacrosAndLinks: what a workbook would run or fetch is left alone, and said.
func TestMacrosAndLinks(t *testing.T) {
	w := newTestWarehouse(t)
	receipt := w.mustLandBook("jobs-1.xlsx", "broken: macros and links\nsheet jobs\njob | price_usd\nJ1 | f [1]Prices!A1 -> 100\n")
	want := []string{
		"jobs-1.xlsx: it has macros, which are never run",
		"jobs-1.xlsx: it has links to other files, which are never followed: the values are those it was saved with",
	}
	if diff := cmp.Diff(want, receipt.Warnings); diff != "" || receipt.New != 1 {
		t.Errorf("new %d, -want +got:\n%s", receipt.New, diff)
	}
}

// TestRowsWithoutEnd: a row of a hundred million cells, and one of ten million characters of
// two bytes, are refused within a bounded memory, and the rows around them taken; whatever
// parts the cells.
func TestRowsWithoutEnd(t *testing.T) {
	for mark, name := range delimiterNames() {
		t.Run(name, func(t *testing.T) { landRowsWithoutEnd(t, string(mark)) })
	}
}

func landRowsWithoutEnd(t *testing.T, mark string) {
	w := newTestWarehouse(t)
	w.settings = settingsWith(t, fmt.Sprintf("[feed.jobs]\ndelimiter = %q\n", mark))
	path := filepath.Join(w.dir, "jobs-1.csv")
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	write := func(text string, times int) {
		for range times {
			if _, err := file.WriteString(text); err != nil {
				t.Fatal(err)
			}
		}
	}
	row := func(cells ...string) string { return strings.Join(cells, mark) }
	write(row("job", "price_usd", "description\n")+row("J1", "100", "a\n"), 1)
	write(strings.Repeat(mark, 1<<20), 100)
	write("\n"+row("J2", "200", "x"), 1)
	write(strings.Repeat("é", 1<<20), 10)
	write("\n"+row("J3", "300", "c\n"), 1)
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	const want = "the row is longer than 262 thousand characters, or has more than 16384 cells"
	within(t, 64, func() {
		receipt, err := w.landFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if receipt.Accepted != 2 || receipt.Rejected != 2 {
			t.Errorf("accepted %d, rejected %d, want 2 and 2", receipt.Accepted, receipt.Rejected)
		}
		for _, p := range receipt.Problems {
			if p.Code != CodeRowTooLong || p.What != want {
				t.Errorf("%s", p.Error())
			}
		}
	})
	if _, err := w.land("jobs-2.csv", row("job", "price_usd", strings.Repeat(mark, mostColumns))+"\n"); codeOf(err) != CodeTooLarge {
		t.Errorf("a header row of %d columns: %v, want [%s]", mostColumns+3, err, CodeTooLarge)
	}
}

// within fails when more than so many MiB are allocated.
func within(t *testing.T, most uint64, do func()) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	do()
	runtime.ReadMemStats(&after)
	if grown := (after.TotalAlloc - before.TotalAlloc) >> 20; grown > most {
		t.Errorf("%d MiB were allocated, want %d at the most", grown, most)
	}
}

// TestProposalWithoutEnd: a file whose rows are all as long as a row may be is looked at
// within a bounded memory, and no cell of it moves the terminal.
func TestProposalWithoutEnd(t *testing.T) {
	path := filepath.Join(t.TempDir(), "jobs-\x1b[2J1.csv")
	long := "J1,100," + strings.Repeat(",", mostCells-10) + strings.Repeat("y", longestRow/2) + "\n"
	if err := os.WriteFile(path, []byte("job,price_usd,\x1b[2Jnotes\n"+strings.Repeat(long, 400)), 0o600); err != nil {
		t.Fatal(err)
	}
	within(t, 600, func() {
		text, err := Propose(path, "jobs", nil)
		if err != nil {
			refusedList(t, err)
		}
		if strings.Contains(text, "\x1b") {
			t.Errorf("%q", text)
		}
	})
}

// TestNamesWithSQL: what stands in names and cells is text, to the warehouse too.
func TestNamesWithSQL(t *testing.T) {
	w := newTestWarehouse(t)
	const evil = `'; DROP TABLE jobs; --`
	w.opts.Columns = map[string]string{"job": evil, "customer": `"; DROP TABLE jobs; --`}
	w.opts.Stations = append(w.opts.Stations, evil)
	w.opts.Sheet = evil
	w.mustLand("jobs-"+evil+".csv", evil+",\"\"\"; DROP TABLE jobs; --\",price_usd,\"x'); DROP TABLE jobs; --\"\n"+evil+",$1 ? ?,100,"+evil+"\n")
	w.mustLandBook("jobs-2.xlsx", "sheet "+evil+"\n'"+evil+" | price_usd\nJ'2 | n 200\n")
	want := []string{evil + "|$1 ? ?|100", "J'2||200"}
	if diff := cmp.Diff(want, w.rows("SELECT job, customer, price_usd FROM jobs ORDER BY ALL")); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	w.opts.Columns = nil
	receipt := w.mustLand("completions-1.csv", "station,job,crew,shift,shift_date,quantity\n"+evil+","+evil+","+evil+","+evil+",2026-03-16,1\nT'9,"+evil+",RED,day,2026-03-17,1\n")
	if receipt.New != 1 || receipt.Rejected != 1 {
		t.Errorf("%+v, want 1 new, 1 rejected", receipt)
	}
	if got := w.rows("SELECT file_name FROM imports ORDER BY import_id"); got[0] != "jobs-"+evil+".csv" {
		t.Errorf("%q", got)
	}
}

// TestNotText: bytes that no plant's export has are refused by name, and mixed line ends are
// none of them.
func TestNotText(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"a NUL in a cell", "job,price_usd\nJ1,1\x0000\n", CodeNotCSV},
		{"a NUL at the end", "job,price_usd\nJ1,100\n\x00", CodeNotCSV},
		{"a quote without end", "job,price_usd\nJ1,100\n\"J2,200\n" + strings.Repeat("J,1\n", 1000), CodeUnterminatedQuote},
		{"half a character", "job,price_usd\nJ\xc3,100\n", CodeBadEncoding},
		{"mixed line ends", "job,price_usd\r\nJ1,100\rJ2,200\nJ3,300\r\n\r", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newTestWarehouse(t)
			receipt, err := w.land("jobs-1.csv", c.text)
			if got := codeOf(err); got != c.want {
				t.Fatalf("%q, want %q", got, c.want)
			}
			if err == nil && (receipt.New != 3 || receipt.Blank != 1) {
				t.Errorf("%+v, want 3 new, 1 blank", receipt)
			}
		})
	}
}

// TestWorkbookChanges: a workbook that is written anew while its rows are read is refused.
func TestWorkbookChanges(t *testing.T) {
	path := filepath.Join(t.TempDir(), "jobs-1.xlsx")
	book := newWorkbook(t, "sheet jobs\njob | price_usd\nJ1 | n 100\n")
	if err := os.WriteFile(path, book, 0o600); err != nil {
		t.Fatal(err)
	}
	from, err := openSource(path, "")
	if err != nil {
		t.Fatal(err)
	}
	defer from.file.Close()
	feed, _ := FeedByName("jobs")
	rows, err := from.rows(feed, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := rows.next(); err != nil {
			break
		}
	}
	if err := os.WriteFile(path, append(book, 0), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := rows.finish(); codeOf(err) != CodeFileChanged {
		t.Errorf("%v, want [%s]", err, CodeFileChanged)
	}
}
