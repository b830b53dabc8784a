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
		{"two", "-- grain\nCREATE TABLE a (b INTEGER);\n\nSELECT 1;\n", []statement{{text: "CREATE TABLE a (b INTEGER)", line: 2}, {text: "SELECT 1", line: 4}}},
		{"marks in texts and comments", "SELECT ';' -- ; no end\n, \"a;b\";SELECT 'it''s;'", []statement{{text: "SELECT ';' -- ; no end\n, \"a;b\"", line: 1}, {text: "SELECT 'it''s;'", line: 2}}},
		{"a text of two lines", "SELECT 'a\nb';\nSELECT 2", []statement{{text: "SELECT 'a\nb'", line: 1}, {text: "SELECT 2", line: 3}}},
		{"only a comment", "-- nothing\n", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			if diff := cmp.Diff(c.want, statementsOf(c.text), cmp.AllowUnexported(statement{}, narrow{})); diff != "" {
				t.Error(diff)
			}
		})
	}
}
