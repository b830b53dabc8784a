package workbook_test

import (
	"bytes"
	"fmt"
	"time"

	"github.com/xuri/excelize/v2"

	"trusstally/reports/workbook"
)

// Two jobs, of which one has no margin yet: its revenue is in the total of revenue, but
// not under the total of the ratio.
func ExampleWrite() {
	rows := func(yield func([]any, error) bool) {
		_ = yield([]any{"04100", workbook.Number("1000.00"), workbook.Number("250.00"), workbook.Number("0.2500")}, nil) &&
			yield([]any{"04107", workbook.Number("600.00"), nil, nil}, nil)
	}
	book := workbook.Book{
		Title: "Margin", Created: time.Date(2026, time.November, 16, 0, 0, 0, 0, time.UTC),
		Sheets: []workbook.Sheet{{
			Name: "margin_by_job", Title: "Margin by job",
			Columns: []workbook.Column{
				{Name: "job", Heading: "Job", Format: "text"},
				{Name: "revenue_usd", Heading: "Revenue", Format: "usd", Total: "sum"},
				{Name: "margin_usd", Heading: "Margin", Format: "usd", Total: "sum"},
				{Name: "margin_pct", Heading: "Margin", Format: "pct", Total: "margin_usd / revenue_usd"},
			},
			Rows: rows,
		}},
	}
	var file bytes.Buffer
	if err := workbook.Write(&file, book); err != nil {
		fmt.Println(err)
		return
	}

	read, err := excelize.OpenReader(&file)
	if err != nil {
		fmt.Println(err)
		return
	}
	shown, err := read.GetRows("margin_by_job")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, row := range shown {
		fmt.Printf("%q\n", row)
	}
	// Output:
	// ["Margin by job"]
	// []
	// ["Total" "1,600.00" "250.00" "25.0%"]
	// ["Job" "Revenue\nUSD" "Margin\nUSD" "Margin\n%"]
	// ["04100" "1,000.00" "250.00" "25.0%"]
	// ["04107" "600.00"]
}
