package workbook

import (
	"bytes"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
)

func TestShown(t *testing.T) {
	cases := []struct {
		name, format string
		cell         any
		want         string
	}{
		{"thousands", "usd", Number("1234567.80"), "1,234,567.80"},
		{"minus", "usd", Number("-1234.5"), "-1,234.50"},
		{"half away from zero", "bf", Number("-0.25"), "-0.3"},
		{"rounds to nothing", "min", Number("-0.04"), "-0.0"},
		{"minus zero", "min", Number("-0.00"), "0.0"},
		{"share", "pct", Number("0.21728"), "21.7%"},
		{"share over a thousand per cent", "pct", Number("12.5"), "1250.0%"},
		{"no mark between thousands", "line", Number("123456"), "123456"},
		{"count", "count", Number("123456"), "123,456"},
		{"rate", "rate", Number("0.00005"), "0.0001"},
		{"blank", "usd", nil, ""},
		{"text", "text", "00123", "00123"},
		{"yes", "text", true, "yes"},
		{"day", "on", time.Date(2026, 11, 9, 0, 0, 0, 0, time.UTC), "2026-11-09"},
		{"moment", "at", time.Date(2026, 11, 9, 6, 5, 59, 0, time.UTC), "2026-11-09 06:05"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := Shown(c.format, c.cell)
			if err != nil || got != c.want {
				t.Errorf("got %q (%v), want %q", got, err, c.want)
			}
		})
	}
	for _, bad := range []struct {
		format string
		cell   any
	}{{"usd", time.Now()}, {"dollars", Number("1")}, {"usd", Number("1e3")}, {"usd", 1.5}} {
		if got, err := Shown(bad.format, bad.cell); err == nil {
			t.Errorf("%v in a column of %s is shown as %q", bad.cell, bad.format, got)
		}
	}
}

// TestShownAsInTheFile holds Shown against the number formats of a written book, as the
// library that reads it applies them.
func TestShownAsInTheFile(t *testing.T) {
	numbers := []Number{"0", "-0.04", "0.217289", "-1234.5", "1234567.894", "99.95", "-0.25"}
	for _, f := range formats() {
		if f.kind != kindNumber {
			continue
		}
		rows := make([][]any, len(numbers))
		for i, n := range numbers {
			rows[i] = []any{n}
		}
		var file bytes.Buffer
		if err := Write(&file, Book{Title: "t", Created: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), Sheets: []Sheet{{
			Name: "s", Title: "t", Columns: []Column{{Name: "c", Heading: "C", Format: f.name, Meaning: "m"}},
			Rows: func(yield func([]any, error) bool) {
				for _, row := range rows {
					if !yield(row, nil) {
						return
					}
				}
			},
		}}}); err != nil {
			t.Fatal(err)
		}
		book, err := excelize.OpenReader(&file)
		if err != nil {
			t.Fatal(err)
		}
		written, err := book.GetRows("s")
		if err != nil {
			t.Fatal(err)
		}
		var want, got []string
		for i, n := range numbers {
			row := written[len(written)-len(numbers)+i]
			shown, err := Shown(f.name, n)
			if err != nil {
				t.Fatal(err)
			}
			want, got = append(want, row[0]), append(got, shown)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-file +shown):\n%s", f.name, diff)
		}
	}
}
