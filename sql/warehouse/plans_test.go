package warehouse

import (
	"context"
	"encoding/json"
	"strings"
	"testing"

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

// TestNoPairwiseJoins explains every statement of the ledgers that makes a table. A join with
// OR, CASE or a condition on one side of an outer join takes the square of the rows, which no
// tiny plant shows.
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
	explained := 0
	for _, file := range filesIn("ledgers") {
		text, err := sqlText(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, statement := range statementsOf(text) {
			head, query, makes := strings.Cut(statement.text, " AS\n")
			if !makes || !strings.HasPrefix(head, "CREATE OR REPLACE TABLE ") {
				continue
			}
			var kind, plan string
			if err := tx.QueryRowContext(ctx, "EXPLAIN (FORMAT JSON) "+query).Scan(&kind, &plan); err != nil {
				t.Fatalf("%s:%d: %v", file, statement.line, err)
			}
			var roots []planned
			if err := json.Unmarshal([]byte(plan), &roots); err != nil {
				t.Fatal(err)
			}
			explained++
			for _, root := range roots {
				for _, condition := range root.pairwise() {
					t.Errorf("sql/%s:%d compares every row with every other: %s", file, statement.line, condition)
				}
			}
		}
	}
	if explained < 80 {
		t.Errorf("only %d statements were explained", explained)
	}
}
