package workbook_test

import (
	"fmt"
	"time"

	"trusstally/reports/workbook"
)

// rowsOf gives rows as a sheet takes them.
func rowsOf(rows ...[]any) func(yield func([]any, error) bool) {
	return func(yield func([]any, error) bool) {
		for _, row := range rows {
			if !yield(row, nil) {
				return
			}
		}
	}
}

func cents(amount int) workbook.Number {
	sign := ""
	if amount < 0 {
		sign, amount = "-", -amount
	}
	return workbook.Number(fmt.Sprintf("%s%d.%02d", sign, amount/100, amount%100))
}

// fraction is a / b to six decimals, half away from zero, as a query would give it.
func fraction(a, b int) any {
	if b == 0 {
		return nil
	}
	scaled := (2_000_000*abs(a) + abs(b)) / (2 * abs(b))
	sign := ""
	if (a < 0) != (b < 0) && scaled != 0 {
		sign = "-"
	}
	return workbook.Number(fmt.Sprintf("%s%d.%06d", sign, scaled/1_000_000, scaled%1_000_000))
}

func abs(n int) int { return max(n, -n) }

func day(year int, month time.Month, dayOfMonth int) time.Time {
	return time.Date(year, month, dayOfMonth, 0, 0, 0, 0, time.UTC)
}

// sampleBook has what the books of a plant have: money, ratios with blanks, words in
// place of figures, links, charts and emphasis. Its rows are invented.
func sampleBook() workbook.Book {
	return workbook.Book{
		Title:   "Job margin, week 2026-W46",
		Subject: "Margin of each job",
		Author:  "trusstally",
		Created: time.Date(2026, time.November, 16, 0, 0, 0, 0, time.UTC),
		Footer:  "Plant P-1 · week 2026-W46 (2026-11-09 to 2026-11-15)",
		Sheets:  []workbook.Sheet{marginSheet(), gradeSheet(), trendSheet(), emptySheet()},
	}
}

func marginSheet() workbook.Sheet {
	var rows [][]any
	for i := range 40 {
		job := fmt.Sprintf("%05d", 4100+7*i)
		price := 380_000 + (i*7919)%900*1000 + (i*37)%100
		lumber := price*(34+(i*13)%19)/100 + i
		labour := price*(11+(i*5)%9)/100 + 3*i
		overhead := price * 9 / 100
		cost := lumber + labour + overhead
		revenue := price
		status := "shipped"
		shipped := time.Date(2026, time.November, 9+i%6, 7+i%9, 15, 0, 0, time.UTC)
		var margin, pct any = cents(revenue - cost), nil
		switch {
		case i%11 == 4: // nothing is known of its lumber
			status, margin = "incomplete", nil
		case i%9 == 7: // remade at the plant's cost
			status, revenue = "remake", 0
			margin = cents(-cost)
		case i%7 == 5:
			cost += price * 6 / 10
			lumber += price * 6 / 10
			margin = cents(revenue - cost)
		}
		if margin != nil {
			pct = fraction(revenue-cost, revenue)
		}
		rows = append(rows, []any{
			job, fmt.Sprintf("C-%03d", 100+i*17%60), status, shipped,
			cents(revenue), cents(lumber), cents(labour), cents(overhead), cents(cost), margin, pct,
		})
	}
	return workbook.Sheet{
		Name:  "margin_by_job",
		Title: "Margin by job",
		Notes: []string{
			"Jobs with a cost posted in the week. Revenue when shipped; lumber at cost, oldest layers first; labour without overtime premium.",
			"A job without lumber rows is incomplete: its margin is blank, and its revenue is not in the total of margin percent.",
		},
		Columns: []workbook.Column{
			{Name: "job", Heading: "Job", Format: "text", Total: "count", Link: &workbook.Link{Sheet: "grades", Column: "job"}},
			{Name: "customer", Heading: "Customer", Format: "text"},
			{Name: "status", Heading: "Status", Format: "text"},
			{Name: "shipped_at", Heading: "Shipped", Format: "at"},
			{Name: "revenue_usd", Heading: "Revenue", Format: "usd", Total: "sum"},
			{Name: "lumber_usd", Heading: "Lumber", Format: "usd", Total: "sum"},
			{Name: "labour_usd", Heading: "Labour", Format: "usd", Total: "sum"},
			{Name: "overhead_usd", Heading: "Overhead applied", Format: "usd", Total: "sum"},
			{Name: "cost_usd", Heading: "Cost", Format: "usd", Total: "lumber_usd + labour_usd + overhead_usd"},
			{Name: "margin_usd", Heading: "Margin", Format: "usd", Total: "sum"},
			{Name: "margin_pct", Heading: "Margin of revenue", Format: "pct", Total: "margin_usd / revenue_usd"},
		},
		Rows: rowsOf(rows...),
		Charts: []workbook.Chart{{
			Kind: "bar stacked", Title: "Lumber is the largest cost of every job", Category: "job",
			Series: []string{"lumber_usd", "labour_usd", "overhead_usd"}, MaxRows: 12, ValueAxisTitle: "Cost, USD",
			AltText: "Bars of lumber, labour and overhead for the first twelve jobs.",
		}, {
			Kind: "bar", Title: "Two of the first twelve jobs lost money", Category: "job",
			Series: []string{"margin_usd"}, MaxRows: 12, ValueAxisTitle: "Margin, USD",
			AltText: "Bars of margin for the first twelve jobs.",
		}},
		Emphasis: []workbook.Emphasis{
			{Column: "margin_usd", Kind: "negative"},
			{Column: "margin_pct", Kind: "negative"},
			{Column: "status", Kind: "word", Word: "incomplete"},
		},
	}
}

func gradeSheet() workbook.Sheet {
	var rows [][]any
	sizes := []string{"2x4", "2x6", "2x8", "2x10"}
	grades := []string{"SS", "No. 1", "No. 2", "MSR 2400"}
	for i := range 38 {
		issued := 4_000 + (i*7001)%90_000
		finished := issued * (84 + (i*5)%12) / 100
		var finishedCell any = workbook.Number(fmt.Sprintf("%d.%d", finished/10, finished%10))
		var pct any = fraction(issued-finished, issued)
		if i%13 == 6 {
			finishedCell, pct = "no cut list", "no cut list"
		}
		rows = append(rows, []any{
			fmt.Sprintf("%05d", 4100+7*i), sizes[i%4], "SP", grades[i/4%4],
			"Chord and web stock as stamped, piece counts from the saw",
			workbook.Number(fmt.Sprintf("%d.%d", issued/10, issued%10)), finishedCell, pct,
			workbook.Number(fmt.Sprintf("%d", 3+i%9)),
		})
	}
	rows[5][4] = "=1+1 is text here"
	rows[6][4] = "Re-graded on the yard after rain; the stamp could not be read on every board, so the lower of the two grades was taken for the whole bundle until the inspector comes back"
	return workbook.Sheet{
		Name:  "grades",
		Title: "Board feet by size and grade",
		Notes: []string{"Board feet by nominal section and stock length."},
		Columns: []workbook.Column{
			{Name: "job", Heading: "Job", Format: "text"},
			{Name: "size", Heading: "Size", Format: "text"},
			{Name: "species", Heading: "Species", Format: "text"},
			{Name: "grade", Heading: "Grade", Format: "text"},
			{Name: "remark", Heading: "Remark", Format: "text"},
			{Name: "issued_bf", Heading: "Issued", Format: "bf", Total: "sum"},
			{Name: "finished_bf", Heading: "In finished parts", Format: "bf", Total: "sum"},
			{Name: "waste_pct", Heading: "Waste of issue", Format: "pct", Total: "(issued_bf - finished_bf) / issued_bf"},
			{Name: "batches", Heading: "Batches", Format: "count", Total: "sum"},
		},
		Rows: rowsOf(rows...),
	}
}

func trendSheet() workbook.Sheet {
	var rows [][]any
	for i := range 26 {
		trusses := 210 + (i*37)%60
		setup := 9_000 + (i*911)%3_000
		build := 48_000 + (i*5_003)%14_000
		rows = append(rows, []any{
			day(2026, time.May, 18).AddDate(0, 0, 7*i), workbook.Number(fmt.Sprint(trusses)),
			workbook.Number(fmt.Sprintf("%d.%d", setup/10, setup%10)), workbook.Number(fmt.Sprintf("%d.%d", build/10, build%10)),
			workbook.Number(fmt.Sprintf("%d.%d", (setup+build)/10, (setup+build)%10)),
			fraction(setup+build, 10*trusses),
		})
	}
	return workbook.Sheet{
		Name:  "trend",
		Title: "Labour a truss by week",
		Columns: []workbook.Column{
			{Name: "week_on", Heading: "Week starts", Format: "on"},
			{Name: "trusses", Heading: "Trusses", Format: "count", Total: "sum"},
			{Name: "setup_min", Heading: "Setup", Format: "min", Total: "sum"},
			{Name: "build_min", Heading: "Build", Format: "min", Total: "sum"},
			{Name: "labour_min", Heading: "Labour", Format: "min", Total: "setup_min + build_min"},
			{Name: "labour_min_per_truss", Heading: "Labour", Unit: "min a truss", Format: "min", Total: "labour_min / trusses"},
		},
		Rows: rowsOf(rows...),
		Charts: []workbook.Chart{{
			Kind: "line", Title: "Labour a truss has not changed in half a year", Category: "week_on",
			Series: []string{"labour_min_per_truss"}, ValueAxisTitle: "Minutes a truss",
			AltText: "Line of labour minutes a truss by week, level around 26.",
		}, {
			Kind: "line", Title: "Setup and build by week", Category: "week_on",
			Series: []string{"setup_min", "build_min"}, ValueAxisTitle: "Minutes",
			AltText: "Lines of setup and build minutes by week.",
		}, {
			Kind: "scatter", Title: "More trusses a week, no fewer minutes each", Category: "trusses",
			Series: []string{"labour_min_per_truss"}, ValueAxisTitle: "Minutes a truss",
			AltText: "Scatter of labour minutes a truss against trusses a week, without a slope.",
		}},
	}
}

func emptySheet() workbook.Sheet {
	return workbook.Sheet{
		Name:  "exceptions",
		Title: "Exceptions",
		Notes: []string{"Rows of the week that need someone to look at them."},
		Columns: []workbook.Column{
			{Name: "file", Heading: "File", Format: "text", Total: "count"},
			{Name: "line", Heading: "Line", Format: "count"},
			{Name: "usd", Heading: "At stake", Format: "usd", Total: "sum"},
		},
		Charts: []workbook.Chart{{
			Kind: "bar", Title: "At stake", Category: "file", Series: []string{"usd"}, ValueAxisTitle: "USD", AltText: "Bars of dollars at stake by file.",
		}},
	}
}
