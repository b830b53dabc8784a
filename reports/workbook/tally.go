package workbook

import (
	"fmt"
	"strings"
)

// tally is what the first pass over a sheet's rows learns of one column.
type tally struct {
	sum    exactSum // of its numbers
	filled int      // cells that are not blank
	added  int      // numbers in sum
	widest float64  // of its cells, as shown, in column units
	broken bool     // some cell holds a line break
	ratio  *ratioTally
}

// ratioTally is the total of a ratio. A row counts when every column above the bar has a
// number: revenue whose margin is not known must not dilute the margin of the rest.
type ratioTally struct {
	counted   []exactSum // by term: the sum over the rows that count
	uncounted []bool     // by term: some row that does not count has an amount in this column
}

func newTallies(columns []column) []tally {
	tallies := make([]tally, len(columns))
	for i, c := range columns {
		if c.expression != nil && c.expression.isRatio() {
			terms := len(c.expression.terms())
			tallies[i].ratio = &ratioTally{counted: make([]exactSum, terms), uncounted: make([]bool, terms)}
		}
	}
	return tallies
}

func (t *tally) add(c column, cell any) error {
	if cell == nil {
		return nil
	}
	t.filled++
	t.widest = max(t.widest, c.format.shownWidth(cell))
	if text, ok := cell.(string); ok && strings.Contains(text, "\n") {
		t.broken = true
	}
	if number, ok := cell.(Number); ok && (c.sum || c.expression != nil) {
		t.added++
		return t.sum.add(number)
	}
	return nil
}

func (r *ratioTally) add(e *expression, row []any) error {
	counts := allNumbers(e.above, row)
	for i, t := range e.terms() {
		number, ok := row[t.column].(Number)
		switch {
		case !ok:
		case counts:
			if err := r.counted[i].add(number); err != nil {
				return err
			}
		case !number.isZero():
			r.uncounted[i] = true
		}
	}
	return nil
}

func allNumbers(terms []term, row []any) bool {
	for _, t := range terms {
		if _, ok := row[t.column].(Number); !ok {
			return false
		}
	}
	return true
}

// total divides the sums above the bar by those below it, or says that it cannot.
func (r *ratioTally) total(e *expression) (value float64, ok bool, err error) {
	var above, below exactSum
	for i, t := range e.terms() {
		if i < len(e.above) {
			above.addSum(&r.counted[i], t.negative)
		} else {
			below.addSum(&r.counted[i], t.negative)
		}
	}
	if below.isZero() {
		return 0, false, nil
	}
	quotient := above.rat()
	value, _ = quotient.Quo(quotient, below.rat()).Float64()
	value, err = fifteenDigits(value)
	return value, err == nil, err
}

// checkFormula refuses a row whose formula could not give the value that the row gives: it
// would show an error in the cell, or another figure as soon as it is recalculated.
func checkFormula(columns []column, c column, row []any) error {
	for _, t := range c.expression.terms() {
		if word, ok := row[t.column].(string); ok {
			return fmt.Errorf("has a value, but %q, which its formula uses, says %q: give a blank or a word", columns[t.column].Name, word)
		}
	}
	if !c.expression.isRatio() {
		return nil
	}
	if !allNumbers(c.expression.above, row) {
		return fmt.Errorf("has a value, but its formula %q divides a blank: give a blank or a word", c.Total)
	}
	var below exactSum
	for _, t := range c.expression.below {
		number, ok := row[t.column].(Number)
		if !ok {
			continue
		}
		var operand exactSum
		if err := operand.add(number); err != nil {
			return err
		}
		below.addSum(&operand, t.negative)
	}
	if below.isZero() {
		return fmt.Errorf("has a value, but its formula %q divides by zero: give a blank or a word", c.Total)
	}
	return nil
}
