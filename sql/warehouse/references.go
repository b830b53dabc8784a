package warehouse

import (
	"context"
	"encoding/json"
	"fmt"
	"sort"
	"strconv"
	"strings"

	"trusstally/ingest/problem"
)

// References is what a SELECT refers to, read from the engine's own parse tree.
type References struct {
	Tables    []Table     // tables and views, sorted; a name of WITH counts, since it can hide a table in one place only
	With      []string    // names that a WITH gives, sorted
	Functions []Reference // table functions, by name
	Scalars   []Reference // all other functions, operators too, by name
	Columns   []Reference // last parts of the column names, by name
	Unbounded []Reference // calls that could make a text or list of any size
	Sorted    bool        // the outermost SELECT has an ORDER BY
}

// Reference is a name in lower case and where it stands first.
type Reference struct {
	Name string
	At   int // byte offset in the text, or -1 where the engine doesn't say
}

// Table is a reference to a table as it is written, in lower case.
type Table struct {
	Catalog string // "" when not written
	Schema  string // "" when not written; a lone qualifier may be a schema or a catalog
	Name    string
	At      int // byte offset in the text, or -1
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
	found, fault, err := w.parse(ctx, text)
	if fault != nil {
		return found, problem.List{fault.problem}
	}
	return found, err
}

// misstep is a problem and the byte offset in the text that it is about, or -1.
type misstep struct {
	problem *problem.Problem
	at      int
}

// parse is References with the place of what is wrong.
func (w *Warehouse) parse(ctx context.Context, text string) (References, *misstep, error) {
	var serialised string
	if err := w.DB.QueryRowContext(ctx, "SELECT json_serialize_sql(?::VARCHAR)::VARCHAR", text).Scan(&serialised); err != nil {
		return References{}, nil, err
	}
	var tree struct {
		Error        bool            `json:"error"`
		ErrorMessage string          `json:"error_message"`
		Position     string          `json:"position"`
		Statements   json.RawMessage `json:"statements"`
	}
	if err := json.Unmarshal([]byte(serialised), &tree); err != nil {
		return References{}, nil, err
	}
	notASelect := func(what, hint string) *misstep {
		return &misstep{&problem.Problem{What: what, Code: CodeNotASelect, Usage: true, Hint: hint}, -1}
	}
	if tree.Error {
		if strings.Contains(tree.ErrorMessage, "Only SELECT") {
			return References{}, notASelect("only one SELECT can be run", "start with SELECT or WITH; nothing can be changed from here"), nil
		}
		first, _, _ := strings.Cut(tree.ErrorMessage, "\n")
		at, err := strconv.Atoi(tree.Position)
		if err != nil {
			at = -1
		}
		return References{}, &misstep{&problem.Problem{What: "the SQL can't be read: " + first, Code: CodeBadSQL, Usage: true, Hint: "check the spelling near that place"}, at}, nil
	}
	var statements []any
	decoder := json.NewDecoder(strings.NewReader(string(tree.Statements)))
	decoder.UseNumber() // 18446744073709551615 stands for no place
	if err := decoder.Decode(&statements); err != nil {
		return References{}, nil, err
	}
	switch len(statements) {
	case 0:
		return References{}, notASelect("there is no SELECT", "start with SELECT or WITH"), nil
	case 1:
	default:
		return References{}, notASelect("more than one statement", "run one SELECT at a time"), nil
	}
	found := collector{tables: map[Table]int{}, with: names{}, functions: names{}, scalars: names{}, columns: names{}, unbounded: names{}}
	found.walk(statements[0])
	if found.shows {
		return References{}, notASelect("only one SELECT can be run", "to see tables and columns: trusstally list --tables"), nil
	}
	references := found.references()
	references.Sorted = sortedOutside(statements[0])
	return references, nil, nil
}

// sortedOutside says whether the statement's outermost node has an ORDER BY.
func sortedOutside(statement any) bool {
	outer, _ := statement.(map[string]any)
	node, _ := outer["node"].(map[string]any)
	modifiers, _ := node["modifiers"].([]any)
	for _, modifier := range modifiers {
		if m, ok := modifier.(map[string]any); ok && m["type"] == "ORDER_MODIFIER" {
			return true
		}
	}
	return false
}

// names are references by name, with the first place of each.
type names map[string]int

func (n names) add(name string, at int) {
	name = strings.ToLower(name)
	if first, known := n[name]; !known || at >= 0 && at < first {
		n[name] = at
	}
}

func (n names) sorted() []Reference {
	var list []Reference
	for name, at := range n {
		list = append(list, Reference{name, at})
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Name < list[j].Name })
	return list
}

type collector struct {
	tables                                       map[Table]int
	with, functions, scalars, columns, unbounded names
	shows                                        bool // DESCRIBE, SUMMARIZE, SHOW and the like
}

func (c *collector) walk(node any) {
	switch n := node.(type) {
	case []any:
		for _, item := range n {
			c.walk(item)
		}
	case map[string]any:
		text := func(key string) string { value, _ := n[key].(string); return value }
		at := placeOf(n)
		switch text("type") {
		case "BASE_TABLE":
			table := Table{Catalog: strings.ToLower(text("catalog_name")), Schema: strings.ToLower(text("schema_name")), Name: strings.ToLower(text("table_name"))}
			if first, known := c.tables[table]; !known || at >= 0 && at < first {
				c.tables[table] = at
			}
		case "TABLE_FUNCTION":
			if function, ok := n["function"].(map[string]any); ok {
				name, _ := function["function_name"].(string)
				c.functions.add(name, at)
				c.walk(function["children"])
			}
			return
		case "SHOW_REF":
			c.shows = true
		case "COLUMN_REF":
			if parts, ok := n["column_names"].([]any); ok && len(parts) > 0 {
				name, _ := parts[len(parts)-1].(string)
				c.columns.add(name, at)
			}
		}
		if name := text("function_name"); name != "" {
			c.scalars.add(name, at)
			if unbounded(strings.ToLower(name), n["children"]) {
				c.unbounded.add(name, at)
			}
		}
		if with, ok := n["cte_map"].(map[string]any); ok {
			entries, _ := with["map"].([]any)
			for _, entry := range entries {
				if e, ok := entry.(map[string]any); ok {
					name, _ := e["key"].(string)
					c.with.add(name, -1)
				}
			}
		}
		for _, child := range n {
			c.walk(child)
		}
	}
}

// placeOf is the byte offset of a node, or -1.
func placeOf(node map[string]any) int {
	number, _ := node["query_location"].(json.Number)
	at, err := strconv.Atoi(number.String())
	if err != nil {
		return -1
	}
	return at
}

// longestPadding is how far a text may be padded or repeated: beyond it one call could fill
// the memory before the engine looks at any limit.
const longestPadding = 1000

// unbounded says whether a call makes a text of a size that its constants don't bound.
func unbounded(function string, children any) bool {
	arguments, _ := children.([]any)
	constant := func(i int) (string, bool) {
		if i >= len(arguments) {
			return "", false
		}
		argument, _ := arguments[i].(map[string]any)
		if argument["class"] != "CONSTANT" {
			return "", false
		}
		value, _ := argument["value"].(map[string]any)
		return fmt.Sprint(value["value"]), true
	}
	switch function {
	case "lpad", "rpad", "repeat":
		text, ok := constant(1)
		length, err := strconv.Atoi(text)
		return !ok || err != nil || length > longestPadding
	case "format", "printf":
		text, ok := constant(0)
		return !ok || strings.Contains(text, "*") || digitsInARow(text) > 3
	}
	return false
}

// digitsInARow is the longest run of digits of a format: the width of a field.
func digitsInARow(text string) int {
	longest, run := 0, 0
	for _, letter := range text {
		if letter < '0' || letter > '9' {
			run = 0
			continue
		}
		run++
		longest = max(longest, run)
	}
	return longest
}

func (c *collector) references() References {
	found := References{Functions: c.functions.sorted(), Scalars: c.scalars.sorted(), Columns: c.columns.sorted(), Unbounded: c.unbounded.sorted()}
	for _, name := range c.with.sorted() {
		found.With = append(found.With, name.Name)
	}
	for table, at := range c.tables {
		table.At = at
		found.Tables = append(found.Tables, table)
	}
	sort.Slice(found.Tables, func(i, j int) bool {
		a, b := found.Tables[i], found.Tables[j]
		return a.Catalog+"."+a.Schema+"."+a.Name < b.Catalog+"."+b.Schema+"."+b.Name
	})
	return found
}
