package reports

import (
	"errors"
	"strings"
	"testing"

	"trusstally/ingest/problem"
)

// FuzzDefinition: any text is a definition whose charts, links and emphases name its own
// columns, or is refused with problems that have a place and a code word.
func FuzzDefinition(f *testing.F) {
	f.Add(header)
	f.Add(strings.Replace(header, "-- sort:", "-- chart:  bar stacked 15 | Dollars | amount_usd | amount_usd, amount_usd | USD | bars\n-- link:   amount_usd | detail | job\n-- emphasis: amount_usd | word | LOSS\n-- needs: cutting\n-- sort:", 1))
	f.Add(strings.Replace(header, "| sum |", "| amount_usd / (amount_usd - amount_usd) |", 1))
	f.Add("--")
	f.Add("-- chart: line 99999999999999999999 | | | | |")
	f.Fuzz(func(t *testing.T, text string) {
		d, err := ParseDefinition("fuzz.sql", text)
		if err != nil {
			var list problem.List
			if !errors.As(err, &list) || len(list) == 0 {
				t.Fatalf("refused with %v, which is no list of problems", err)
			}
			for _, p := range list {
				if p.Code == "" || p.What == "" || !strings.HasPrefix(p.Place, "fuzz.sql:") || strings.HasPrefix(p.Place, "fuzz.sql:0") {
					t.Fatalf("refused with %+v", p)
				}
			}
			return
		}
		known := map[string]bool{}
		for _, name := range d.columnNames() {
			known[name] = true
		}
		for _, chart := range d.Charts {
			if !known[chart.Category] || chart.MaxRows < 0 {
				t.Fatalf("a chart %+v of %v", chart, known)
			}
		}
		for _, link := range d.Links {
			if !known[link.Column] {
				t.Fatalf("a link %+v of %v", link, known)
			}
		}
		if d.Sheet == "" || d.Title == "" || len(d.Columns) == 0 {
			t.Fatalf("a definition without its first lines: %+v", d)
		}
	})
}
