package workbook

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
)

// plan is a sheet whose rows have been walked once: all that is needed to write it.
type plan struct {
	Sheet
	columns []column
	rows    spool
	tallies []tally
	targets map[string]map[string]int // for columns that links lead to: cell text to row index
	wanted  map[string]int            // for links that name this sheet and a text: text to row, from 1
	layout  layout
	drawn   []span // the rows that each chart draws
}

// planBook checks the book and walks the rows of every sheet, so that links may lead to any
// sheet. The caller closes the plans, also when there is an error.
func planBook(book Book) ([]*plan, error) {
	if err := checkSheetNames(book.Sheets); err != nil {
		return nil, err
	}
	plans := make([]*plan, 0, len(book.Sheets))
	for _, sheet := range book.Sheets {
		columns, err := understandColumns(sheet.Columns)
		if err == nil {
			err = checkReferences(sheet)
		}
		if err != nil {
			return nil, fmt.Errorf("sheet %q: %w", sheet.Name, err)
		}
		plans = append(plans, &plan{Sheet: sheet, columns: columns, tallies: newTallies(columns)})
	}
	if err := markTargets(plans); err != nil {
		return nil, err
	}
	for i, p := range plans {
		if err := p.walk(); err != nil {
			return plans, fmt.Errorf("sheet %q: %w", p.Name, err)
		}
		if err := markWanted(plans, i); err != nil {
			return plans, fmt.Errorf("sheet %q: %w", p.Name, err)
		}
		if err := p.findDrawn(); err != nil {
			return plans, fmt.Errorf("sheet %q: %w", p.Name, err)
		}
		p.layout = layOut(p)
	}
	return plans, nil
}

func closePlans(plans []*plan) error {
	var failed error
	for _, p := range plans {
		failed = errors.Join(failed, p.rows.data.close())
	}
	return failed
}

// markTargets notes which columns links lead to.
func markTargets(plans []*plan) error {
	for _, p := range plans {
		for _, c := range p.columns {
			if c.Link == nil || c.Link.Sheet == "" {
				continue
			}
			at := slices.IndexFunc(plans, func(q *plan) bool { return q.Name == c.Link.Sheet })
			if at < 0 {
				return fmt.Errorf("sheet %q: column %q links to sheet %q, which this book does not have", p.Name, c.Name, c.Link.Sheet)
			}
			target := plans[at]
			if target.columnIndex(c.Link.Column) < 0 {
				return fmt.Errorf("sheet %q: column %q links to column %q, which sheet %q does not have", p.Name, c.Name, c.Link.Column, c.Link.Sheet)
			}
			if target.targets == nil {
				target.targets = map[string]map[string]int{}
			}
			target.targets[c.Link.Column] = map[string]int{}
		}
	}
	return nil
}

func (p *plan) columnIndex(name string) int {
	return slices.IndexFunc(p.columns, func(c column) bool { return c.Name == name })
}

// walk is the first pass over the rows.
func (p *plan) walk() error {
	if p.Rows == nil {
		return nil
	}
	if len(p.columns) == 0 {
		return errors.New("rows, but no columns")
	}
	for given, err := range p.Rows {
		if p.rows.rows == mostRows {
			return fmt.Errorf("more than %d rows, which no sheet holds", mostRows)
		}
		if err == nil {
			err = p.take(given)
		}
		if err != nil {
			return fmt.Errorf("row %d: %w", p.rows.rows+1, err)
		}
	}
	return nil
}

// mostRows leaves room for title and notes above the table.
const mostRows = 1_048_576 - 1_000

func (p *plan) take(given []any) error {
	if len(given) != len(p.columns) {
		return fmt.Errorf("%d cells for %d columns", len(given), len(p.columns))
	}
	row := make([]any, len(given))
	for i, c := range p.columns {
		var err error
		if row[i], err = c.format.settle(given[i]); err == nil {
			err = p.tallies[i].add(c, row[i])
		}
		if err != nil {
			return fmt.Errorf("column %q: %w", c.Name, err)
		}
	}
	for i, c := range p.columns {
		if err := p.takeFormula(i, c, row); err != nil {
			return fmt.Errorf("column %q: %w", c.Name, err)
		}
	}
	p.takeTargets(row)
	p.takeWanted(row)
	return p.rows.add(row)
}

func (p *plan) takeFormula(index int, c column, row []any) error {
	if c.expression == nil {
		return nil
	}
	if _, ok := row[index].(Number); ok {
		if err := checkFormula(p.columns, c, row); err != nil {
			return err
		}
	}
	if ratio := p.tallies[index].ratio; ratio != nil {
		return ratio.add(c.expression, row)
	}
	return nil
}

// takeTargets notes where the values that links lead to stand. The first row of a value is
// the one.
func (p *plan) takeTargets(row []any) {
	for name, places := range p.targets {
		text := linkText(row[p.columnIndex(name)])
		if _, known := places[text]; text != "" && !known {
			places[text] = p.rows.rows
		}
	}
}

func linkText(cell any) string {
	switch value := cell.(type) {
	case string:
		return value
	case Number:
		return string(value)
	case time.Time:
		return value.Format(time.DateTime)
	}
	return ""
}

// hasTotals says whether the sheet has a row of totals. An empty table has none: a sum of 0
// would say more than is known.
func (p *plan) hasTotals() bool {
	return p.rows.rows > 0 && slices.ContainsFunc(p.columns, column.hasTotal)
}

func (c column) hasTotal() bool { return c.sum || c.count || c.expression != nil }

// tableName is the sheet's name as the name of its table. Where letters had to be replaced,
// two names may have become one: the sheet's number keeps them apart.
func (p *plan) tableName(sheetNumber int) string {
	letters := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '_':
			return r
		}
		return '_'
	}, p.Name)
	if letters != p.Name {
		return fmt.Sprintf("table%d_%s", sheetNumber, letters)
	}
	return "table_" + letters
}
