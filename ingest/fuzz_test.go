package ingest

import (
	"errors"
	"io"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"trusstally/ingest/problem"
)

// The fuzz targets of this package hold each reader against what it promises, for any text.
// go test runs the corpus in testdata/fuzz; go test -fuzz FuzzHeader ./ingest looks on. Those
// of one grammar stand beside its tests.

// refusedAs fails the test unless err is a problem of that code word with a text and a hint.
func refusedAs(t *testing.T, err error, codes ...string) {
	t.Helper()
	var p *problem.Problem
	if !errors.As(err, &p) {
		t.Fatalf("refused with %v, which is no problem", err)
	}
	if !slices.Contains(codes, p.Code) || p.What == "" || p.Hint == "" {
		t.Fatalf("refused with %+v, want one of %v with a text and a hint", p, codes)
	}
}

// numberColumns are a column of each kind of number; the fuzzed byte picks one.
var numberColumns = []Column{
	{Name: "amount_usd", Kind: Decimal, Precision: 14, Scale: 2},
	{Name: "quantity", Kind: Integer, Minimum: "0"},
	{Name: "rate_usd", Kind: Decimal, Precision: 9, Scale: 4, Minimum: "0"},
}

// FuzzNumber holds the SQL that reads numbers against exact fractions: a text that is taken
// has the very value that its digits say, and nothing was rounded.
func FuzzNumber(f *testing.F) {
	for i, text := range []string{"12.30", "1,234.56", "(12)", "-0", "1e3", "12.345", "999999999999.99", "1,23", "--1", "12.", ".5", "١٢", "(1,000.10)", "0000000000000000000001"} {
		f.Add(text, byte(i))
	}
	w := newTestWarehouse(f)
	statements := make([]string, len(numberColumns))
	for i, c := range numberColumns {
		plain := plainNumber("v")
		statements[i] = "WITH given AS (SELECT ?::VARCHAR AS v) SELECT coalesce(" + numberFault(c, plain) + ", ''), coalesce(" + numberValue(c, plain) + "::VARCHAR, '') FROM given"
	}
	f.Fuzz(func(t *testing.T, text string, pick byte) {
		if !utf8.ValidString(text) || strings.ContainsRune(text, 0) || len(text) > 1000 {
			return // refused before any cell is read
		}
		at := int(pick) % len(numberColumns)
		var code, value string
		if err := w.tx.QueryRow(statements[at], text).Scan(&code, &value); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if code != "" {
			p := numberProblem(numberColumns[at], code, text)
			refusedAs(t, p, CodeBadNumber, CodeTooManyDecimals, CodeOutOfRange)
			return
		}
		digits := strings.NewReplacer("(", "-", ")", "", ",", "").Replace(text)
		want, ok := new(big.Rat).SetString(digits)
		got, readable := new(big.Rat).SetString(value)
		if !ok || !readable || want.Cmp(got) != 0 || strings.ContainsAny(digits, "eE_/xX") {
			t.Fatalf("%q was taken as %q", text, value)
		}
	})
}

// FuzzHeader: a header row is matched, each column with one cell at the most, or refused
// with problems; whatever stands in it.
func FuzzHeader(f *testing.F) {
	for i, text := range []string{"job,price_usd", "Job No,Price", "job,job,price_usd", "job,,price_usd", "job;price_usd", "reject_import,reject_line,reject_column,reject_reason,job,price_usd", "\u00a0JOB\t,price__usd", "İob,price_usd"} {
		f.Add(text, "Sold for", byte(i))
	}
	feeds := Feeds()
	f.Fuzz(func(t *testing.T, text, own string, pick byte) {
		feed := feeds[int(pick)%len(feeds)]
		var cells [][]byte
		for _, cell := range strings.Split(text, ",") {
			cells = append(cells, []byte(cell))
		}
		mapping := map[string]string{feed.Columns[0].Name: own}
		matched, _, err := matchHeader(record{line: 1, lines: 1, cells: cells}, places{file: "fuzz.csv"}, feed, mapping, nil)
		if err != nil {
			refusedList(t, err)
			return
		}
		used := map[int]bool{}
		for i, c := range feed.Columns {
			cell := matched.cells[i]
			if cell < 0 && c.Required || cell >= len(cells) || cell >= 0 && (used[cell] || matched.columns[cell] != i) {
				t.Fatalf("%q: %s is cell %d of %v", text, c.Name, cell, matched.columns)
			}
			used[cell] = cell >= 0
		}
	})
}

// refusedList fails the test unless err is a list of problems, each with a code and a hint.
func refusedList(t *testing.T, err error) {
	t.Helper()
	var list problem.List
	if !errors.As(err, &list) || len(list) == 0 {
		t.Fatalf("refused with %v, which is no list of problems", err)
	}
	for _, p := range list {
		if p.Code == "" || p.What == "" || p.Hint == "" {
			t.Fatalf("refused with %+v", p)
		}
	}
}

// FuzzSerial: a number of a sheet comes out as the plain decimal of the same value, and a
// serial date as one that the clock's grammar reads.
func FuzzSerial(f *testing.F) {
	for _, text := range []string{"46258", "46258.25694444", "0.1", "1E-7", "1.2E+3", "0.10000000000000001", "60", "-1", "2958465.99999999", "NaN", "0x1p4", "1e400", "99999999999999999999"} {
		f.Add(text, "yyyy-mm-dd hh:mm")
	}
	f.Fuzz(func(t *testing.T, raw, format string) {
		formatShows(format)
		plain, value, ok := plainDecimal(raw)
		if !ok {
			return
		}
		want, known := new(big.Rat).SetString(raw)
		got, readable := new(big.Rat).SetString(plain)
		if !known || !readable || strings.ContainsAny(plain, "eE+_ ") {
			t.Fatalf("%q is written %q", raw, plain)
		}
		// The traces of its binary form are rounded away, to 15 digits and no more.
		off := new(big.Rat).Sub(want, got)
		most := new(big.Rat).Mul(new(big.Rat).Abs(want), big.NewRat(1, 100_000_000_000_000))
		if off.Abs(off).Cmp(most) > 0 {
			t.Fatalf("%q is written %q", raw, plain)
		}
		for _, epoch := range []time.Time{epoch1900, epoch1904} {
			text, ok := serialText(value, epoch, true)
			if _, err := time.Parse("2006-01-02 15:04:05.999", text); ok && value >= firstSerialDay && err != nil {
				t.Fatalf("%q is the time %q: %v", raw, text, err)
			}
		}
		if value >= 0 {
			hoursText(value)
		}
	})
}

// FuzzSheet: any XML in the place of a sheet gives rows in their order, or is refused.
func FuzzSheet(f *testing.F) {
	const begin, end = `<worksheet xmlns="x"><sheetData>`, `</sheetData></worksheet>`
	for _, rows := range []string{
		`<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>price_usd</t></is></c></row><row r="2"><c r="A2"><v>1</v></c><c r="B2" s="1"><v>46258.5</v></c></row>`,
		`<row><c><f>1+1</f></c><c t="e"><v>#N/A</v></c><c t="b"><v>1</v></c><c t="d"><v>2026-03-16T00:00:00</v></c></row>`,
		`<row r="3" hidden="1"><c r="XFD3"><v>1</v></c></row>`,
		`<row r="1000001"/>`, `<row r="2"/><row r="1"/>`, `<row r="1"><c r="A2"/></row>`, `<row`, `&lol;`,
		`<row r="1"><c t="str"><f>x</f><v>_x0041__x000D_</v></c><c t="inlineStr"><is><r><t>a</t></r><rPh><t>b</t></rPh></is></c></row>`,
	} {
		f.Add([]byte(begin + rows + end))
	}
	dir := f.TempDir()
	feed, _ := FeedByName("jobs")
	f.Fuzz(func(t *testing.T, sheet []byte) {
		all := workbookParts("sheet jobs\njob | price_usd")
		all[len(all)-1].text = string(sheet)
		path := filepath.Join(dir, "jobs-1.xlsx")
		if err := os.WriteFile(path, zipped(t, all), 0o600); err != nil {
			t.Fatal(err)
		}
		readAll(t, path, feed)
	})
}

// FuzzFile: any bytes are opened as text or a workbook and read to their end, or refused.
func FuzzFile(f *testing.F) {
	for _, description := range []string{"sheet jobs\njob | price_usd\nJ1 | n 100", "broken: bomb\nsheet jobs\njob", "broken: cut off\nsheet jobs\njob", "broken: password", "broken: xls"} {
		f.Add(newWorkbook(f, description))
	}
	for _, text := range []string{"job,price_usd\nJ1,100\n", "\xff\xfej\x00o\x00b\x00", "\xef\xbb\xbfjob\r", "job\x00", "%PDF", "PK\x03\x04", ""} {
		f.Add([]byte(text))
	}
	dir := f.TempDir()
	feed, _ := FeedByName("jobs")
	f.Fuzz(func(t *testing.T, content []byte) {
		path := filepath.Join(dir, "jobs-1.csv")
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		readAll(t, path, feed)
	})
}

// readAll reads a file row by row. It is refused with problems, or every row begins below
// the one before and no cell is longer than a row may be.
func readAll(t *testing.T, path string, feed Feed) {
	t.Helper()
	from, err := openSource(path, "")
	if err != nil {
		refusedList(t, err)
		return
	}
	defer from.file.Close()
	rows, err := from.rows(feed, Options{Zone: time.UTC})
	if err != nil {
		refusedList(t, err)
		return
	}
	last := 0
	for {
		row, err := rows.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			refusedList(t, err)
			return
		}
		if row.line <= last || row.lines < 1 {
			t.Fatalf("line %d after line %d", row.line, last)
		}
		last = row.line + row.lines - 1
		for _, cell := range row.cells {
			if len(cell) > longestRow {
				t.Fatalf("a cell of %d bytes on line %d", len(cell), row.line)
			}
		}
	}
	if _, err := rows.finish(); err != nil {
		t.Fatalf("at the end: %v", err)
	}
}
