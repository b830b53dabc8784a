package workbook_test

import (
	"errors"
	"os"
	"testing"

	"trusstally/reports/workbook"
	"trusstally/reports/workbook/recalculation"
)

// sampleDecimals is what fraction rounds to.
const sampleDecimals = 6

// needProgram skips a test that needs LibreOffice, except where tests decide: there it fails.
func needProgram(t *testing.T) {
	t.Helper()
	if err := recalculation.Available(); err != nil {
		if os.Getenv("CI") == "" && errors.Is(err, recalculation.ErrNoProgram) {
			t.Skip(err)
		}
		t.Fatal(err)
	}
}

func recalculate(t *testing.T, book []byte) []byte {
	t.Helper()
	recalculated, err := recalculation.Recalculate(t.Context(), t.TempDir(), book)
	if err != nil {
		t.Fatal(err)
	}
	return recalculated
}

func TestStoredResultsAreWhatLibreOfficeWorksOut(t *testing.T) {
	needProgram(t)
	book := written(t, sampleBook())
	differences, formulas, err := recalculation.Compare(book, recalculate(t, book), sampleDecimals)
	if err != nil {
		t.Fatal(err)
	}
	for _, difference := range differences {
		t.Error(difference)
	}
	// 40 costs and 32 margins, 35 wastes, 26 labours and 26 a truss, and 17 totals.
	if want := 40 + 32 + 35 + 26 + 26 + 17; formulas != want {
		t.Errorf("%d formulas compared, want %d", formulas, want)
	}
}

// A reader who filters hides rows. Totals and ratios are then of the rows that are left.
func TestTotalsFollowAFilter(t *testing.T) {
	needProgram(t)
	row := func(a, b, ratio any) []any { return []any{"J", a, b, ratio} }
	sheet := func(name string) workbook.Sheet {
		return workbook.Sheet{
			Name: name, Title: "Margin",
			Columns: []workbook.Column{
				{Name: "job", Format: "text", Total: "count"},
				{Name: "margin", Format: "usd", Total: "sum"},
				{Name: "revenue", Format: "usd", Total: "sum"},
				{Name: "margin_pct", Format: "pct", Total: "margin / revenue"},
			},
			Rows: rowsOf(
				row(workbook.Number("10"), workbook.Number("100"), workbook.Number("0.1")),
				row(nil, workbook.Number("500"), nil),
				row(workbook.Number("30"), workbook.Number("100"), workbook.Number("0.3")),
				row(workbook.Number("-5"), workbook.Number("0"), nil),
				row(workbook.Number("60"), workbook.Number("200"), workbook.Number("0.3")),
			),
		}
	}
	file := openBook(t, written(t, workbook.Book{Sheets: []workbook.Sheet{sheet("all"), sheet("filtered")}}))
	// Title, blank, total, headings: rows 5 to 9 are the body. Hide the third of them.
	if err := file.SetRowVisible("filtered", 7, false); err != nil {
		t.Fatal(err)
	}
	buffer, err := file.WriteToBuffer()
	if err != nil {
		t.Fatal(err)
	}
	recalculated := openBook(t, recalculate(t, buffer.Bytes()))
	// Revenue of the row without a margin is in the total, but not under the ratio.
	diffCells(t, []string{"5", "95", "900", "0.2375"}, recalculated, "all", "A3", "B3", "C3", "D3")
	diffCells(t, []string{"4", "65", "800", "0.216666666666667"}, recalculated, "filtered", "A3", "B3", "C3", "D3")
}
