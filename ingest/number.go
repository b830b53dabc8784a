package ingest

import (
	"fmt"
	"strings"

	"trusstally/ingest/problem"
)

// integerDigits bounds an Integer: every number of that many digits fits a BIGINT.
const integerDigits = 18

// strictNumber is what SQL takes for a number: digits, at most one decimal point with
// digits on both sides, a minus sign or parentheses for a negative one, and thousands
// marks only where they stand right. 1,5 is none: who wrote it may have meant 1.5.
const strictNumber = `-?([0-9]+|[0-9]{1,3}(,[0-9]{3})+)(\.[0-9]+)?|\(([0-9]+|[0-9]{1,3}(,[0-9]{3})+)(\.[0-9]+)?\)`

// isNumber says whether a column is read as a number.
func isNumber(c Column) bool { return c.Kind == Integer || c.Kind == Decimal }

// plainNumber is SQL that turns the text of a strict number into digits, point and minus
// sign, and anything else into NULL.
func plainNumber(text string) string {
	return fmt.Sprintf("CASE WHEN regexp_full_match(%[1]s, %[2]s) THEN CASE WHEN starts_with(%[1]s, '(') THEN '-' ELSE '' END || regexp_replace(%[1]s, '[(),]', '', 'g') END",
		text, quoteText(strictNumber))
}

// numberFault is SQL for the code word of what is wrong with a number, or NULL. plain is
// a column made by plainNumber. The text is judged before it is cast: the engine's own
// casts round.
func numberFault(c Column, plain string) string {
	cases := []string{
		fmt.Sprintf("WHEN %s IS NULL THEN %s", plain, quoteText(CodeBadNumber)),
		fmt.Sprintf(`WHEN length(regexp_extract(%s, '\.([0-9]+)$', 1)) > %d THEN %s`, plain, c.Scale, quoteText(CodeTooManyDecimals)),
		fmt.Sprintf(`WHEN length(regexp_extract(%s, '^-?0*([0-9]*)', 1)) > %d THEN %s`, plain, mostWholeDigits(c), quoteText(CodeOutOfRange)),
	}
	if c.Minimum != "" {
		cases = append(cases, fmt.Sprintf("WHEN %s < %s THEN %s", numberValue(c, plain), quoteText(c.Minimum)+"::"+c.SQLType()[0], quoteText(CodeOutOfRange)))
	}
	return "CASE " + strings.Join(cases, " ") + " END"
}

// numberValue is SQL for the value of a number whose text numberFault has let pass.
func numberValue(c Column, plain string) string {
	return fmt.Sprintf("TRY_CAST(%s AS %s)", plain, c.SQLType()[0])
}

// numberProblem says what is wrong with a number, by the code word that SQL found.
func numberProblem(c Column, code, text string) *problem.Problem {
	p := &problem.Problem{Code: code}
	switch {
	case code == CodeBadNumber:
		p.What = "not a number"
		p.Hint = "digits, a point before decimals, and no sign of currency or unit: 1234.56"
	case code == CodeTooManyDecimals && c.Kind == Integer:
		p.What = "not a whole number"
		p.Hint = "whole numbers only, without a decimal point"
	case code == CodeTooManyDecimals:
		p.What = fmt.Sprintf("more than %s", counted(c.Scale, "decimal"))
		p.Hint = "write it as it stands on the document; nothing is rounded on the way in"
	case c.Minimum != "" && wholeDigits(text) <= mostWholeDigits(c):
		p.What = fmt.Sprintf("below %s, the smallest value allowed", c.Minimum)
		p.Hint = "check the figure and its sign"
	default:
		p.What = "too large for its column"
		p.Hint = "check the figure: digits may have run together"
	}
	p.What += fmt.Sprintf(" (%s)", text)
	return p
}

// mostWholeDigits is how many digits before the decimal point a column holds.
func mostWholeDigits(c Column) int {
	if c.Kind == Integer {
		return integerDigits
	}
	return c.Precision - c.Scale
}

// wholeDigits counts the digits before the decimal point of a strict number, leading
// zeros left out.
func wholeDigits(text string) int {
	whole, _, _ := strings.Cut(strings.Trim(text, "-()"), ".")
	return len(strings.TrimLeft(strings.ReplaceAll(whole, ",", ""), "0"))
}
