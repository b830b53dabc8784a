package ingest

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
)

// typeCells reads every cell by its column's type into the temporary table landing_rows,
// and what is wrong with any of them into landing_faults.
//
// landing_rows has the feed's stored columns and
//
//	landing_line             as in landing_text
//	landing_shape            as in landing_text
//	landing_fault_COLUMN     code word of what is wrong with the cell, else NULL
//
// landing_faults is one thing wrong with one row:
//
//	landing_line   the row
//	ordinal        number of the column in the feed's declaration, or -1 for the row
//	code           code word
//	rule           number of the row rule that is broken, or -1
//	note           the other lines that it is about, else NULL
func (l *landing) typeCells() error {
	for i, c := range l.feed.Columns {
		if err := l.mapTexts(i, c); err != nil {
			return err
		}
	}
	if err := l.execute("type the cells", l.typedRows()); err != nil {
		return err
	}
	return l.listFaults()
}

// cellText is SQL over landing_text for the text of a column: its default where it is
// blank, NULL where it has none.
func (l *landing) cellText(i int, c Column) string {
	text := "CAST(NULL AS VARCHAR)"
	if cell := l.header.cells[i]; cell >= 0 {
		text = cellName(cell)
		if l.reader.reads(i) {
			text = readName(i)
		}
	}
	if c.Default != "" {
		text = fmt.Sprintf("coalesce(%s, %s)", text, quoteText(c.Default))
	}
	return text
}

// mapped says whether Go reads the column's cells, by way of a table of its texts.
func (l *landing) mapped(i int, c Column) bool {
	return grammarOf(c, l.opts) != nil && (l.header.cells[i] >= 0 || c.Default != "")
}

func mapName(i int) string { return fmt.Sprintf("landing_map_%d", i) }

// mapTexts reads each different text of a column once, in Go, and keeps what it means in
// a temporary table: text, the value of each stored column, fault.
func (l *landing) mapTexts(i int, c Column) error {
	if !l.mapped(i, c) {
		return nil
	}
	read := grammarOf(c, l.opts)
	meanings, err := newBulk(l.opts.TempDir)
	if err != nil {
		return err
	}
	defer meanings.close()
	different := fmt.Sprintf("SELECT DISTINCT text FROM (SELECT %s AS text FROM landing_text) WHERE text IS NOT NULL", l.cellText(i, c))
	err = eachText(l.ctx, l.tx, different, func(text string) error {
		values, fault := read(text)
		meanings.cell([]byte(text))
		for _, value := range values {
			if fault != nil {
				value = ""
			}
			meanings.cell([]byte(value))
		}
		meanings.cell([]byte(faultOf(fault)))
		return meanings.endRow()
	})
	if err != nil {
		return fmt.Errorf("read the cells of %s: %w", c.Name, err)
	}
	columns := []bulkColumn{{"text", "VARCHAR"}}
	for k, stored := range c.Stored() {
		columns = append(columns, bulkColumn{stored, c.SQLType()[k]})
	}
	return meanings.load(l.ctx, l.tx, mapName(i), append(columns, bulkColumn{"fault", "VARCHAR"}))
}

// eachText calls visit with each text that query returns.
func eachText(ctx context.Context, tx *sql.Tx, query string, visit func(text string) error) error {
	rows, err := tx.QueryContext(ctx, query)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var text string
		if err := rows.Scan(&text); err != nil {
			return err
		}
		if err := visit(text); err != nil {
			return err
		}
	}
	return rows.Err()
}

// typedRows is the SQL that makes landing_rows: the texts, then the plain numbers among
// them, then what is wrong with each, then the values of those that are right.
func (l *landing) typedRows() string {
	var texts, plains, faults, meanings, values, joins []string
	for i, c := range l.feed.Columns {
		text, plain, fault := fmt.Sprintf("text_%d", i), fmt.Sprintf("plain_%d", i), faultName(c)
		texts = append(texts, fmt.Sprintf("%s AS %s", l.cellText(i, c), text))
		missing := "CAST(NULL AS VARCHAR)"
		if c.Required && c.Default == "" {
			missing = quoteText(CodeMissingValue)
		}
		wrong := "CAST(NULL AS VARCHAR)"
		switch {
		case l.mapped(i, c):
			wrong = fmt.Sprintf("m%d.fault", i)
			joins = append(joins, fmt.Sprintf("LEFT JOIN temp.%s AS m%d ON m%d.text = t.%s", mapName(i), i, i, text))
			for _, stored := range c.Stored() {
				meanings = append(meanings, fmt.Sprintf("m%d.%s", i, quoteName(stored)))
				values = append(values, quoteName(stored))
			}
		case isNumber(c):
			plains = append(plains, fmt.Sprintf("%s AS %s", plainNumber(text), plain))
			wrong = numberFault(c, plain)
			values = append(values, fmt.Sprintf("CASE WHEN %s IS NULL THEN %s END AS %s", quoteName(fault), numberValue(c, plain), quoteName(c.Name)))
		case l.header.cells[i] < 0:
			// The file has no such column: NULL of the declared types, or the default.
			for k, stored := range c.Stored() {
				values = append(values, fmt.Sprintf("CAST(%s AS %s) AS %s", text, c.SQLType()[k], quoteName(stored)))
			}
		default:
			values = append(values, fmt.Sprintf("%s AS %s", text, quoteName(c.Name)))
		}
		found := l.foundFaults(i)
		if len(found) > 0 {
			all := strings.Join(found, ", ")
			missing, wrong = fmt.Sprintf("coalesce(%s, %s)", all, missing), fmt.Sprintf("coalesce(%s, %s)", all, wrong)
		}
		faults = append(faults, fmt.Sprintf("CASE WHEN %s IS NULL THEN %s ELSE %s END AS %s", text, missing, wrong, quoteName(fault)))
	}
	unread := ""
	if l.reader != nil {
		unread = ", landing_unread"
	}
	return fmt.Sprintf(`
CREATE TEMP TABLE landing_rows AS
WITH texts AS (
    SELECT landing_line, landing_shape, landing_holes%s, %s
    FROM landing_text
), plains AS (
    SELECT %s
    FROM texts
), judged AS (
    SELECT t.*, %s
    FROM plains AS t
    %s
)
SELECT landing_line, landing_shape, %s, %s
FROM judged`,
		unread, strings.Join(texts, ", "), strings.Join(append([]string{"*"}, plains...), ", "), strings.Join(append(faults, meanings...), ", "),
		strings.Join(joins, "\n    "), quoteNames(l.faultNames()), strings.Join(values, ", "))
}

// foundFaults is SQL for what staging found wrong with the cells of a column, each a code
// word or NULL: cells of a workbook that hold no value, then what reading rules refuse.
func (l *landing) foundFaults(i int) []string {
	var found []string
	if l.holes {
		for _, cell := range l.header.sources[i] {
			found = append(found, holeIn(cell))
		}
	}
	if l.reader.reads(i) {
		found = append(found, unreadIn(i))
	}
	return found
}

// faultName is the column of landing_rows that holds what is wrong with a cell of c.
func faultName(c Column) string { return "landing_fault_" + c.Name }

func (l *landing) faultNames() []string {
	names := make([]string, len(l.feed.Columns))
	for i, c := range l.feed.Columns {
		names[i] = faultName(c)
	}
	return names
}

// listFaults lists what is wrong with the rows' shapes and cells. The cells of a row that
// is out of shape may stand in the wrong columns: they are not judged.
func (l *landing) listFaults() error {
	lists := []string{"SELECT landing_line, -1 AS ordinal, landing_shape AS code FROM landing_rows WHERE landing_shape IS NOT NULL"}
	for i, c := range l.feed.Columns {
		fault := quoteName(faultName(c))
		told := ""
		if l.reader.reads(i) {
			told = fmt.Sprintf(" AND %s <> %s", fault, quoteText(alreadyTold))
		}
		lists = append(lists, fmt.Sprintf("SELECT landing_line, %d, %s FROM landing_rows WHERE landing_shape IS NULL AND %s IS NOT NULL%s", i, fault, fault, told))
	}
	return l.execute("list what is wrong", `
CREATE TEMP TABLE landing_faults AS
SELECT landing_line, ordinal, code, -1 AS rule, CAST(NULL AS VARCHAR) AS note
FROM (`+strings.Join(lists, "\nUNION ALL ")+")")
}
