package workbook

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

// TestSeeIsWhatTheFileShows holds every cell of See against the cell of the written file that
// it names, totals and words among numbers too.
func TestSeeIsWhatTheFileShows(t *testing.T) {
	rows := [][]any{
		{"<J1>", Number("1234.5"), Number("-34.56"), Number("-0.027995"), time.Date(2026, 11, 9, 0, 0, 0, 0, time.UTC), Number("3")},
		{"J2", Number("100"), nil, nil, nil, "not known"},
		{"=J3", nil, Number("0.004"), nil, nil, Number("12345")},
	}
	sheet := Sheet{
		Name: "jobs", Title: "A title", Notes: []string{strings.Repeat("a long note ", 40), "another"},
		Columns: []Column{
			{Name: "job", Heading: "Job", Format: "text", Total: "count"},
			{Name: "revenue_usd", Heading: "Revenue", Format: "usd", Total: "sum"},
			{Name: "margin_usd", Heading: "Margin", Format: "usd", Total: "sum"},
			{Name: "margin_pct", Heading: "Margin", Format: "pct", Total: "margin_usd / revenue_usd"},
			{Name: "left_on", Heading: "Left", Format: "on"},
			{Name: "trusses", Heading: "Trusses", Format: "count", Unit: "pieces"},
		},
		Charts:   []Chart{{Kind: "bar", Title: "Margin", Category: "job", Series: []string{"margin_usd"}, ValueAxisTitle: "USD", AltText: "Bars"}},
		Emphasis: []Emphasis{{Column: "margin_usd", Kind: "negative"}},
		Rows: func(yield func([]any, error) bool) {
			for _, row := range rows {
				if !yield(row, nil) {
					return
				}
			}
		},
	}
	book := Book{Title: "b", Created: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), Sheets: []Sheet{{Name: "first", Title: "First"}, sheet}}
	view, err := See(book, "jobs")
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := Write(&out, book); err != nil {
		t.Fatal(err)
	}
	file, err := excelize.OpenReader(&out)
	if err != nil {
		t.Fatal(err)
	}
	held := 0
	for i, row := range append(view.Rows, view.Totals) {
		for j, cell := range row {
			if cell.Address == "" {
				continue // no total
			}
			held++
			want, err := file.GetCellValue("jobs", cell.Address)
			if err != nil {
				t.Fatal(err)
			}
			if i == len(rows) && j == 0 {
				want = strings.TrimPrefix(want, "Total ")
			}
			if cell.Text != want {
				t.Errorf("%s: %q, the file shows %q", cell.Address, cell.Text, want)
			}
		}
	}
	if held != 3*6+4 {
		t.Errorf("%d cells held against the file", held)
	}
	if c := view.Columns[5]; c.Heading != "Trusses" || c.Unit != "pieces" || !c.IsNumber {
		t.Errorf("column %+v", c)
	}
	if cell := view.Rows[1][5]; cell.IsKnown || cell.Text != "not known" {
		t.Errorf("a word is %+v", cell)
	}
	if _, err := See(book, "job"); err == nil {
		t.Error("a sheet that isn't there was seen")
	}
}
