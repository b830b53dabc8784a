package workbook

import (
	"slices"
	"testing"
)

// FuzzExpression: any total is a sum or a quotient of columns that there are, or an error.
func FuzzExpression(f *testing.F) {
	for _, text := range []string{"a / b", "(a - b) / b", "a / (b + c)", "a + b - c", "", "(", "a /", "a / b / c", "2 * a", "((a))", "-a", "=cmd|' /C calc'!A0"} {
		f.Add(text)
	}
	names := []string{"a", "b", "c"}
	f.Fuzz(func(t *testing.T, text string) {
		result, err := parseExpression(text, func(name string) int { return slices.Index(names, name) })
		if err != nil {
			return
		}
		if len(result.above) == 0 {
			t.Fatalf("%q has nothing above the bar", text)
		}
		for _, term := range result.terms() {
			if term.column < 0 || term.column >= len(names) {
				t.Fatalf("%q names column %d", text, term.column)
			}
		}
	})
}

// FuzzColumns: columns are understood or refused, whatever their names, formats and totals.
func FuzzColumns(f *testing.F) {
	f.Add("a_usd", "usd", "sum", "b_pct", "pct", "a_usd / b_pct")
	f.Add("a", "text", "-", "a", "text", "-")
	f.Add("a", "number", "b", "b", "number", "a")
	f.Fuzz(func(t *testing.T, name, format, total, other, otherFormat, otherTotal string) {
		columns := []Column{{Name: name, Heading: "A", Format: format, Total: total, Meaning: "a"}, {Name: other, Heading: "B", Format: otherFormat, Total: otherTotal, Meaning: "b"}}
		understood, err := understandColumns(columns)
		if err == nil && len(understood) != len(columns) {
			t.Fatalf("%d of %d columns", len(understood), len(columns))
		}
	})
}
