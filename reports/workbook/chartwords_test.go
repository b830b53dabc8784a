package workbook_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/reports/workbook"
)

// paragraphs are the lines over a chart.
func paragraphs(chart string) []string {
	title, _, _ := strings.Cut(chart, "</c:title>")
	var lines []string
	for _, match := range regexp.MustCompile(`<a:t>([^<]*)</a:t>`).FindAllStringSubmatch(title, -1) {
		lines = append(lines, match[1])
	}
	return lines
}

// TestChartsSayWhatTheyShow: the line under a title gives figures of the cells that are drawn,
// as the cells show them.
func TestChartsSayWhatTheyShow(t *testing.T) {
	usd := func(category string, a, b any) []any { return []any{category, a, b, nil, nil} }
	n := func(text string) any { return workbook.Number(text) }
	cases := []struct {
		name, kind string
		series     []string
		max        int
		rows       [][]any
		want       string
	}{
		{"highest and lowest", "bar", []string{"a"}, 0, [][]any{usd("x", n("1200.5"), nil), usd("y", n("-3"), nil), usd("z", n("7"), nil)}, "most at x: 1,200.50 USD; lowest at y: -3.00 USD"},
		{"highest", "bar", []string{"a"}, 0, [][]any{usd("x", n("1"), nil), usd("y", n("3"), nil)}, "most at y: 3.00 USD"},
		{"one bar", "bar", []string{"a"}, 0, [][]any{usd("x", n("1"), nil)}, "x: 1.00 USD"},
		{"one bar below nothing", "bar", []string{"a"}, 0, [][]any{usd("x", n("-1"), nil)}, "x: -1.00 USD"},
		{"all below nothing", "bar", []string{"a"}, 0, [][]any{usd("x", n("-1"), nil), usd("y", n("-2"), nil)}, "lowest at y: -2.00 USD"},
		{"no number", "bar", []string{"a"}, 0, [][]any{usd("x", nil, nil)}, ""},
		{"some drawn", "bar", []string{"a"}, 2, [][]any{usd("x", n("1"), nil), usd("y", n("3"), nil), usd("z", n("9"), nil)}, "most at y: 3.00 USD; the first 2 of 3 rows are drawn"},
		{"against another", "bar", []string{"a", "b"}, 0, [][]any{usd("x", n("1"), n("2")), usd("y", n("1"), n("1")), usd("z", n("5"), nil), usd("q", n("0"), n("4"))}, "“First” is below “Second” in 2 of 3"},
		{"stack", "bar stacked", []string{"a", "b"}, 0, [][]any{usd("x", n("1"), n("2")), usd("y", nil, n("1"))}, "most is second: 75.0% of all"},
		{"stack of nothing", "bar stacked", []string{"a", "b"}, 0, [][]any{usd("x", n("0"), nil)}, ""},
		{"lines", "line", []string{"a", "b"}, 0, [][]any{usd("w1", n("1"), n("2")), usd("w2", n("5"), nil), usd("w3", nil, nil)}, "w2: First 5.00 USD"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			book := written(t, sheetOf(workbook.Sheet{
				Name: "it's", Title: "T",
				Columns: []workbook.Column{
					{Name: "category", Format: "text"}, {Name: "a", Heading: "First", Format: "usd"}, {Name: "b", Heading: "Second", Format: "usd"},
					{Name: "on", Format: "on"}, {Name: "n", Format: "count"},
				},
				Rows:   rowsOf(c.rows...),
				Charts: []workbook.Chart{{Kind: c.kind, Title: "T", AltText: "A", Category: "category", Series: c.series, MaxRows: c.max, ValueAxisTitle: "USD"}},
			}))
			want := []string{"T"}
			if c.want != "" {
				want = append(want, c.want)
			}
			if diff := cmp.Diff(want, paragraphs(part(t, book, "xl/charts/chart1.xml"))); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

// TestLimitsAreSaid: charts with limits say on which side of them the last value is, a bridge
// where it leads.
func TestLimitsAreSaid(t *testing.T) {
	names := []string{"category", "a", "b", "c", "d", "e"}
	cases := []struct {
		name, kind string
		series     []string
		rows       []string // cells parted by blanks; "-" is blank
		want       string
	}{
		{"above", "line limits", names[1:], []string{"w1 1 - 1 0 2", "w2 3 - 1 0 2", "w3 - - 1 0 2"}, "w2: 3.00 USD; above the upper limit"},
		{"below", "line limits", names[1:], []string{"w1 -1 - 1 0 2"}, "w1: -1.00 USD; below the lower limit"},
		{"within", "line limits", names[1:], []string{"w1 2 - 1 - 2"}, "w1: 2.00 USD; within the limits"},
		{"none", "line limits", names[1:], []string{"w1 2 - - - -"}, "w1: 2.00 USD; no limits yet"},
		{"bridge", "bar waterfall", names[1:5], []string{"quote - - - 10", "price 10 5 - -", "labour 8 - 7 -", "margin - - - 8"}, "from 10.00 to 8.00 USD; the largest step down: labour, 7.00 USD"},
		{"bridge without a step", "bar waterfall", names[1:5], []string{"quote - - - 10", "margin - - - 10"}, "from 10.00 to 10.00 USD"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var rows [][]any
			for _, line := range c.rows {
				row := make([]any, len(names))
				for i, text := range strings.Fields(line) {
					if i == 0 {
						row[i] = text
					} else if text != "-" {
						row[i] = workbook.Number(text)
					}
				}
				rows = append(rows, row)
			}
			columns := []workbook.Column{{Name: "category", Format: "text"}}
			for _, name := range names[1:] {
				columns = append(columns, workbook.Column{Name: name, Heading: strings.ToUpper(name), Format: "usd"})
			}
			book := written(t, sheetOf(workbook.Sheet{Name: "s", Title: "T", Columns: columns, Rows: rowsOf(rows...),
				Charts: []workbook.Chart{{Kind: c.kind, Title: "T", AltText: "A", Category: "category", Series: c.series, ValueAxisTitle: "USD"}}}))
			if diff := cmp.Diff([]string{"T", c.want}, paragraphs(part(t, book, "xl/charts/chart1.xml"))); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}
