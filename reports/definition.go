package reports

import (
	"fmt"
	"strings"

	"trusstally/ingest/problem"
)

// Definition is one sheet: the header of its .sql file and the SQL itself.
type Definition struct {
	Sheet      string // name, as `report` takes it
	Title      string
	Reader     string // who it is for
	Grain      string // what one row is
	Parameters []Parameter
	Columns    []Column
	Notes      []string
	Charts     []string // not drawn yet: kind and columns, as written
	Sort       string
	File       string // path of the .sql, for messages
	SQL        string // the whole text, as DuckDB runs it
}

// Parameter is one bound parameter of the SQL.
type Parameter struct {
	Name    string // without the $
	Type    string // DATE, VARCHAR, …
	Meaning string
}

// Column is one column of the sheet, from its header line
// `name | heading | format | total | meaning`.
type Column struct {
	Name    string
	Heading string
	Format  string // text, count, line, number, usd, bf, pct, min, hours, on, at
	Total   string // "-", "sum", "count", or an expression over other columns
	Meaning string
}

// headerKeys are the keys that a header may hold; those with true must be there.
var headerKeys = map[string]bool{
	"sheet": true, "title": true, "reader": true, "grain": true, "column": true,
	"param": false, "chart": false, "note": false, "sort": true,
}

var formats = []string{"text", "count", "line", "number", "usd", "bf", "pct", "min", "hours", "on", "at"}

// unitOfSuffix says which format a column's name demands: the unit lives in the name.
var unitOfSuffix = map[string]string{"usd": "usd", "bf": "bf", "pct": "pct", "min": "min", "hours": "hours", "on": "on", "at": "at"}

// ParseDefinition reads the header of a report definition: comment lines `-- key: value`
// before the first line that isn't one. Its errors are a problem.List with file and line.
func ParseDefinition(file, text string) (*Definition, error) {
	d := &Definition{File: file, SQL: text}
	var problems problem.List
	fail := func(line int, code, what, hint string) {
		problems = append(problems, &problem.Problem{Place: fmt.Sprintf("%s:%d", file, line), What: what, Code: code, Hint: hint})
	}
	seen := map[string]bool{}
	lastLine := 1
	for i, line := range strings.Split(text, "\n") {
		body, isComment := strings.CutPrefix(line, "--")
		if !isComment {
			lastLine = i + 1
			break
		}
		key, value, hasKey := strings.Cut(strings.TrimSpace(body), ":")
		key, value = strings.TrimSpace(key), strings.TrimSpace(value)
		if _, known := headerKeys[key]; !known || !hasKey {
			hint := "the keys are sheet, title, reader, grain, param, column, chart, note, sort"
			if near := problem.Nearest(key, keysOf(headerKeys)); near != "" {
				hint = "did you mean " + near + ":?"
			}
			fail(i+1, "unknown-key", fmt.Sprintf("unknown header key (%s)", key), hint)
			continue
		}
		if value == "" {
			seen[key] = true
			fail(i+1, "missing-value", fmt.Sprintf("the header key %s has no value", key), "write the value after the colon")
			continue
		}
		if seen[key] && key != "param" && key != "column" && key != "chart" && key != "note" {
			fail(i+1, "repeated-key", fmt.Sprintf("the header key %s stands twice", key), "keep one")
		}
		seen[key] = true
		switch key {
		case "sheet":
			d.Sheet = value
		case "title":
			d.Title = value
		case "reader":
			d.Reader = value
		case "grain":
			d.Grain = value
		case "sort":
			d.Sort = value
		case "note":
			d.Notes = append(d.Notes, value)
		case "chart":
			d.Charts = append(d.Charts, value)
		case "param":
			fields := strings.Fields(value)
			if len(fields) < 2 {
				fail(i+1, "bad-param", fmt.Sprintf("a parameter needs a name and a type (%s)", value), "such as: from DATE first day")
				continue
			}
			d.Parameters = append(d.Parameters, Parameter{Name: fields[0], Type: fields[1], Meaning: strings.Join(fields[2:], " ")})
		case "column":
			column, what, hint := parseColumn(value)
			if what != "" {
				fail(i+1, "bad-column", what, hint)
				continue
			}
			d.Columns = append(d.Columns, column)
		}
	}
	for _, key := range keysOf(headerKeys) {
		if headerKeys[key] && !seen[key] {
			fail(lastLine, "missing-key", fmt.Sprintf("the header has no %s", key), "add a line -- "+key+": …")
		}
	}
	if len(problems) > 0 {
		return nil, problems
	}
	return d, nil
}

// parseColumn reads `name | heading | format | total | meaning`; what is "" when it is good.
func parseColumn(value string) (column Column, what, hint string) {
	parts := strings.SplitN(value, "|", 5)
	if len(parts) != 5 {
		return column, fmt.Sprintf("a column line has %d parts instead of 5 (%s)", len(parts), value), "name | heading | format | total | meaning"
	}
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	column = Column{Name: parts[0], Heading: parts[1], Format: parts[2], Total: parts[3], Meaning: parts[4]}
	known := false
	for _, format := range formats {
		known = known || column.Format == format
	}
	if !known {
		hint := "the formats are " + strings.Join(formats, ", ")
		if near := problem.Nearest(column.Format, formats); near != "" {
			hint = "did you mean " + near + "?"
		}
		return column, fmt.Sprintf("unknown format (%s)", column.Format), hint
	}
	suffix := column.Name[strings.LastIndex(column.Name, "_")+1:]
	if unit := unitOfSuffix[suffix]; unit != "" && strings.Contains(column.Name, "_") && unit != column.Format {
		return column, fmt.Sprintf("the column %s ends in _%s and has format %s", column.Name, suffix, column.Format), "the unit in the name decides: " + unit
	}
	if column.Heading == "" || column.Meaning == "" {
		return column, fmt.Sprintf("the column %s has no heading or no meaning", column.Name), "say in a phrase what it holds"
	}
	return column, "", ""
}

func keysOf(m map[string]bool) []string {
	order := []string{"sheet", "title", "reader", "grain", "param", "column", "chart", "note", "sort"}
	keys := make([]string, 0, len(m))
	for _, key := range order {
		if _, ok := m[key]; ok {
			keys = append(keys, key)
		}
	}
	return keys
}
