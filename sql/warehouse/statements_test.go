package warehouse

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func TestStatementsOf(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []statement
	}{
		{"two", "-- grain\nCREATE TABLE a (b INTEGER);\n\nSELECT 1;\n", []statement{{text: "CREATE TABLE a (b INTEGER)", line: 2}, {text: "SELECT 1", line: 4}}},
		{"marks in texts and comments", "SELECT ';' -- ; no end\n, \"a;b\";SELECT 'it''s;'", []statement{{text: "SELECT ';' -- ; no end\n, \"a;b\"", line: 1}, {text: "SELECT 'it''s;'", line: 2}}},
		{"a text of two lines", "SELECT 'a\nb';\nSELECT 2", []statement{{text: "SELECT 'a\nb'", line: 1}, {text: "SELECT 2", line: 3}}},
		{"only a comment", "-- nothing\n", nil},
		{"what is renewed", "-- grain: one day\n-- renewed: day >= since\n-- reads: a where on_day >= since\nSELECT 1;\nSELECT 2", []statement{
			{text: "SELECT 1", line: 4, renewed: "day >= since", reads: []narrow{{"a", "on_day >= since"}}}, {text: "SELECT 2", line: 5}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if diff := cmp.Diff(c.want, statementsOf(c.text), cmp.AllowUnexported(statement{}, narrow{})); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestNarrowed(t *testing.T) {
	one := statement{reads: []narrow{{"steps.punches", "day >= since"}}}
	put := renewal{since: time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC)}.put
	got := one.narrowed("SELECT * FROM steps.punches AS p JOIN steps.punch_days USING (punch_id) JOIN steps.punches USING (day)", put)
	part := "(SELECT * FROM steps.punches AS r WHERE day >= DATE '2026-11-02')"
	want := "SELECT * FROM " + part + " AS p JOIN steps.punch_days USING (punch_id) JOIN " + part + " USING (day)"
	if got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
}

// TestRenewedLines: a line that says what is renewed stands above a table that is made from a
// query, and what a statement reads a part of is there to be read.
func TestRenewedLines(t *testing.T) {
	lines := 0
	for _, file := range filesIn("ledgers") {
		text, err := sqlText(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, one := range statementsOf(text) {
			table, _ := one.table()
			if one.renewed != "" {
				lines++
				if table == "" {
					t.Errorf("sql/%s:%d: makes no table from a query, and says what of it is renewed", file, one.line)
				}
			} else if table != "" && len(one.reads) > 0 {
				t.Errorf("sql/%s:%d: %s is made whole from a part of what it reads", file, one.line, table)
			}
			for _, read := range one.reads {
				alone := statement{reads: []narrow{read}}
				if read.where == "" || alone.narrowed(one.text, strings.Clone) == one.text {
					t.Errorf("sql/%s:%d: reads no table %s", file, one.line, read.table)
				}
			}
		}
	}
	if lines == 0 {
		t.Error("nothing says what is renewed")
	}
}

// TestNumberedTables: a table whose rows go on from the number of those kept is one of numbered,
// or its rows would have no numbers where ledgers are built from scratch.
func TestNumberedTables(t *testing.T) {
	used := map[string]bool{}
	for _, file := range filesIn("ledgers") {
		text, err := sqlText(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, found := range regexp.MustCompile(`getvariable\('kept_([a-z_]+)'\)`).FindAllStringSubmatch(text, -1) {
			used[found[1]] = true
		}
	}
	if diff := cmp.Diff(slices.Sorted(slices.Values(numbered)), slices.Sorted(maps.Keys(used))); diff != "" {
		t.Errorf("numbered, and what the SQL numbers: %s", diff)
	}
}
