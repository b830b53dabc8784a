package reports

import (
	"fmt"
	"strconv"
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
	Charts     []Chart
	Links      []Link
	Emphasis   []Emphasis
	Sort       string
	Book       string // book that a sheet of the plant's own stands in; "" for a built-in one
	Private    string // why the sheet holds wages although it reads no table of pay; "" for most
	Needs      string // "", bridge, cutting, comparison or intervals: what is filled before the SQL runs
	File       string // path of the .sql, for messages
	SQL        string // the whole text, as DuckDB runs it

	own   bool       // of the plant's own
	wages bool       // own, and plant.toml lets it read wages
	kept  *[][]any   // own: the rows of its only run
	shown *shownRows // what the book showed, for the pages; nil where it isn't remembered
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

// Chart is a native chart of the sheet's own columns, from its header line
// `kind | title | category | series, series | axis title | alternative text`, where kind may
// carry the number of rows drawn, `bar 15`, or which: `line where measure = waste`.
type Chart struct {
	Kind     string // bar, bar stacked, bar waterfall (the first series is what the others stand on), line, line limits, scatter, scatter limits
	MaxRows  int    // 0: all
	Where    Where  // the rows drawn; the zero value draws all
	Title    string
	Category string   // column of the labels
	Series   []string // columns drawn
	Axis     string   // title of the value axis, with its unit
	Alt      string   // what the chart shows, in words
}

// Where names rows by what one of their columns holds.
type Where struct{ Column, Value string }

// Link makes a column's cells lead to another sheet of the book, from its header line
// `column | sheet | column of that sheet`.
type Link struct{ Column, Sheet, Target string }

// linkNamed is the word of a link line whose cells name their own place.
const linkNamed = "named"

// Emphasis marks cells of a column, from its header line `column | negative` or
// `column | word | WORD`.
type Emphasis struct{ Column, Kind, Word string }

// headerKeys are the keys that a header may hold; those with true must be there.
var headerKeys = map[string]bool{
	"sheet": true, "title": true, "reader": true, "grain": true, "column": true,
	"param": false, "chart": false, "link": false, "emphasis": false, "note": false, "needs": false, "book": false, "private": false, "sort": true,
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
	lineOf := map[string]int{} // of charts, links and emphases, for columns that aren't there
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
			hint := "the keys are " + strings.Join(keysOf(headerKeys), ", ")
			if near := problem.Nearest(key, keysOf(headerKeys)); near != "" {
				hint = "did you mean " + near + ":?"
			}
			fail(i+1, CodeUnknownKey, fmt.Sprintf("unknown header key (%s)", key), hint)
			continue
		}
		if value == "" {
			seen[key] = true
			fail(i+1, "missing-value", fmt.Sprintf("the header key %s has no value", key), "write the value after the colon")
			continue
		}
		if seen[key] && !repeatable[key] {
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
		case "needs":
			if value != needsCutting && value != needsComparison && value != needsIntervals && value != needsBridge {
				fail(i+1, CodeUnknownKey, fmt.Sprintf("nothing of that name is worked out (%s)", value), needsBridge+", "+needsCutting+", "+needsComparison+" or "+needsIntervals)
			}
			d.Needs = value
		case "book":
			d.Book = value
		case "private":
			d.Private = value
		case "note":
			d.Notes = append(d.Notes, value)
		case "chart":
			chart, ok := parseChart(parts(value))
			if !ok {
				fail(i+1, CodeBadChart, fmt.Sprintf("not a chart line (%s)", value), "kind | title | category | series, series | axis title | alternative text")
				continue
			}
			d.Charts = append(d.Charts, chart)
			lineOf[chart.Title] = i + 1
		case "link":
			p := parts(value)
			if len(p) == 2 && p[1] == linkNamed {
				d.Links = append(d.Links, Link{Column: p[0]})
				lineOf["link "+p[0]] = i + 1
				continue
			}
			if len(p) != 3 {
				fail(i+1, CodeBadLink, fmt.Sprintf("not a link line (%s)", value), "column | sheet | column of that sheet, or column | named")
				continue
			}
			d.Links = append(d.Links, Link{p[0], p[1], p[2]})
			lineOf["link "+p[0]] = i + 1
		case "emphasis":
			p := parts(value)
			if len(p) < 2 || len(p) > 3 || (p[1] == "word") != (len(p) == 3) || p[1] != "word" && p[1] != "negative" {
				fail(i+1, CodeBadEmphasis, fmt.Sprintf("not an emphasis line (%s)", value), "column | negative, or column | word | WORD")
				continue
			}
			d.Emphasis = append(d.Emphasis, Emphasis{Column: p[0], Kind: p[1], Word: strings.Join(p[2:], "")})
			lineOf["emphasis "+p[0]] = i + 1
		case "param":
			fields := strings.Fields(value)
			if len(fields) < 2 {
				fail(i+1, CodeBadParam, fmt.Sprintf("a parameter needs a name and a type (%s)", value), "such as: from DATE first day")
				continue
			}
			d.Parameters = append(d.Parameters, Parameter{Name: fields[0], Type: fields[1], Meaning: strings.Join(fields[2:], " ")})
		case "column":
			column, what, hint := parseColumn(value)
			if what != "" {
				fail(i+1, CodeBadColumn, what, hint)
				continue
			}
			d.Columns = append(d.Columns, column)
		}
	}
	for _, key := range keysOf(headerKeys) {
		if headerKeys[key] && !seen[key] {
			fail(lastLine, CodeMissingKey, fmt.Sprintf("the header has no %s", key), "add a line -- "+key+": …")
		}
	}
	d.checkNames(func(place, column string) {
		hint := "the columns are those of the column lines"
		if near := problem.Nearest(column, d.columnNames()); near != "" {
			hint = "did you mean " + near + "?"
		}
		fail(lineOf[place], "unknown-column", fmt.Sprintf("there is no column of that name (%s)", column), hint)
	})
	if len(problems) > 0 {
		return nil, problems
	}
	return d, nil
}

// checkNames calls unknown for every column that a chart, link or emphasis names and the
// sheet doesn't have.
func (d *Definition) checkNames(unknown func(place, column string)) {
	known := map[string]bool{}
	for _, name := range d.columnNames() {
		known[name] = true
	}
	check := func(place, column string) {
		if !known[column] {
			unknown(place, column)
		}
	}
	for _, chart := range d.Charts {
		columns := append([]string{chart.Category}, chart.Series...)
		if chart.Where.Column != "" {
			columns = append(columns, chart.Where.Column)
		}
		for _, column := range columns {
			check(chart.Title, column)
		}
	}
	for _, link := range d.Links {
		check("link "+link.Column, link.Column)
	}
	for _, emphasis := range d.Emphasis {
		check("emphasis "+emphasis.Column, emphasis.Column)
	}
}

// repeatable are the header keys that may stand more than once.
var repeatable = map[string]bool{"param": true, "column": true, "chart": true, "link": true, "emphasis": true, "note": true}

// parts splits a header value at its bars.
func parts(value string) []string {
	list := strings.Split(value, "|")
	for i := range list {
		list[i] = strings.TrimSpace(list[i])
	}
	return list
}

func parseChart(p []string) (chart Chart, ok bool) {
	if len(p) != 6 {
		return chart, false
	}
	chart = Chart{Kind: p[0], Title: p[1], Category: p[2], Axis: p[4], Alt: p[5]}
	if kind, where, filtered := strings.Cut(chart.Kind, " where "); filtered {
		column, value, equal := strings.Cut(where, "=")
		if !equal {
			return chart, false
		}
		chart.Kind, chart.Where = kind, Where{strings.TrimSpace(column), strings.TrimSpace(value)}
	}
	if kind, rows, counted := cutNumber(chart.Kind); counted {
		chart.Kind, chart.MaxRows = kind, rows
	}
	for _, series := range strings.Split(p[3], ",") {
		chart.Series = append(chart.Series, strings.TrimSpace(series))
	}
	switch chart.Kind {
	case "bar", "bar stacked", "bar waterfall", "line", "line limits", "scatter", "scatter limits":
		return chart, chart.Title != "" && chart.Axis != "" && chart.Alt != ""
	}
	return chart, false
}

// cutNumber splits "bar 15" into "bar" and 15.
func cutNumber(text string) (word string, number int, ok bool) {
	at := strings.LastIndexByte(text, ' ')
	if at < 0 {
		return text, 0, false
	}
	number, err := strconv.Atoi(text[at+1:])
	return text[:at], number, err == nil && number > 0
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
	order := []string{"sheet", "title", "reader", "grain", "param", "column", "chart", "link", "emphasis", "note", "needs", "book", "private", "sort"}
	keys := make([]string, 0, len(m))
	for _, key := range order {
		if _, ok := m[key]; ok {
			keys = append(keys, key)
		}
	}
	return keys
}
