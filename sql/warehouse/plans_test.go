package warehouse

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"trusstally/ingest/plant"
)

// planned is one operator of a plan, as the engine explains it.
type planned struct {
	Name     string         `json:"name"`
	Details  map[string]any `json:"extra_info"`
	Children []planned      `json:"children"`
}

// pairwise returns the conditions of joins that compare every row with every other although
// they name keys.
func (p planned) pairwise() (found []string) {
	if strings.Contains(p.Name, "BLOCKWISE_NL_JOIN") {
		if condition, _ := p.Details["Condition"].(string); strings.Contains(condition, " = ") {
			found = append(found, condition)
		}
	}
	for _, child := range p.Children {
		found = append(found, child.pairwise()...)
	}
	return found
}

// lookForPairwise explains a query and reports its pairwise joins.
func lookForPairwise(t *testing.T, tx *sql.Tx, place, query string) {
	t.Helper()
	var kind, plan string
	if err := tx.QueryRowContext(context.Background(), "EXPLAIN (FORMAT JSON) "+query).Scan(&kind, &plan); err != nil {
		t.Fatalf("%s: %v", place, err)
	}
	var roots []planned
	if err := json.Unmarshal([]byte(plan), &roots); err != nil {
		t.Fatal(err)
	}
	for _, root := range roots {
		for _, condition := range root.pairwise() {
			t.Errorf("sql/%s compares every row with every other: %s", place, condition)
		}
	}
}

// TestNoPairwiseJoins explains every statement of the ledgers that makes a table, whole and as
// it is renewed, and what finds the first day to renew. A join with OR, CASE or a condition on
// one side of an outer join takes the square of the rows, which no tiny plant shows.
func TestNoPairwiseJoins(t *testing.T) {
	ctx := context.Background()
	w, err := Open(ctx, "")
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	settings, err := plant.Parse([]byte("[plant]\nname = \"Mill\"\ntimezone = \"America/Chicago\"\n[[station]]\ncode = \"T1\"\nkind = \"table\"\n"), nil)
	if err != nil {
		t.Fatal(err)
	}
	tx, err := w.DB.BeginTx(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	if err := BuildLedgers(ctx, tx, settings); err != nil {
		t.Fatal(err)
	}
	if _, _, err := renewedSince(ctx, tx, settings, nil); err != nil {
		t.Fatal(err)
	}
	since := time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC)
	if err := renewLedgers(ctx, tx, settings, since, nil); err != nil {
		t.Fatal(err)
	}
	r := renewal{since: since, openSince: since}
	explained, narrowed := 0, 0
	for _, file := range filesIn("ledgers") {
		text, err := sqlText(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, one := range statementsOf(text) {
			place := fmt.Sprintf("%s:%d", file, one.line)
			_, query := one.table()
			if query == "" {
				query = one.text
			} else {
				explained++
				lookForPairwise(t, tx, place, query)
			}
			if len(one.reads) > 0 {
				narrowed++
				lookForPairwise(t, tx, place+" renewed", one.narrowed(query, r.put))
			}
		}
	}
	if explained < 80 || narrowed < 50 {
		t.Errorf("only %d statements were explained, and %d as they are renewed", explained, narrowed)
	}
	for _, file := range []string{"renewal/01_touched.sql", "renewal/05_reaches.sql"} {
		text, err := sqlText(file)
		if err != nil {
			t.Fatal(err)
		}
		lookForPairwise(t, tx, file, r.put(text))
	}
}
