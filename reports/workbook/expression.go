package workbook

import (
	"fmt"
	"slices"
	"strings"
)

// expression is a Total that computes: a sum or difference of columns, or one sum over
// another. It has no constants and no other operators, because only for these is the total
// of the column known to be the same expression over totals.
type expression struct {
	above []term // numerator
	below []term // denominator; empty for a plain sum
}

// term is one column of a sum.
type term struct {
	column   int // its index in the sheet
	negative bool
}

func (e *expression) isRatio() bool { return len(e.below) > 0 }

// terms are all of the expression's columns, those above the bar first.
func (e *expression) terms() []term { return slices.Concat(e.above, e.below) }

// parseExpression reads `a / b`, `(a - b) / b`, `a / (b + c)` or `a + b - c`. columnIndex
// says where a name stands, or -1.
func parseExpression(text string, columnIndex func(name string) int) (*expression, error) {
	parser := expressionParser{tokens: expressionTokens(text), columnIndex: columnIndex}
	result, err := parser.expression()
	if err != nil {
		return nil, fmt.Errorf("total %q: %w", text, err)
	}
	return result, nil
}

// expressionTokens splits at blanks and around operators.
func expressionTokens(text string) []string {
	for _, operator := range []string{"(", ")", "/", "+", "-", "*"} {
		text = strings.ReplaceAll(text, operator, " "+operator+" ")
	}
	return strings.Fields(text)
}

type expressionParser struct {
	tokens      []string
	columnIndex func(name string) int
}

func (p *expressionParser) peek() string {
	if len(p.tokens) == 0 {
		return ""
	}
	return p.tokens[0]
}

// accept takes the next token if it is this one.
func (p *expressionParser) accept(token string) bool {
	if p.peek() != token {
		return false
	}
	p.tokens = p.tokens[1:]
	return true
}

func (p *expressionParser) expression() (*expression, error) {
	var result expression
	grouped := p.peek() == "("
	above, err := p.operand()
	if err != nil {
		return nil, err
	}
	result.above = above
	switch {
	case p.accept("/"):
		if result.below, err = p.operand(); err != nil {
			return nil, err
		}
	case !grouped:
		if result.above, err = p.sumAfter(above); err != nil {
			return nil, err
		}
	}
	switch next := p.peek(); next {
	case "":
		return &result, nil
	case "/", "+", "-":
		return nil, fmt.Errorf("one division at most, with a sum above or below it in parentheses, as (a - b) / c")
	default:
		return nil, fmt.Errorf("unexpected %q: only column names, +, -, / and parentheses", next)
	}
}

// operand is a column, or a sum in parentheses.
func (p *expressionParser) operand() ([]term, error) {
	if !p.accept("(") {
		first, err := p.column(false)
		return []term{first}, err
	}
	first, err := p.column(false)
	if err != nil {
		return nil, err
	}
	sum, err := p.sumAfter([]term{first})
	if err != nil {
		return nil, err
	}
	if !p.accept(")") {
		return nil, fmt.Errorf("a parenthesis is not closed")
	}
	return sum, nil
}

func (p *expressionParser) sumAfter(sum []term) ([]term, error) {
	for {
		negative := p.peek() == "-"
		if !p.accept("+") && !p.accept("-") {
			return sum, nil
		}
		next, err := p.column(negative)
		if err != nil {
			return nil, err
		}
		sum = append(sum, next)
	}
}

func (p *expressionParser) column(negative bool) (term, error) {
	name := p.peek()
	switch {
	case name == "":
		return term{}, fmt.Errorf("it ends where a column name is due")
	case strings.ContainsAny(name, "()/+-*"):
		return term{}, fmt.Errorf("%q where a column name is due", name)
	}
	index := p.columnIndex(name)
	if index < 0 {
		return term{}, fmt.Errorf("no column %q in this sheet", name)
	}
	p.tokens = p.tokens[1:]
	return term{column: index, negative: negative}, nil
}
