package workbook_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"trusstally/reports/workbook"
)

func written(t *testing.T, book workbook.Book) []byte {
	t.Helper()
	var buffer bytes.Buffer
	if err := workbook.Write(&buffer, book); err != nil {
		t.Fatal(err)
	}
	return buffer.Bytes()
}

func openBook(t *testing.T, book []byte) *excelize.File {
	t.Helper()
	file, err := excelize.OpenReader(bytes.NewReader(book))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := file.Close(); err != nil {
			t.Error(err)
		}
	})
	return file
}

// rawCell is a cell's value without its number format.
func rawCell(t *testing.T, file *excelize.File, sheet, cell string) string {
	t.Helper()
	value, err := file.GetCellValue(sheet, cell, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	return value
}

func diffCells(t *testing.T, want []string, file *excelize.File, sheet string, cells ...string) {
	t.Helper()
	var got []string
	for _, cell := range cells {
		got = append(got, rawCell(t, file, sheet, cell))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s %v (-want +got):\n%s", sheet, cells, diff)
	}
}

// part is one file within the book.
func part(t *testing.T, book []byte, name string) string {
	t.Helper()
	archive, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	file, err := archive.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	content, err := io.ReadAll(file)
	if err != nil {
		t.Fatal(err)
	}
	return string(content)
}

// sheetOf is a book of one sheet.
func sheetOf(sheet workbook.Sheet) workbook.Book {
	return workbook.Book{Sheets: []workbook.Sheet{sheet}}
}

func TestCellsReadBack(t *testing.T) {
	at := time.Date(2026, time.November, 9, 22, 30, 15, 999, time.FixedZone("plant", -6*3600))
	formatsAndCells := []struct {
		format   string
		cell     any
		want     string
		wantType excelize.CellType
	}{
		{"text", "00123", "00123", excelize.CellTypeInlineString},
		{"text", workbook.Number("0012.50"), "0012.50", excelize.CellTypeInlineString},
		{"text", at, "2026-11-09 22:30", excelize.CellTypeInlineString},
		{"text", true, "yes", excelize.CellTypeInlineString},
		{"text", false, "no", excelize.CellTypeInlineString},
		{"text", "", "", excelize.CellTypeUnset},
		{"text", nil, "", excelize.CellTypeUnset},
		{"text", "=1+1", "=1+1", excelize.CellTypeInlineString},
		{"text", "+1", "+1", excelize.CellTypeInlineString},
		{"text", "-1", "-1", excelize.CellTypeInlineString},
		{"text", "@SUM(A1)", "@SUM(A1)", excelize.CellTypeInlineString},
		{"text", "<b> & \"c\"", "<b> & \"c\"", excelize.CellTypeInlineString},
		{"text", " two  blanks ", " two  blanks ", excelize.CellTypeInlineString},
		{"text", "one\r\ntwo", "one\ntwo", excelize.CellTypeInlineString},
		{"usd", workbook.Number("-1234.50"), "-1234.5", excelize.CellTypeUnset},
		{"usd", workbook.Number("0.00"), "0", excelize.CellTypeUnset},
		{"usd", workbook.Number("123456789012.34"), "123456789012.34", excelize.CellTypeUnset},
		{"usd", "no quote", "no quote", excelize.CellTypeInlineString},
		{"usd", "=2*2", "=2*2", excelize.CellTypeInlineString},
		{"pct", workbook.Number("0.1250"), "0.125", excelize.CellTypeUnset},
		{"number", workbook.Number("0.12345678901234567890"), "0.123456789012346", excelize.CellTypeUnset},
		{"on", at, "46335", excelize.CellTypeUnset},
		{"at", at, "46335.93767361111", excelize.CellTypeUnset},
		{"on", "not shipped", "not shipped", excelize.CellTypeInlineString},
		{"on", time.Date(1899, 1, 2, 0, 0, 0, 0, time.UTC), "1899-01-02", excelize.CellTypeInlineString},
	}
	for _, test := range formatsAndCells {
		t.Run(test.format, func(t *testing.T) {
			book := written(t, sheetOf(workbook.Sheet{
				Name: "cells", Title: "Cells",
				Columns: []workbook.Column{{Name: "key", Format: "text"}, {Name: "cell", Format: test.format}},
				Rows:    rowsOf([]any{"key", test.cell}),
			}))
			file := openBook(t, book)
			got := rawCell(t, file, "cells", "B4")
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("%v (-want +got):\n%s", test.cell, diff)
			}
			gotType, err := file.GetCellType("cells", "B4")
			if err != nil {
				t.Fatal(err)
			}
			if gotType != test.wantType {
				t.Errorf("%v: cell type %v, want %v", test.cell, gotType, test.wantType)
			}
			formula, err := file.GetCellFormula("cells", "B4")
			if err != nil || formula != "" {
				t.Errorf("%v: formula %q (%v), want none", test.cell, formula, err)
			}
		})
	}
}

func TestShownFormats(t *testing.T) {
	for _, test := range []struct{ format, cell, want string }{
		{"usd", "-1234.5", "-1,234.50"},
		{"usd", "1234567.891", "1,234,567.89"},
		{"bf", "1234.56", "1,234.6"},
		{"pct", "0.125", "12.5%"},
		{"pct", "-0.125", "-12.5%"},
		{"min", "1234.56", "1,234.6"},
		{"hours", "38.25", "38.25"},
		{"count", "1234", "1,234"},
		{"rate", "0.6125", "0.6125"},
		{"feet", "12.5", "12.50"},
		{"inches", "0.125", "0.125"},
	} {
		t.Run(test.format+" "+test.cell, func(t *testing.T) {
			file := openBook(t, written(t, sheetOf(workbook.Sheet{
				Name: "cells", Title: "Cells",
				Columns: []workbook.Column{{Name: "cell", Format: test.format}},
				Rows:    rowsOf([]any{workbook.Number(test.cell)}),
			})))
			got, err := file.GetCellValue("cells", "A4")
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestSameBookSameBytes(t *testing.T) {
	first := written(t, sampleBook())
	for range 5 {
		if again := written(t, sampleBook()); !bytes.Equal(first, again) {
			t.Fatal("two writes of the same book differ")
		}
	}
}

func TestSheetReadsDownwards(t *testing.T) {
	file := openBook(t, written(t, sampleBook()))
	got, err := file.GetRows("trend")
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{"Labour a truss by week"},
		nil,
		{"Total", "6,205", "27,207.5", "141,797.5", "169,005.0", "27.2"},
		{"Week starts", "Trusses", "Setup\nmin", "Build\nmin", "Labour\nmin", "Labour\nmin a truss"},
		{"2026-05-18", "210", "900.0", "4,800.0", "5,700.0", "27.1"},
	}
	if diff := cmp.Diff(want, got[:5]); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if len(got) != 4+26 {
		t.Errorf("%d rows: something stands below the table", len(got))
	}
}

func TestEmptySheet(t *testing.T) {
	book := written(t, sheetOf(emptySheet()))
	got, err := openBook(t, book).GetRows("exceptions")
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{
		{"Exceptions"},
		{"Rows of the week that need someone to look at them."},
		nil,
		{"File", "Line", "At stake\nUSD"},
		{"nothing to show for this period"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	// A table without a row below its headings is repaired when it is opened.
	if table := part(t, book, "xl/tables/table1.xml"); !strings.Contains(table, ` ref="A4:C5"`) {
		t.Errorf("table: %s", table)
	}
}

func TestTextSheet(t *testing.T) {
	book := written(t, sheetOf(workbook.Sheet{Name: "front", Title: "Week 46", Notes: []string{"Three jobs lost money."}}))
	got, err := openBook(t, book).GetRows("front")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([][]string{{"Week 46"}, {"Three jobs lost money."}}, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestLongNoteTakesRows(t *testing.T) {
	note := strings.Repeat("A caution that goes on. ", 20)
	rows, err := openBook(t, written(t, sheetOf(workbook.Sheet{Name: "front", Title: "Week 46", Notes: []string{note}}))).GetRows("front")
	if err != nil {
		t.Fatal(err)
	}
	var words []string
	for _, row := range rows[1:] {
		words = append(words, strings.Fields(row[0])...)
	}
	if diff := cmp.Diff(strings.Fields(note), words); diff != "" {
		t.Errorf("words lost (-want +got):\n%s", diff)
	}
	if len(rows) < 4 {
		t.Errorf("%d rows: the note was not wrapped", len(rows))
	}
}

func TestLongTextIsCutInSight(t *testing.T) {
	columns := []workbook.Column{{Name: "remark", Format: "text"}}
	for _, test := range []struct {
		name, text, wantEnd string
		wantUnits           int
	}{
		{"all that a cell holds", strings.Repeat("x", 32_767), "xxx", 32_767},
		{"one more", strings.Repeat("x", 32_768), "x… [cut: 32768 characters]", 32_767},
		{"letters of two units", strings.Repeat("𝄞", 20_000), "𝄞… [cut: 40000 characters]", 32_767},
		{"no half letter", "x" + strings.Repeat("𝄞", 20_000), "𝄞… [cut: 40001 characters]", 32_766},
	} {
		t.Run(test.name, func(t *testing.T) {
			file := openBook(t, written(t, sheetOf(workbook.Sheet{Name: "s", Title: "T", Columns: columns, Rows: rowsOf([]any{test.text})})))
			got := rawCell(t, file, "s", "A4")
			if !strings.HasSuffix(got, test.wantEnd) {
				t.Errorf("ends in %q, want %q", got[max(0, len(got)-60):], test.wantEnd)
			}
			units := 0
			for _, r := range got {
				units++
				if r > 0xFFFF {
					units++
				}
			}
			if units != test.wantUnits {
				t.Errorf("%d units, want %d", units, test.wantUnits)
			}
		})
	}
}

func TestErrorsSayWhere(t *testing.T) {
	columns := []workbook.Column{
		{Name: "job", Format: "text"}, {Name: "a", Format: "usd"}, {Name: "b", Format: "usd"},
		{Name: "pct", Format: "pct", Total: "a / b"}, {Name: "on", Format: "on"},
	}
	lost := errors.New("the query was interrupted")
	good := []any{"J", workbook.Number("1"), workbook.Number("2"), workbook.Number("0.5"), nil}
	row := func(cells ...any) []any { return cells }
	for _, test := range []struct {
		name string
		row  []any
		err  error
		want string
	}{
		{"row count", row("J"), nil, `workbook: sheet "s": row 2: 1 cells for 5 columns`},
		{"rows' own error", nil, lost, `workbook: sheet "s": row 2: the query was interrupted`},
		{"bad number", row("J", workbook.Number("1e3"), nil, nil, nil), nil, `workbook: sheet "s": row 2: column "a": "1e3": not a decimal number`},
		{"empty number", row("J", workbook.Number(""), nil, nil, nil), nil, `workbook: sheet "s": row 2: column "a": "": not a decimal number`},
		{"a float", row("J", 1.5, nil, nil, nil), nil, `workbook: sheet "s": row 2: column "a": a cell of Go type float64: nil, string, Number, time.Time or bool are cells`},
		{"number for a date", row("J", nil, nil, nil, workbook.Number("1")), nil, `workbook: sheet "s": row 2: column "on": number 1 in a column of format "on"`},
		{"date for a number", row("J", day(2026, 11, 9), nil, nil, nil), nil, `workbook: sheet "s": row 2: column "a": time 2026-11-09 00:00:00 in a column of format "usd"`},
		{"division by zero", row("J", workbook.Number("1"), workbook.Number("0.00"), workbook.Number("0.5"), nil), nil,
			`workbook: sheet "s": row 2: column "pct": has a value, but its formula "a / b" divides by zero: give a blank or a word`},
		{"division by a blank", row("J", workbook.Number("1"), nil, workbook.Number("0.5"), nil), nil,
			`workbook: sheet "s": row 2: column "pct": has a value, but its formula "a / b" divides by zero: give a blank or a word`},
		{"division of a blank", row("J", nil, workbook.Number("1"), workbook.Number("0.5"), nil), nil,
			`workbook: sheet "s": row 2: column "pct": has a value, but its formula "a / b" divides a blank: give a blank or a word`},
		{"division of a word", row("J", "no quote", workbook.Number("1"), workbook.Number("0.5"), nil), nil,
			`workbook: sheet "s": row 2: column "pct": has a value, but "a", which its formula uses, says "no quote": give a blank or a word`},
	} {
		t.Run(test.name, func(t *testing.T) {
			rows := func(yield func([]any, error) bool) {
				if yield(good, nil) {
					yield(test.row, test.err)
				}
			}
			err := workbook.Write(io.Discard, sheetOf(workbook.Sheet{Name: "s", Title: "T", Columns: columns, Rows: rows}))
			if err == nil {
				t.Fatal("no error")
			}
			if diff := cmp.Diff(test.want, err.Error()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			if test.err != nil && !errors.Is(err, test.err) {
				t.Error("the rows' own error is not wrapped")
			}
		})
	}
}

func TestWriteFile(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "book.xlsx")
	if err := workbook.WriteFile(path, 0o600, sheetOf(emptySheet())); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if info.Mode() != 0o600 {
		t.Errorf("mode %v, want 0600", info.Mode())
	}
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}

	bad := emptySheet()
	bad.Rows = func(yield func([]any, error) bool) { yield(nil, errors.New("gone")) }
	if err := workbook.WriteFile(path, 0o600, sheetOf(bad)); err == nil {
		t.Error("no error from rows that fail")
	}
	after, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(before, after) {
		t.Error("a failed write changed the file")
	}
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != 1 {
		t.Errorf("a failed write left %v", entries)
	}
}
