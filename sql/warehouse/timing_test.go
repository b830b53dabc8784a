package warehouse

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestStatementsOf(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []statement
	}{
		{"two", "-- grain\nCREATE TABLE a (b INTEGER);\n\nSELECT 1;\n", []statement{{"CREATE TABLE a (b INTEGER)", 2}, {"SELECT 1", 4}}},
		{"marks in texts and comments", "SELECT ';' -- ; no end\n, \"a;b\";SELECT 'it''s;'", []statement{{"SELECT ';' -- ; no end\n, \"a;b\"", 1}, {"SELECT 'it''s;'", 2}}},
		{"a text of two lines", "SELECT 'a\nb';\nSELECT 2", []statement{{"SELECT 'a\nb'", 1}, {"SELECT 2", 3}}},
		{"only a comment", "-- nothing\n", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			if diff := cmp.Diff(c.want, statementsOf(c.text), cmp.AllowUnexported(statement{})); diff != "" {
				t.Error(diff)
			}
		})
	}
}
