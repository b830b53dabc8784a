package ingest

import (
	"fmt"
	"strings"
)

// quickReading is how the engine reads the cells of a column that are written the plain way,
// as nearly all are. It takes a text only where reading it so is beyond doubt: where the value
// written out again is the text, or the text is one of a short list. What it does not take is
// no worse for it, and is left to the column's grammar.
type quickReading struct {
	value string // SQL over text_N for the value, NULL where it cannot be one
	sure  string // SQL over text_N and quick_N that is true where the value is what the grammar gives
}

// plainSizes are nominal sections as most files write them, and as ParseSize returns them.
var plainSizes = []string{"2x4", "2x6", "2x3", "2x8", "2x10", "2x12", "1x4", "1x6"}

// quickLength is the longest length that is read quickly, in feet, where a file has so many
// rows that telling the engine all of them is worth its while.
const (
	quickLength     = 40
	quickLengthRows = 4_000
)

// lengthsType is the temporary type of the lengths that are read quickly: its words are
// 00-00-00, 00-00-01 and so on, so that the number of a word is its sixteenths.
const lengthsType = "landing_lengths"

// quick returns how the engine reads the plain cells of column i, or nil where it does not.
func (l *landing) quick(i int, c Column) *quickReading {
	text, quick := textName(i), quickName(i)
	again := fmt.Sprintf("CAST(%s AS VARCHAR)", quick)
	switch {
	case c.Kind == Integer:
		// A number of more digits than integerDigits may fit its type and is refused all the same.
		bound := strings.Repeat("9", integerDigits)
		return &quickReading{tryCast(text, c), fmt.Sprintf("%s = %s AND %s BETWEEN -%s AND %s", again, text, quick, bound, bound) + atLeast(quick, c)}
	case c.Kind == Decimal:
		// Written out, the value has all decimals of its column: the text is how it begins.
		return &quickReading{tryCast(text, c), fmt.Sprintf("starts_with(%s, %s) AND NOT ends_with(%s, '.')", again, text, text) + atLeast(quick, c)}
	case c.Kind == Date:
		return &quickReading{tryCast(text, c), fmt.Sprintf("%s = %s AND %s BETWEEN DATE '%d-01-01' AND DATE '%d-12-31'", again, text, quick, firstYear, lastYear)}
	case c.Kind == Time && l.quickTimes():
		return &quickReading{tryCast(text, c), fmt.Sprintf(
			"%s = CASE length(%s) WHEN 16 THEN %s || ':00' WHEN 19 THEN %s END AND %s BETWEEN TIMESTAMP '%d-01-01 00:00:00' AND TIMESTAMP '%d-12-31 23:59:59'",
			again, text, text, text, quick, firstYear, lastYear)}
	case c.Kind == Length && l.lengths:
		return &quickReading{
			fmt.Sprintf("CAST(enum_code(TRY_CAST(%s AS %s)) AS INTEGER)", text, lengthsType),
			quick + " IS NOT NULL" + atLeast(quick, c),
		}
	case c.Kind == Size:
		return &quickReading{text, oneOf(text, plainSizes)}
	case c.Kind == Choice:
		return &quickReading{text, oneOf(text, c.Choices)}
	case c.Station && len(l.opts.Stations) > 0:
		return &quickReading{text, oneOf(text, l.opts.Stations)}
	}
	return nil
}

// quickTimes says whether the plant's clock alone settles what instant a time of the feed
// is, by a few changes of it.
func (l *landing) quickTimes() bool {
	return (l.opts.Reading == nil || l.opts.Reading.rules.Zone == nil) && !l.eachTime
}

func tryCast(text string, c Column) string {
	return fmt.Sprintf("TRY_CAST(%s AS %s)", text, c.SQLType()[0])
}

// atLeast is SQL that holds a value against the smallest one that its column allows.
func atLeast(value string, c Column) string {
	if c.Minimum == "" {
		return ""
	}
	return fmt.Sprintf(" AND %s >= %s::%s", value, quoteText(c.Minimum), c.SQLType()[0])
}

// oneOf is SQL that is true for the words of a list. An IN would become a join, and the
// number of a row is its line only while nothing but its cells is looked at.
func oneOf(text string, words []string) string {
	cases := ""
	for _, word := range words {
		cases += fmt.Sprintf(" WHEN %s THEN true", quoteText(word))
	}
	return fmt.Sprintf("CASE %s%s ELSE false END", text, cases)
}

// makeLengths makes the type of the lengths that are read quickly, for a file of many rows
// with a column of lengths.
func (l *landing) makeLengths(rows int64) error {
	any := false
	for i, c := range l.feed.Columns {
		any = any || c.Kind == Length && l.header.cells[i] >= 0
	}
	if !any || rows < quickLengthRows {
		return nil
	}
	words := make([]string, 0, quickLength*sixteenthsPerFoot)
	for n := range int64(quickLength * sixteenthsPerFoot) {
		words = append(words, fmt.Sprintf("'%02d-%02d-%02d'", n/sixteenthsPerFoot, n%sixteenthsPerFoot/sixteenthsPerInch, n%sixteenthsPerInch))
	}
	l.lengths = true
	return l.execute("name the plain lengths", fmt.Sprintf("CREATE TEMP TYPE %s AS ENUM (%s)", lengthsType, strings.Join(words, ", ")))
}
