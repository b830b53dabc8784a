package ingest

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestSchemaHoldsEachFeed holds the declaration of each feed against the columns of its
// table and of its history: names, types and order.
func TestSchemaHoldsEachFeed(t *testing.T) {
	w := newTestWarehouse(t)
	for _, feed := range Feeds() {
		var want []string
		for _, c := range feed.Columns {
			for i, stored := range c.Stored() {
				want = append(want, stored+"|"+c.SQLType()[i])
			}
		}
		want = append(want, "occurrence|INTEGER", "import_id|BIGINT", "import_line|BIGINT")
		for schema, want := range map[string][]string{
			"main":    want,
			"history": append(want[:len(want):len(want)], "superseded_by|BIGINT", "superseded_as|VARCHAR"),
		} {
			got := w.rows(fmt.Sprintf(`
SELECT column_name, data_type
FROM duckdb_columns()
WHERE schema_name = '%s' AND table_name = '%s'
ORDER BY column_index`, schema, feed.Name))
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("%s.%s (-declared +schema):\n%s", schema, feed.Name, diff)
			}
		}
	}
}

// TestFeedsNameTheirColumns finds a key, group or rule that speaks of a column that the
// feed does not have.
func TestFeedsNameTheirColumns(t *testing.T) {
	for _, feed := range Feeds() {
		names := append([]string(nil), feed.Key...)
		for _, g := range feed.Group {
			for _, name := range []string{g.Column, g.ElseDateOf} {
				if name != "" {
					names = append(names, name)
				}
			}
		}
		for _, rule := range feed.Rules {
			names = append(names, rule.Column)
		}
		for _, name := range names {
			if _, known := feed.Column(name); !known {
				t.Errorf("%s has no column %s", feed.Name, name)
			}
		}
		for _, g := range feed.Group {
			if c, known := feed.Column(g.ElseDateOf); known && c.Kind != Time {
				t.Errorf("%s: the date of %s stands in for a group's, and it is no time", feed.Name, c.Name)
			}
		}
	}
}
