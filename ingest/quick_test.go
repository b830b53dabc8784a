package ingest

import (
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestQuickReadings: where the engine is sure of a cell, the column's grammar takes it and
// gives the same value; and of the plain examples the engine is sure. Texts are odd ones, and
// plain ones with a few characters changed.
func TestQuickReadings(t *testing.T) {
	w := newTestWarehouse(t)
	seen := map[string]bool{}
	for _, feed := range Feeds() {
		for i, c := range feed.Columns {
			kind := fmt.Sprint(c.Kind, c.Precision, c.Scale, c.Minimum, c.Choices, c.Station)
			l := &landing{ctx: t.Context(), tx: w.tx, feed: feed, opts: w.opts, source: &source{}, header: &header{cells: make([]int, len(feed.Columns))}}
			if err := l.makeLengths(quickLengthRows); err != nil {
				t.Fatal(err)
			}
			if q := l.quick(i, c); q != nil && !seen[kind] {
				seen[kind] = true
				l.holdQuick(t, i, c, q)
			}
			if err := l.dropTables(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if len(seen) < 10 {
		t.Errorf("only %d kinds of columns are read quickly", len(seen))
	}
}

// holdQuick holds the quick reading of a column against what it stands in for.
func (l *landing) holdQuick(t *testing.T, i int, c Column, q *quickReading) {
	query := fmt.Sprintf(`
SELECT %[1]s, CASE WHEN %[2]s THEN CAST(%[3]s AS VARCHAR) END, coalesce(%[2]s, false)
FROM (SELECT *, %[4]s AS %[3]s FROM (SELECT unnest(?::VARCHAR[]) AS %[1]s))`, textName(i), q.sure, quickName(i), q.value)
	sure := map[string]bool{}
	hold := func(t rapid.TB, texts []string) {
		rows, err := l.tx.Query(query, texts)
		if err != nil {
			t.Fatal(err)
		}
		defer rows.Close()
		quick := map[string]string{}
		for rows.Next() {
			var text string
			var value sql.NullString
			var is bool
			if err := rows.Scan(&text, &value, &is); err != nil {
				t.Fatal(err)
			}
			if is {
				quick[text], sure[text] = value.String, true
			}
		}
		if err := rows.Err(); err != nil {
			t.Fatal(err)
		}
		for text, value := range quick {
			want, fault := l.slowly(t, c, text)
			if fault != "" || value != want {
				t.Fatalf("%s.%s %q: quickly %s, else %s%s", l.feed.Name, c.Name, text, value, want, fault)
			}
		}
	}
	var texts []string
	for _, text := range append(oddCells(c), c.Example) {
		if text = strings.Trim(text, blanks); text != "" {
			texts = append(texts, text)
		}
	}
	hold(t, texts)
	if len(sure) == 0 {
		t.Errorf("%s.%s: the engine is sure of none of %q", l.feed.Name, c.Name, texts)
	}
	plain := make([]string, 0, len(sure))
	for text := range sure {
		plain = append(plain, text)
	}
	slices.Sort(plain)
	rapid.Check(t, func(t *rapid.T) {
		near := rapid.Custom(func(t *rapid.T) string {
			text := []rune(rapid.SampledFrom(plain).Draw(t, "plain"))
			for range rapid.IntRange(1, 3).Draw(t, "edits") {
				at := rapid.IntRange(0, len(text)).Draw(t, "at")
				end := min(len(text), at+rapid.IntRange(0, 2).Draw(t, "out"))
				text = slices.Concat(text[:at], []rune(rapid.StringOf(rapid.RuneFrom([]rune(`0123456789-.,:T Z+eE_"'/x×()`))).Draw(t, "in")), text[end:])
			}
			return strings.Trim(string(text), blanks)
		})
		if texts := slices.DeleteFunc(rapid.SliceOfN(near, 20, 20).Draw(t, "texts"), func(text string) bool { return text == "" }); len(texts) > 0 {
			hold(t, texts)
		}
	})
}

// slowly is what the column's grammar, or SQL by patterns, makes of a text: the value of its
// first stored column as the engine writes it, and a code word when it is refused.
func (l *landing) slowly(t rapid.TB, c Column, text string) (value, fault string) {
	expression, given := numberValue(c, plainNumber("v")), text
	if read := grammarOf(c, l.opts); read != nil {
		values, err := read(text)
		if err != nil {
			return "", faultOf(err)
		}
		given = values[0]
		expression = fmt.Sprintf("CAST(v AS %s)", c.SQLType()[0])
	} else {
		query := "SELECT coalesce(" + numberFault(c, plainNumber("v")) + ", '') FROM (SELECT ?::VARCHAR AS v)"
		if err := l.tx.QueryRow(query, text).Scan(&fault); err != nil {
			t.Fatal(err)
		}
		if fault != "" {
			return "", fault
		}
	}
	if err := l.tx.QueryRow("SELECT CAST("+expression+" AS VARCHAR) FROM (SELECT ?::VARCHAR AS v)", given).Scan(&value); err != nil {
		t.Fatal(err)
	}
	return value, ""
}
