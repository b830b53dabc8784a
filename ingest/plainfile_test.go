package ingest

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"trusstally/ingest/problem"
)

// oddCells are texts for the cells of a column of each kind: plain ones, others that its
// grammar takes, and bad ones that the engine's own casts would take.
func oddCells(c Column) []string {
	any := []string{"", " ", "x", "=1+1", "\u00a0", "a,b", `say "so"`, "é", "'", " x", "x ", "\tx", "0"}
	switch {
	case c.Station:
		return append(any, "S1", "T1", "T2", "t1", " T1 ", "T9")
	case c.Kind == Integer:
		return append(any, "1", "2", "3", "24", "-5", "(5)", "007", "1,234", "12,34", "1.0", "1.", "1e3", "+5", "1_000", "99999999999999999999", "999999999999999999", "1000000000000000000", "-0", " 4")
	case c.Kind == Decimal:
		return append(any, "1", "1.5", "1.50", "1.500", "1.505", "12.345", ".5", "5.", "1,234.50", "(2.50)", "-2.50", "1e3", "-0", "-", "+1", "000.50", "123456789012", "1234567890123", "NaN", "1.5 ")
	case c.Kind == Date:
		return append(any, "2026-08-24", "2026-08-25", "2026-8-24", "2026-02-30", "1999-12-31", "2000-01-01", "2099-12-31", "2100-01-01", "08/24/2026", "2026/08/24", "2026-08-24 00:00", "infinity", "epoch", "2026-08-24 (BC)")
	case c.Kind == Time:
		return append(any, "2026-08-24 06:10", "2026-08-24 06:11", "2026-08-24 06:10:30", "2026-08-24T06:10", "2026-08-24T06:10:05", "2026-08-24 6:10", "2026-08-24 06:10:30.5", "2026-08-24", "2026-03-08 01:59",
			"2026-03-08 02:00", "2026-03-08 02:30", "2026-03-08 03:00", "2026-11-01 00:59:59", "2026-11-01 01:00", "2026-11-01 01:59:59", "2026-11-01 02:00", "2026-08-24 24:00", "2026-08-24 06:60",
			"1999-12-31 23:59", "2000-01-01 00:00", "2099-12-31 23:59", "2100-01-01 00:00", "2026-8-24 06:10Z", "2026-08-4  06:10", "2026-08-24 06:10Z", "infinity", "2026-08-24 06:10+02")
	case c.Kind == Length:
		return append(any, "12-00-00", "12-06-08", "2-00-00", "02-00-00", "00-00-00", "00-00-01", "39-11-15", "40-00-00", "12.5", "12", `12'6"`, "12-12-00", "12-00-16", "12.33", "1001-00-00")
	case c.Kind == Size:
		return append(any, "2x4", "2X4", "2 x 4", "5/4x6", "2x10", "1x6", "2x", "3x5", "25x4")
	case c.Kind == Choice:
		return append(append(any, c.Choices...), strings.ToUpper(c.Choices[0]), c.Choices[0]+" ")
	}
	return append(any, "A1", "A2", "A3", "A4", "A5", "A6", "A7", "A8", "B1", "b1")
}

// drawFile draws a file of the feed, and the same with line ends of two kinds, which only the
// framer reads. Most of its cells are plain ones, so that some rows come through.
func drawFile(t *rapid.T, feed Feed) (text, mixed []byte) {
	var columns []Column
	for _, c := range feed.Columns {
		if c.Required || rapid.IntRange(0, 3).Draw(t, "has "+c.Name) > 0 {
			columns = append(columns, c)
		}
	}
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.Name
	}
	lines := []string{string(appendDelimited(nil, names, ','))}
	if rapid.IntRange(0, 4).Draw(t, "unknown") == 0 {
		columns, lines[0] = append(columns, Column{Kind: Text}), lines[0]+",remark"
	}
	oddity := rapid.SampledFrom([]int{0, 0, 1, 4, 12}).Draw(t, "oddity")
	for range rapid.IntRange(0, 9).Draw(t, "rows") {
		var line []byte
		for i, c := range columns {
			cell := c.Example
			switch {
			case rapid.IntRange(0, 40).Draw(t, "odd") < oddity:
				cell = rapid.SampledFrom(oddCells(c)).Draw(t, "cell")
			case c.Station:
				cell = "T1"
			case c.Kind == Code || c.Kind == Integer && c.Minimum != "":
				cell = fmt.Sprint(rapid.IntRange(1, 5).Draw(t, "code"))
			}
			if i > 0 {
				line = append(line, ',')
			}
			if strings.ContainsAny(cell, ",\"") && rapid.IntRange(0, 9).Draw(t, "raw") > 0 || rapid.IntRange(0, 60).Draw(t, "quoted") == 0 && oddity > 0 {
				line = appendQuoted(line, []byte(cell))
			} else {
				line = append(line, cell...)
			}
		}
		switch rapid.IntRange(0, 200).Draw(t, "shape") {
		case 0:
			line = append(line, ',')
		case 1:
			line = line[:bytes.LastIndexByte(line, ',')]
		case 2:
			line = bytes.Repeat([]byte(","), len(columns)-1)
		case 3:
			line = nil
		}
		lines = append(lines, string(line))
	}
	end := rapid.SampledFrom([]string{"\n", "\n", "\r\n"}).Draw(t, "line end")
	text = []byte(strings.Join(lines, end) + rapid.SampledFrom([]string{end, end, ""}).Draw(t, "last line end"))
	other := map[string]string{"\n": "\r\n", "\r\n": "\n"}[end]
	return text, bytes.Replace(text, []byte(end), []byte(other), 1)
}

// TestPlainAsFramed: what the engine reads by itself comes to the same, receipt, rows and
// refused rows, as what is framed here: the same file, and a second one after it.
func TestPlainAsFramed(t *testing.T) {
	w := newTestWarehouse(t)
	checks := flag.Lookup("rapid.checks")
	if given := checks.Value.String(); given == checks.DefValue {
		if err := checks.Value.Set("60"); err != nil { // each lands four files
			t.Fatal(err)
		}
		defer checks.Value.Set(given)
	}
	feeds, plain, tried := Feeds(), 0, 0
	rapid.Check(t, func(t *rapid.T) {
		feed := rapid.SampledFrom(feeds).Draw(t, "feed")
		texts, mixed := make([][]byte, 2), make([][]byte, 2)
		for i := range texts {
			texts[i], mixed[i] = drawFile(t, feed)
			tried++
			if looksPlain(texts[i]) {
				plain++
			}
			if looksPlain(mixed[i]) && bytes.Count(texts[i], []byte("\n")) > 1 {
				t.Fatalf("%q is taken for plain", mixed[i])
			}
		}
		want, got := w.landBoth(t, feed, mixed), w.landBoth(t, feed, texts)
		if diff := cmp.Diff(want, got, sameOutcome...); diff != "" {
			t.Fatalf("%s\n%s\n(-framed +plain):\n%s", texts[0], texts[1], diff)
		}
	})
	if plain < tried/5 {
		t.Errorf("only %d of %d files are plain", plain, tried)
	}
}

// sameOutcome leaves out of a comparison what tells the files themselves apart.
var sameOutcome = cmp.Options{cmpopts.IgnoreFields(Receipt{}, "SHA256", "ArchiveName", "Seconds"), cmpopts.IgnoreFields(problem.Problem{}, "Cause")}

// outcome is all that two files leave.
type outcome struct {
	Receipts []*Receipt
	Refused  []string
	Rows     map[string][]string
}

func (w *testWarehouse) landBoth(t rapid.TB, feed Feed, texts [][]byte) outcome {
	w.begin()
	o := outcome{Rows: map[string][]string{}}
	for i, text := range texts {
		path := filepath.Join(w.dir, fmt.Sprintf("%s-%d.csv", feed.Name, i+1))
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		receipt, err := w.landFile(path)
		var refused problem.List
		if err != nil && !errors.As(err, &refused) {
			t.Fatalf("%v\n%s", err, text)
		}
		o.Receipts = append(o.Receipts, receipt)
		if err != nil {
			o.Refused = append(o.Refused, err.Error())
		}
	}
	for _, table := range []string{quoteName(feed.Name), "history." + quoteName(feed.Name), "rejects", "refused_rows", "import_bases", "row_places"} {
		o.Rows[table] = w.rows("SELECT * FROM " + table + " ORDER BY ALL")
	}
	if left := w.rows("SELECT view_name FROM duckdb_views() WHERE NOT internal AND temporary UNION ALL SELECT table_name FROM duckdb_tables() WHERE temporary UNION ALL SELECT type_name FROM duckdb_types() WHERE type_name LIKE 'landing%'"); len(left) > 0 {
		t.Fatalf("%q are left", left)
	}
	return o
}

// looksPlain says whether the engine may read a text by itself.
func looksPlain(text []byte) bool {
	s := newTextSurvey(',')
	s.observe(text)
	row, err := newFramer(bytes.NewReader(text)).next()
	if err != nil {
		return false
	}
	_, ok := s.rows(len(row.cells))
	return ok
}

// TestPlainCells: every odd text in every column, beside plain cells, comes to the same both
// ways.
func TestPlainCells(t *testing.T) {
	w := newTestWarehouse(t)
	w.opts.Stations = []string{"S1", "T1"}
	for _, feed := range Feeds() {
		text := append(appendDelimited(nil, feed.Headers(), ','), '\n')
		key := 0
		for i, odd := range feed.Columns {
			for _, cell := range oddCells(odd) {
				cells := make([]string, len(feed.Columns))
				key++
				for k, c := range feed.Columns {
					cells[k] = c.Example
					switch {
					case k == i:
						cells[k] = cell
					case c.Station:
						cells[k] = "T1"
					case c.Kind == Code:
						cells[k] = fmt.Sprintf("K%d", key)
					}
				}
				text = append(appendDelimited(text, cells, ','), '\n')
			}
		}
		mixed := bytes.Replace(text, []byte("\n"), []byte("\r\n"), 1)
		if !looksPlain(text) || looksPlain(mixed) {
			t.Fatalf("%s: plain %t and %t", feed.Name, looksPlain(text), looksPlain(mixed))
		}
		want, got := w.landBoth(t, feed, [][]byte{mixed}), w.landBoth(t, feed, [][]byte{text})
		if diff := cmp.Diff(want, got, sameOutcome...); diff != "" {
			t.Errorf("%s (-framed +plain):\n%s", feed.Name, diff)
		}
		if (feed.Record || len(feed.Group) == 0) && got.Receipts[0].New == 0 {
			t.Errorf("%s: no row came in", feed.Name)
		}
	}
}

// TestTextSurvey: a text in parts, cut anywhere, tells what it tells whole; and each line of
// a plain one is a row of the framer's.
func TestTextSurvey(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := []byte(strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b,", "1,2\n", "\n", "\r\n", "\"x\"", "\"x,y\",", "\"", "\"\"", " ", "é", "\u00a0", "\u202f", "\t", ",", "x\r", "′"}), 1, 30).Draw(t, "pieces"), ""))
		whole := newTextSurvey(',')
		whole.observe(text)
		parts := newTextSurvey(',')
		for rest := text; len(rest) > 0; {
			n := rapid.IntRange(1, len(rest)).Draw(t, "part")
			parts.observe(rest[:n])
			rest = rest[n:]
		}
		first, err := newFramer(bytes.NewReader(text)).next()
		if err != nil {
			return
		}
		wholeRows, wholePlain := whole.rows(len(first.cells))
		rows, plain := parts.rows(len(first.cells))
		if plain != wholePlain || rows != wholeRows || whole.padded() != parts.padded() && plain && !whole.rare || whole.rare && plain && !parts.rare {
			t.Fatalf("%q: in parts %+v, whole %+v", text, parts, whole)
		}
		if !plain {
			return
		}
		frames, line := newFramer(bytes.NewReader(text)), int64(0)
		for {
			row, err := frames.next()
			if errors.Is(err, io.EOF) {
				break
			}
			line++
			if err != nil || int64(row.line) != line || row.lines != 1 || row.fault != "" {
				t.Fatalf("%q: line %d: %+v, %v", text, line, row, err)
			}
			for _, cell := range row.cells {
				trimmed := trimBlanks(cell)
				if len(trimmed) < len(cell) && !whole.rare && !(whole.padded() && len(bytes.Trim(cell, " ")) == len(trimmed)) {
					t.Fatalf("%q: blanks around %q are not seen", text, cell)
				}
			}
		}
		if line != rows+1 {
			t.Fatalf("%q: %d rows after the first line, framed %d", text, rows, line-1)
		}
	})
}

// TestRowsThatOnlyAddUp: a row has a cell too many and another one too few, which their sum
// does not show. The engine leaves them out, and the file is framed.
func TestRowsThatOnlyAddUp(t *testing.T) {
	for name, text := range map[string]string{
		"one more and one less": "job,customer,price_usd\nJ1,C1,1\nJ2,C1,2,\nJ3,3\nJ4,C1,4\n",
		"one less and one more": "job,customer,price_usd\nJ1,C1,1\nJ2,2\nJ3,C1,3,x\nJ4,C1,4\n",
	} {
		t.Run(name, func(t *testing.T) {
			if !looksPlain([]byte(text)) {
				t.Fatal("it does not add up")
			}
			receipt := newTestWarehouse(t).mustLand("jobs-1.csv", text)
			if receipt.Lines != 4 || receipt.New != 2 || receipt.Rejected != 2 || receipt.Problems[0].Place != "jobs-1.csv:3" || receipt.Problems[1].Code != CodeRaggedRow {
				t.Errorf("%+v", receipt)
			}
		})
	}
}

// TestManyLengths: a file of many rows names the plain lengths to the engine.
func TestManyLengths(t *testing.T) {
	w := newTestWarehouse(t)
	var text strings.Builder
	text.WriteString("job,truss,piece,size,species,grade,length,pieces_per_ply\n")
	lengths := []string{"00-00-01", "12-06-08", "39-11-15", "40-00-00", "12.5", "7-00-00"}
	rows := quickLengthRows + 5
	for i := range rows {
		fmt.Fprintf(&text, "J1,T1,P%d,2x4,SPF,No. 2,%s,1\n", i, lengths[i%len(lengths)])
	}
	text.WriteString("J1,T1,last,2x4,SPF,No. 2,00-00-00,1\n")
	receipt := w.mustLand("cut_pieces-1.csv", text.String())
	if receipt.New != int64(rows) || receipt.Rejected != 1 || receipt.Problems[0].Code != CodeOutOfRange || receipt.Problems[0].Place != fmt.Sprintf("cut_pieces-1.csv:%d:7", rows+2) {
		t.Errorf("%d new, %d refused, %v", receipt.New, receipt.Rejected, receipt.Problems)
	}
	got := w.rows("SELECT length_16ths, min(import_line), count(*) >= 666 FROM cut_pieces GROUP BY ALL ORDER BY ALL")
	want := []string{"1|2|true", "1344|7|true", "2400|6|true", "2408|3|true", "7679|4|true", "7680|5|true"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}
