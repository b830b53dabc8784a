package warehouse

import (
	"context"
	"encoding/json"
	"sort"
	"strings"

	"trusstally/ingest/problem"
)

// References is what a SELECT refers to, read from the engine's own parse tree.
type References struct {
	Tables    []Table  // tables, views and names of WITH, sorted; a WITH can hide a table in one place only, so its names count
	Functions []string // table functions, sorted
	Columns   []string // last parts of the column names, sorted
}

// Table is a reference to a table as it is written, in lower case.
type Table struct {
	Catalog string // "" when not written
	Schema  string // "" when not written; a lone qualifier may be a schema or a catalog
	Name    string
}

// plain is the name without what main, the catalog and nothing have in common: pay_weeks
// for plant.main.pay_weeks, history.wages for plant.history.wages.
func (t Table) plain() string {
	if t.Schema == "" || t.Schema == "main" || t.Schema == catalogName() {
		return t.Name
	}
	return t.Schema + "." + t.Name
}

// qualified says whether a schema or catalog is written before the name.
func (t Table) qualified() bool { return t.Schema != "" || t.Catalog != "" }

// catalogName is what the engine calls the warehouse: its file without the ending.
func catalogName() string { return strings.TrimSuffix(FileName, ".duckdb") }

// References parses one SELECT without running it. Anything else is a problem.List.
func (w *Warehouse) References(ctx context.Context, text string) (References, error) {
	var serialised string
	if err := w.DB.QueryRowContext(ctx, "SELECT json_serialize_sql(?::VARCHAR)::VARCHAR", text).Scan(&serialised); err != nil {
		return References{}, err
	}
	var tree struct {
		Error        bool            `json:"error"`
		ErrorMessage string          `json:"error_message"`
		Statements   json.RawMessage `json:"statements"`
	}
	if err := json.Unmarshal([]byte(serialised), &tree); err != nil {
		return References{}, err
	}
	if tree.Error {
		if strings.Contains(tree.ErrorMessage, "Only SELECT") {
			return References{}, problem.List{{What: "only one SELECT can be run", Code: CodeNotASelect, Usage: true,
				Hint: "start with SELECT or WITH; nothing can be changed from here"}}
		}
		first, _, _ := strings.Cut(tree.ErrorMessage, "\n")
		return References{}, problem.List{{What: "the SQL can't be read: " + first, Code: CodeBadSQL, Usage: true, Hint: "check the spelling near that place"}}
	}
	var statements []any
	if err := json.Unmarshal(tree.Statements, &statements); err != nil {
		return References{}, err
	}
	if len(statements) != 1 {
		return References{}, problem.List{{What: "more than one statement", Code: CodeNotASelect, Usage: true, Hint: "run one SELECT at a time"}}
	}
	found := collector{tables: map[Table]bool{}, functions: map[string]bool{}, columns: map[string]bool{}}
	found.walk(statements[0])
	if found.shows {
		return References{}, problem.List{{What: "only one SELECT can be run", Code: CodeNotASelect, Usage: true,
			Hint: "to see tables and columns: trusstally list --tables"}}
	}
	return found.references(), nil
}

type collector struct {
	tables    map[Table]bool
	functions map[string]bool
	columns   map[string]bool
	shows     bool // DESCRIBE, SUMMARIZE, SHOW and the like
}

func (c *collector) walk(node any) {
	switch n := node.(type) {
	case []any:
		for _, item := range n {
			c.walk(item)
		}
	case map[string]any:
		text := func(key string) string { value, _ := n[key].(string); return value }
		switch text("type") {
		case "BASE_TABLE":
			c.tables[Table{
				Catalog: strings.ToLower(text("catalog_name")), Schema: strings.ToLower(text("schema_name")), Name: strings.ToLower(text("table_name")),
			}] = true
		case "TABLE_FUNCTION":
			if function, ok := n["function"].(map[string]any); ok {
				name, _ := function["function_name"].(string)
				c.functions[strings.ToLower(name)] = true
			}
		case "SHOW_REF":
			c.shows = true
		case "COLUMN_REF":
			if names, ok := n["column_names"].([]any); ok && len(names) > 0 {
				name, _ := names[len(names)-1].(string)
				c.columns[strings.ToLower(name)] = true
			}
		}
		for _, child := range n {
			c.walk(child)
		}
	}
}

func (c *collector) references() References {
	var found References
	for table := range c.tables {
		found.Tables = append(found.Tables, table)
	}
	sort.Slice(found.Tables, func(i, j int) bool {
		a, b := found.Tables[i], found.Tables[j]
		return a.Catalog+"."+a.Schema+"."+a.Name < b.Catalog+"."+b.Schema+"."+b.Name
	})
	for name := range c.functions {
		found.Functions = append(found.Functions, name)
	}
	sort.Strings(found.Functions)
	for name := range c.columns {
		found.Columns = append(found.Columns, name)
	}
	sort.Strings(found.Columns)
	return found
}
