package workbook

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Function numbers of SUBTOTAL, over the rows that a filter leaves in sight.
const (
	subtotalNumbers = 102
	subtotalCount   = 103
	subtotalSum     = 109
)

// columnLetters is the name of the column at this index, as "C" of 2.
func columnLetters(index int) string {
	// The only failure is a number beyond the last column, which columns are kept below.
	letters, _ := excelize.ColumnNumberToName(index + 1)
	return letters
}

func cellName(column, row int) string {
	return columnLetters(column) + strconv.Itoa(row)
}

// bodyRange is the body of a column, as "C9:C48".
func (p *plan) bodyRange(column int) string {
	return cellName(column, p.layout.firstRow) + ":" + cellName(column, p.layout.lastRow)
}

// rowFormula is a column's expression in one row, as "(C9-D9)/D9".
func rowFormula(e *expression, row int) string {
	operand := func(t term) string { return cellName(t.column, row) }
	formula := sumFormula(e.above, operand)
	if !e.isRatio() {
		return formula
	}
	return inParentheses(formula, e.above) + "/" + inParentheses(sumFormula(e.below, operand), e.below)
}

func sumFormula(terms []term, operand func(term) string) string {
	var formula strings.Builder
	for i, t := range terms {
		switch {
		case t.negative:
			formula.WriteString("-")
		case i > 0:
			formula.WriteString("+")
		}
		formula.WriteString(operand(t))
	}
	return formula.String()
}

func inParentheses(formula string, terms []term) string {
	if len(terms) == 1 {
		return formula
	}
	return "(" + formula + ")"
}

// totalFormula is what stands in the row of totals, or "".
func (p *plan) totalFormula(index int) string {
	c := p.columns[index]
	switch {
	case c.count:
		return p.subtotal(subtotalCount, index)
	case c.sum, c.expression != nil && !c.expression.isRatio():
		if p.tallies[index].added == 0 {
			// A sum of nothing known is no 0.
			return fmt.Sprintf(`IF(%s=0,"",%s)`, p.subtotal(subtotalNumbers, index), p.subtotal(subtotalSum, index))
		}
		return p.subtotal(subtotalSum, index)
	case c.expression != nil:
		return p.ratioTotal(c.expression, p.tallies[index].ratio)
	}
	return ""
}

func (p *plan) subtotal(function, column int) string {
	return fmt.Sprintf("SUBTOTAL(%d,%s)", function, p.bodyRange(column))
}

// ratioTotal divides total by total. Where some row does not count, its amounts are left
// out, row by row, so that this too follows a filter.
func (p *plan) ratioTotal(e *expression, ratio *ratioTally) string {
	number := 0
	operand := func(t term) string {
		at := number
		number++
		if ratio.uncounted[at] {
			return p.countedSubtotal(t.column, e.above)
		}
		if c := p.columns[t.column]; p.tallies[t.column].added > 0 && (c.sum || c.expression != nil) {
			return cellName(t.column, p.layout.totalRow)
		}
		return p.subtotal(subtotalSum, t.column)
	}
	above := inParentheses(sumFormula(e.above, operand), e.above)
	below := inParentheses(sumFormula(e.below, operand), e.below)
	return "IFERROR(" + above + "/" + below + `,"")`
}

// countedSubtotal sums a column over the rows in which all of these have a number. SUBTOTAL
// takes no condition, so it is asked for each cell apart, by its offset from the first.
func (p *plan) countedSubtotal(column int, needed []term) string {
	first, body := cellName(column, p.layout.firstRow), p.bodyRange(column)
	formula := fmt.Sprintf("SUMPRODUCT(SUBTOTAL(%d,OFFSET(%s,ROW(%s)-ROW(%s),0))", subtotalSum, first, body, first)
	for _, t := range needed {
		formula += "*ISNUMBER(" + p.bodyRange(t.column) + ")"
	}
	return formula + ")"
}

// totalValue is the stored result of totalFormula: float64, int, or "" where a ratio has
// nothing to divide by and a sum no number.
func (p *plan) totalValue(index int) (any, error) {
	c, t := p.columns[index], &p.tallies[index]
	switch {
	case c.count:
		return t.filled, nil
	case t.ratio != nil:
		value, ok, err := t.ratio.total(c.expression)
		if err != nil || !ok {
			return "", err
		}
		return value, nil
	case t.added == 0:
		return "", nil
	}
	return t.sum.number().cellValue()
}
