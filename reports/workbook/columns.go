package workbook

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf16"
)

// column is a Column whose format and total have been understood.
type column struct {
	Column
	format     format
	heading    string // as in the cell: the unit on a line of its own
	sum        bool
	count      bool
	expression *expression // nil where the total is none of these
}

// CheckColumns says whether Write takes these columns: names and headings that are unique,
// known formats, totals that can be computed. The error names the column.
func CheckColumns(columns []Column) error {
	_, err := understandColumns(columns)
	return err
}

func understandColumns(given []Column) ([]column, error) {
	columns := make([]column, len(given))
	indexOf := func(name string) int {
		return slices.IndexFunc(given, func(c Column) bool { return c.Name == name })
	}
	headings := map[string]string{}
	for i, c := range given {
		if c.Name == "" {
			return nil, fmt.Errorf("column %d has no name", i+1)
		}
		if indexOf(c.Name) != i {
			return nil, fmt.Errorf("two columns are named %q", c.Name)
		}
		understood, err := understandColumn(c, indexOf)
		if err != nil {
			return nil, fmt.Errorf("column %q: %w", c.Name, err)
		}
		// Spreadsheet programs repair a table whose headings differ in case alone.
		key := strings.ToLower(understood.heading)
		if other, taken := headings[key]; taken {
			return nil, fmt.Errorf("columns %q and %q have the same heading %q", other, c.Name, understood.heading)
		}
		headings[key] = c.Name
		columns[i] = understood
	}
	return columns, checkExpressions(columns)
}

const longestHeading = 255 // of a table column's name in the file format

func understandColumn(given Column, indexOf func(string) int) (column, error) {
	result := column{Column: given, heading: strings.TrimSpace(given.Heading)}
	var err error
	if result.format, err = formatNamed(given.Format); err != nil {
		return column{}, err
	}
	if result.heading == "" {
		result.heading = given.Name
	}
	unit := result.format.unit
	if given.Unit != "" {
		unit = given.Unit
	}
	if unit != "" {
		result.heading += "\n" + unit
	}
	if length := len(utf16.Encode([]rune(result.heading))); length > longestHeading {
		return column{}, fmt.Errorf("a heading of %d characters: %d at most", length, longestHeading)
	}
	switch given.Total {
	case "", "-":
	case "count":
		result.count = true
	case "sum":
		result.sum = true
	default:
		if result.expression, err = parseExpression(given.Total, indexOf); err != nil {
			return column{}, err
		}
	}
	if (result.sum || result.expression != nil) && result.format.kind != kindNumber {
		return column{}, fmt.Errorf("total %q needs a column of numbers, and format %q is not", given.Total, given.Format)
	}
	return result, nil
}

// checkExpressions refuses formulas over what is no number, over ratios (whose totals are
// not sums), and over themselves.
func checkExpressions(columns []column) error {
	for i, c := range columns {
		if c.expression == nil {
			continue
		}
		for _, t := range c.expression.terms() {
			used := columns[t.column]
			switch {
			case used.format.kind != kindNumber:
				return fmt.Errorf("column %q: total %q uses %q, which holds no numbers", c.Name, c.Total, used.Name)
			case used.expression != nil && used.expression.isRatio():
				return fmt.Errorf("column %q: total %q uses %q, which is itself a ratio", c.Name, c.Total, used.Name)
			}
		}
		if reaches(columns, i, i, len(columns)) {
			return fmt.Errorf("column %q: total %q leads back to the column itself", c.Name, c.Total)
		}
	}
	return nil
}

// reaches says whether the formula of column from depends on column target, within so many
// steps.
func reaches(columns []column, from, target, steps int) bool {
	if columns[from].expression == nil || steps == 0 {
		return false
	}
	for _, t := range columns[from].expression.terms() {
		if t.column == target || reaches(columns, t.column, target, steps-1) {
			return true
		}
	}
	return false
}
