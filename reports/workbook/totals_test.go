package workbook_test

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"trusstally/reports/workbook"
)

// number is a Number cell, or a blank of "".
func number(text string) any {
	if text == "" {
		return nil
	}
	return workbook.Number(text)
}

func TestTotals(t *testing.T) {
	type cells struct{ Formulas, Results []string }
	for _, test := range []struct {
		name    string
		columns []workbook.Column
		rows    [][]string // numbers; "" is blank
		want    cells      // of the row of totals, or of the first row where it says so
		row     int
	}{
		{
			name:    "sums are exact",
			columns: []workbook.Column{{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "-"}},
			rows:    [][]string{{"0.1", "1"}, {"0.2", "1"}, {"-0.3", "1"}, {"1000000000000.01", "1"}, {"", "1"}},
			row:     3,
			want:    cells{[]string{"SUBTOTAL(109,A5:A9)", ""}, []string{"1000000000000.01", ""}},
		},
		{
			name:    "a count is of filled cells",
			columns: []workbook.Column{{Name: "a", Format: "usd", Total: "count"}, {Name: "b", Format: "text", Total: "count"}},
			rows:    [][]string{{"0", "x"}, {"", "y"}},
			row:     3,
			want:    cells{[]string{"SUBTOTAL(103,A5:A6)", "SUBTOTAL(103,B5:B6)"}, []string{"1", "2"}},
		},
		{
			name: "a ratio over totals",
			columns: []workbook.Column{
				{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "sum"}, {Name: "r", Format: "pct", Total: "a / b"}},
			rows: [][]string{{"1", "3", "0.3333"}, {"1", "5", "0.2"}},
			row:  3,
			want: cells{
				[]string{"SUBTOTAL(109,A5:A6)", "SUBTOTAL(109,B5:B6)", `IFERROR(A3/B3,"")`},
				[]string{"2", "8", "0.25"}},
		},
		{
			name: "a sum of no number is blank",
			columns: []workbook.Column{
				{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "sum"}, {Name: "r", Format: "pct", Total: "b / (a + b)"}},
			rows: [][]string{{"", "3", "1"}, {"", "5", "1"}},
			row:  3,
			want: cells{
				[]string{`IF(SUBTOTAL(102,A5:A6)=0,"",SUBTOTAL(109,A5:A6))`, "SUBTOTAL(109,B5:B6)", `IFERROR(B3/(SUBTOTAL(109,A5:A6)+B3),"")`},
				[]string{"", "8", "1"}},
		},
		{
			name: "a ratio in each row, with the value given",
			columns: []workbook.Column{
				{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "sum"}, {Name: "r", Format: "pct", Total: "a / b"}},
			rows: [][]string{{"1", "3", "0.3333"}, {"1", "5", "0.2"}},
			row:  5,
			want: cells{[]string{"", "", "A5/B5"}, []string{"1", "3", "0.3333"}},
		},
		{
			name: "a blank ratio stays blank",
			columns: []workbook.Column{
				{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "sum"}, {Name: "r", Format: "pct", Total: "a / b"}},
			rows: [][]string{{"1", "0", ""}, {"1", "5", "0.2"}},
			row:  5,
			want: cells{[]string{"", "", ""}, []string{"1", "0", ""}},
		},
		{
			name: "a row without a number above the bar does not count below it",
			columns: []workbook.Column{
				{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "sum"}, {Name: "r", Format: "pct", Total: "a / b"}},
			rows: [][]string{{"", "100", ""}, {"1", "5", "0.2"}, {"1", "", ""}},
			row:  3,
			want: cells{
				[]string{"SUBTOTAL(109,A5:A7)", "SUBTOTAL(109,B5:B7)",
					`IFERROR(A3/SUMPRODUCT(SUBTOTAL(109,OFFSET(B5,ROW(B5:B7)-ROW(B5),0))*ISNUMBER(A5:A7)),"")`},
				[]string{"2", "105", "0.4"}},
		},
		{
			name: "both numbers above the bar are needed",
			columns: []workbook.Column{
				{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "-"}, {Name: "r", Format: "pct", Total: "(a - b) / b"}},
			rows: [][]string{{"100", "", ""}, {"30", "20", "0.5"}, {"50", "40", "0.25"}},
			row:  3,
			want: cells{
				[]string{"SUBTOTAL(109,A5:A7)", "",
					`IFERROR((SUMPRODUCT(SUBTOTAL(109,OFFSET(A5,ROW(A5:A7)-ROW(A5),0))*ISNUMBER(A5:A7)*ISNUMBER(B5:B7))-SUBTOTAL(109,B5:B7))/SUBTOTAL(109,B5:B7),"")`},
				[]string{"180", "", "0.333333333333333"}},
		},
		{
			name: "nothing to divide by",
			columns: []workbook.Column{
				{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "sum"}, {Name: "r", Format: "pct", Total: "a / b"}},
			rows: [][]string{{"1", "5", "0.2"}, {"1", "-5", "-0.2"}},
			row:  3,
			want: cells{[]string{"SUBTOTAL(109,A5:A6)", "SUBTOTAL(109,B5:B6)", `IFERROR(A3/B3,"")`}, []string{"2", "0", ""}},
		},
		{
			name: "sums and differences",
			columns: []workbook.Column{
				{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "sum"}, {Name: "c", Format: "usd", Total: "b - a + a"}},
			rows: [][]string{{"1", "5", "5"}, {"1", "", ""}},
			row:  5,
			want: cells{[]string{"", "", "B5-A5+A5"}, []string{"1", "5", "5"}},
		},
		{
			name: "the total of a difference is the sum of its rows",
			columns: []workbook.Column{
				{Name: "a", Format: "usd", Total: "sum"}, {Name: "b", Format: "usd", Total: "sum"}, {Name: "c", Format: "usd", Total: "b - a"}},
			rows: [][]string{{"1", "5", "4"}, {"1", "", ""}},
			row:  3,
			want: cells{[]string{"SUBTOTAL(109,A5:A6)", "SUBTOTAL(109,B5:B6)", "SUBTOTAL(109,C5:C6)"}, []string{"2", "5", "4"}},
		},
		{
			name: "a ratio over a difference",
			columns: []workbook.Column{
				{Name: "revenue", Format: "usd", Total: "sum"}, {Name: "cost", Format: "usd", Total: "sum"},
				{Name: "margin", Format: "usd", Total: "revenue - cost"}, {Name: "pct", Format: "pct", Total: "margin / (revenue + cost)"}},
			rows: [][]string{{"10", "6", "4", "0.25"}},
			row:  5,
			want: cells{[]string{"", "", "A5-B5", "C5/(A5+B5)"}, []string{"10", "6", "4", "0.25"}},
		},
	} {
		t.Run(test.name, func(t *testing.T) {
			var rows [][]any
			for _, given := range test.rows {
				row := make([]any, len(given))
				for i, text := range given {
					row[i] = number(text)
					if test.columns[i].Format == "text" {
						row[i] = text
					}
				}
				rows = append(rows, row)
			}
			file := openBook(t, written(t, sheetOf(workbook.Sheet{Name: "s", Title: "T", Columns: test.columns, Rows: rowsOf(rows...)})))
			var got cells
			for i := range test.columns {
				cell := fmt.Sprintf("%c%d", 'A'+i, test.row)
				formula, err := file.GetCellFormula("s", cell)
				if err != nil {
					t.Fatal(err)
				}
				got.Formulas = append(got.Formulas, formula)
				got.Results = append(got.Results, rawCell(t, file, "s", cell))
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestTotalIsLabelled(t *testing.T) {
	for _, test := range []struct {
		name, format, total, want string
		cell                      any
	}{
		{"beside the totals", "text", "", "Total", "J"},
		{"with a count", "text", "count", "Total 1", "J"},
		{"with a sum", "usd", "sum", "Total 1,234.50", workbook.Number("1234.50")},
		{"with a negative sum", "usd", "sum", "Total -1,234.50", workbook.Number("-1234.50")},
	} {
		t.Run(test.name, func(t *testing.T) {
			file := openBook(t, written(t, sheetOf(workbook.Sheet{
				Name: "s", Title: "T",
				Columns: []workbook.Column{{Name: "first", Format: test.format, Total: test.total}, {Name: "usd", Format: "usd", Total: "sum"}},
				Rows:    rowsOf([]any{test.cell, workbook.Number("1")}),
			})))
			got, err := file.GetCellValue("s", "A3")
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestSum(t *testing.T) {
	for _, test := range []struct {
		terms []workbook.Number
		want  workbook.Number
	}{
		{nil, "0"},
		{[]workbook.Number{"1.10", "2.205"}, "3.305"},
		{[]workbook.Number{"-0.01", "0.01"}, "0.00"},
		{[]workbook.Number{"99999999999999999999.99", "0.01"}, "100000000000000000000.00"},
		{[]workbook.Number{"-5", "2.5"}, "-2.5"},
	} {
		got, err := workbook.Sum(test.terms...)
		if err != nil {
			t.Fatal(err)
		}
		if got != test.want {
			t.Errorf("Sum(%v) = %s, want %s", test.terms, got, test.want)
		}
	}
	for _, text := range []workbook.Number{"", "-", ".5", "5.", "1,000", "1e3", "+1", " 1", "1 ", "--1", "0x1", "1_0", "٣"} {
		if got, err := workbook.Sum(text); err == nil {
			t.Errorf("Sum(%q) = %s, want an error", text, got)
		}
	}
}

// Sums agree with big.Rat, an arithmetic of its own, in whatever order the terms come.
func TestSumIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		texts := rapid.SliceOf(rapid.StringMatching(`-?[0-9]{1,25}(\.[0-9]{1,12})?`)).Draw(t, "terms")
		want := new(big.Rat)
		var terms, reversed []workbook.Number
		for _, text := range texts {
			term, ok := new(big.Rat).SetString(text)
			if !ok {
				t.Fatalf("%q", text)
			}
			want.Add(want, term)
			terms = append(terms, workbook.Number(text))
			reversed = append([]workbook.Number{workbook.Number(text)}, reversed...)
		}
		for _, order := range [][]workbook.Number{terms, reversed} {
			sum, err := workbook.Sum(order...)
			if err != nil {
				t.Fatal(err)
			}
			got, ok := new(big.Rat).SetString(string(sum))
			if !ok || got.Cmp(want) != 0 {
				t.Fatalf("Sum(%v) = %s, want %s", order, sum, want.FloatString(12))
			}
		}
	})
}

func TestCheckColumns(t *testing.T) {
	text := func(name string) workbook.Column { return workbook.Column{Name: name, Format: "text"} }
	usd := func(name, total string) workbook.Column {
		return workbook.Column{Name: name, Format: "usd", Total: total}
	}
	for _, test := range []struct {
		name    string
		columns []workbook.Column
		want    string // "" where they are fine
	}{
		{"fine", []workbook.Column{text("job"), usd("a", "sum"), usd("b", "-"), usd("c", "a-b"), usd("d", "( a-b )/b"), usd("e", "(a)/(b)")}, ""},
		{"no name", []workbook.Column{{Format: "text"}}, "column 1 has no name"},
		{"twice", []workbook.Column{text("a"), text("a")}, `two columns are named "a"`},
		{"same heading", []workbook.Column{{Name: "a", Heading: "Cost", Format: "usd"}, {Name: "b", Heading: "COST", Format: "usd"}},
			`columns "a" and "b" have the same heading "COST\nUSD"`},
		{"same heading, another unit", []workbook.Column{{Name: "a", Heading: "Cost", Format: "usd"}, {Name: "b", Heading: "Cost", Format: "pct"}}, ""},
		{"unknown format", []workbook.Column{{Name: "a", Format: "money"}},
			`column "a": unknown format "money": one of text, count, line, number, rate, usd, bf, pct, min, hours, feet, inches, on, at`},
		{"long heading", []workbook.Column{{Name: "a", Heading: strings.Repeat("x", 256), Format: "text"}}, `column "a": a heading of 256 characters: 255 at most`},
		{"a sum of text", []workbook.Column{{Name: "a", Format: "text", Total: "sum"}}, `column "a": total "sum" needs a column of numbers, and format "text" is not`},
		{"unknown column", []workbook.Column{usd("a", "b / c")}, `column "a": total "b / c": no column "b" in this sheet`},
		{"a constant", []workbook.Column{usd("a", ""), usd("b", "a / 1000")}, `column "b": total "a / 1000": no column "1000" in this sheet`},
		{"a product", []workbook.Column{usd("a", ""), usd("b", "a * a")}, `column "b": total "a * a": unexpected "*": only column names, +, -, / and parentheses`},
		{"two divisions", []workbook.Column{usd("a", ""), usd("b", "a / a / a")},
			`column "b": total "a / a / a": one division at most, with a sum above or below it in parentheses, as (a - b) / c`},
		{"a sum beside a division", []workbook.Column{usd("a", ""), usd("b", "a - a / a")},
			`column "b": total "a - a / a": one division at most, with a sum above or below it in parentheses, as (a - b) / c`},
		{"open parenthesis", []workbook.Column{usd("a", ""), usd("b", "(a - a / a")}, `column "b": total "(a - a / a": a parenthesis is not closed`},
		{"closed too often", []workbook.Column{usd("a", ""), usd("b", "a) / a")}, `column "b": total "a) / a": unexpected ")": only column names, +, -, / and parentheses`},
		{"ends early", []workbook.Column{usd("a", ""), usd("b", "a /")}, `column "b": total "a /": it ends where a column name is due`},
		{"begins with a sign", []workbook.Column{usd("a", ""), usd("b", "-a")}, `column "b": total "-a": "-" where a column name is due`},
		{"over text", []workbook.Column{text("job"), usd("b", "job / b")}, `column "b": total "job / b" uses "job", which holds no numbers`},
		{"over itself", []workbook.Column{usd("a", "a + a")}, `column "a": total "a + a" leads back to the column itself`},
		{"in a circle", []workbook.Column{usd("a", "b + c"), usd("b", "a - c"), usd("c", "sum")}, `column "a": total "b + c" leads back to the column itself`},
		{"over a ratio", []workbook.Column{usd("a", "sum"), usd("r", "a / a"), usd("b", "r / a")}, `column "b": total "r / a" uses "r", which is itself a ratio`},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := ""
			if err := workbook.CheckColumns(test.columns); err != nil {
				got = err.Error()
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}
