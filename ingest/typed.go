package ingest

import (
	"cmp"
	"fmt"
	"strings"
)

// blankRowMark stands in landing_wrong for a row of a plain file that has no value at all.
const blankRowMark = "blank"

// typedRows is the SQL that makes landing_typed: for each column that the file gives, its
// value under the name of the first stored column where the engine is sure of it, and for
// one that has a grammar doubt_N, the text of which the engine is not. landing_wrong is what
// is wrong with any cell so far, as ,COLUMN:CODE, with the number of the column, else NULL.
// Of rows that Go framed it has landing_line and landing_shape; those of a plain file have
// their numbers.
//
// What costs much, such as a pattern, is asked only of cells for which something cheap was
// not enough.
func (l *landing) typedRows() string {
	carried, from := "landing_line, landing_shape, landing_holes", "landing_text"
	if l.reader != nil {
		carried += ", landing_unread"
	}
	everyCell := ""
	if l.plain != nil {
		names := make([]string, len(l.header.names))
		for i := range names {
			names[i] = l.plain.trimmed(i)
		}
		everyCell = "coalesce(" + strings.Join(names, ", ") + ")"
		carried, from = everyCell+" IS NULL AS landing_blank", l.plain.reading(len(names), l.opts.Reading.delimiter())
	}
	texts, quicks, sures, plains, wrongs := []string{carried}, []string{"*"}, []string{"*"}, []string{"*"}, []string{"*"}
	var values, faultless, marks []string
	for i, c := range l.feed.Columns {
		if !l.given(i, c) {
			continue
		}
		text := textName(i)
		texts = append(texts, fmt.Sprintf("%s AS %s", l.cellText(i, c), text))
		value, wrong := text, ""
		if q := l.quick(i, c); q != nil {
			quicks = append(quicks, fmt.Sprintf("%s AS %s", q.value, quickName(i)))
			sures = append(sures, fmt.Sprintf("coalesce(%s, false) AS %s", q.sure, sureName(i)))
			value = fmt.Sprintf("CASE WHEN %s THEN %s END", sureName(i), quickName(i))
		} else if l.mapped(i, c) {
			sures = append(sures, fmt.Sprintf("false AS %s", sureName(i)))
			value = fmt.Sprintf("CAST(NULL AS %s)", c.SQLType()[0])
		}
		if isNumber(c) {
			plains = append(plains, fmt.Sprintf("CASE WHEN NOT %s THEN %s END AS %s", sureName(i), plainNumber(text), plainName(i)))
			wrong = fmt.Sprintf("CASE WHEN %s IS NOT NULL AND NOT %s THEN %s END", text, sureName(i), numberFault(c, plainName(i)))
		}
		if c.Required && c.Default == "" {
			missing := fmt.Sprintf("CASE WHEN %s IS NULL THEN %s END", text, quoteText(CodeMissingValue))
			if wrong = missing; isNumber(c) {
				wrong = fmt.Sprintf("CASE WHEN %[1]s IS NULL THEN %[2]s WHEN NOT %[3]s THEN %[4]s END", text, quoteText(CodeMissingValue), sureName(i), numberFault(c, plainName(i)))
			}
		}
		if found := l.foundFaults(i); len(found) > 0 {
			wrong = fmt.Sprintf("coalesce(%s, %s)", strings.Join(found, ", "), cmp.Or(wrong, "CAST(NULL AS VARCHAR)"))
		}
		if wrong != "" {
			wrongs = append(wrongs, fmt.Sprintf("%s AS %s", wrong, wrongName(i)))
			faultless = append(faultless, wrongName(i)+" IS NULL")
			marks = append(marks, fmt.Sprintf("'%d:' || %s || ','", i, wrongName(i)))
		}
		if isNumber(c) {
			value = fmt.Sprintf("CASE WHEN %s IS NOT NULL THEN NULL WHEN %s THEN %s ELSE %s END", wrongName(i), sureName(i), quickName(i), numberValue(c, plainName(i)))
		}
		values = append(values, fmt.Sprintf("%s AS %s", value, quoteName(c.Stored()[0])))
		if l.mapped(i, c) {
			values = append(values, fmt.Sprintf("CASE WHEN NOT %s THEN %s END AS %s", sureName(i), text, doubtName(i)))
		}
	}
	return fmt.Sprintf(`
CREATE TEMP TABLE landing_typed AS
WITH texts AS (
    SELECT %s
    FROM %s
), quicks AS (
    SELECT %s
    FROM texts
), sures AS (
    SELECT %s
    FROM quicks
), plains AS (
    SELECT %s
    FROM sures
), wrongs AS (
    SELECT %s
    FROM plains
)
SELECT %s
FROM wrongs`,
		strings.Join(texts, ", "), from, strings.Join(quicks, ", "), strings.Join(sures, ", "), strings.Join(plains, ", "), strings.Join(wrongs, ", "),
		strings.Join(append(l.typedMarks(faultless, marks), values...), ", "))
}

// typedMarks is SQL for the columns of landing_typed that are no column of the feed.
func (l *landing) typedMarks(faultless, marks []string) []string {
	fine := "true"
	if len(faultless) > 0 {
		fine = strings.Join(faultless, " AND ")
	}
	if l.plain == nil {
		return []string{"landing_line", "landing_shape", fmt.Sprintf("CASE WHEN %s THEN NULL ELSE concat(',', %s) END AS landing_wrong", fine, strings.Join(append(marks, "''"), ", "))}
	}
	// A row without a value lacks what every row must have, where the feed has such a column.
	if l.needsNothing() {
		return []string{fmt.Sprintf("CASE WHEN landing_blank THEN '%s' WHEN %s THEN NULL ELSE concat(',', %s) END AS landing_wrong", blankRowMark, fine, strings.Join(append(marks, "''"), ", "))}
	}
	return []string{fmt.Sprintf("CASE WHEN %s THEN NULL WHEN landing_blank THEN '%s' ELSE concat(',', %s) END AS landing_wrong", fine, blankRowMark, strings.Join(append(marks, "''"), ", "))}
}

// needsNothing says whether the feed has no column that every row must fill.
func (l *landing) needsNothing() bool {
	for _, c := range l.feed.Columns {
		if c.Required && c.Default == "" {
			return false
		}
	}
	return true
}
