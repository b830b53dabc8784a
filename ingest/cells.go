package ingest

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
)

// typeCells reads every cell by its column's type. Those written the plain way are read by
// the engine in one pass over the file; what it leaves open goes through the grammars, each
// different text once.
//
// The result is landing_rows, a temporary table, or a view where nothing was left open. It
// has the feed's stored columns and
//
//	landing_line             as in landing_text
//	landing_shape            as in landing_text
//	landing_fault_COLUMN     code word of what is wrong with the cell, else NULL
//
// and what is wrong with any of them is in landing_faults, one thing wrong with one row:
//
//	landing_line   the row
//	ordinal        number of the column in the feed's declaration, or -1 for the row
//	code           code word
//	rule           number of the row rule that is broken, or -1
//	note           the other lines that it is about, else NULL
func (l *landing) typeCells() error {
	open, err := l.readPlainly()
	if err != nil {
		return err
	}
	l.receipt.Blank += open.blank
	for i, c := range l.feed.Columns {
		if open.doubts[i] > 0 {
			if err := l.mapTexts(i, c); err != nil {
				return err
			}
		}
	}
	rows := l.readRows(open)
	if open.settled() {
		// Most files end here: what is right as it stands need not be copied.
		if err := l.makeView("landing_rows", rows); err != nil {
			return err
		}
		if err := l.listFaults(open); err != nil {
			return err
		}
		if l.sound, err = l.isSound(); err != nil || l.sound {
			return err
		}
		if err := l.dropView("landing_rows"); err != nil {
			return err
		}
	}
	if err := l.execute("put the rows together", "CREATE TEMP TABLE landing_rows AS "+rows); err != nil || open.settled() {
		return err
	}
	if err := l.listFaults(open); err != nil {
		return err
	}
	l.sound, err = l.isSound()
	return err
}

// readPlainly makes the temporary table landing_typed, of the copy of a plain file or of
// landing_text, and looks it over. Where the engine will not take every line of a plain file
// for a row, the file is framed after all.
func (l *landing) readPlainly() (*openCells, error) {
	if err := l.makeLengths(l.receipt.Lines); err != nil {
		return nil, err
	}
	if err := l.execute("type the cells", l.typedRows()); err != nil {
		return nil, err
	}
	if l.plain != nil {
		ok, err := l.plain.number(l.ctx, l, "landing_typed")
		if err != nil {
			return nil, err
		}
		if !ok {
			l.plain.remove()
			l.plain, l.receipt.Lines = nil, 0
			if err := l.frame(); err != nil {
				return nil, err
			}
			return l.readOnceMore()
		}
	}
	open, err := l.lookOver()
	if err != nil || open.steady {
		return open, err
	}
	l.eachTime = true
	return l.readOnceMore()
}

// readOnceMore is readPlainly after what it found.
func (l *landing) readOnceMore() (*openCells, error) {
	if err := l.execute("drop the rows read", "DROP TABLE temp.landing_typed"); err != nil {
		return nil, err
	}
	if err := l.execute("type the cells", l.typedRows()); err != nil {
		return nil, err
	}
	if l.plain != nil {
		if ok, err := l.plain.number(l.ctx, l, "landing_typed"); err != nil || !ok {
			return nil, fmt.Errorf("read %s once more: the rows are not those of before: %w", l.source.name, err)
		}
	}
	return l.lookOver()
}

// cellText is SQL over the cells of a file for the text of a column: its default where it
// is blank, NULL where it has none.
func (l *landing) cellText(i int, c Column) string {
	text := "CAST(NULL AS VARCHAR)"
	if cell := l.header.cells[i]; cell >= 0 {
		text = cellName(cell)
		if l.plain != nil {
			text = l.plain.trimmed(cell)
		}
		if l.reader.reads(i) {
			text = readName(i)
		}
	}
	if c.Default != "" {
		text = fmt.Sprintf("coalesce(%s, %s)", text, quoteText(c.Default))
	}
	return text
}

// given says whether the file, or a default, gives the column a text.
func (l *landing) given(i int, c Column) bool { return l.header.cells[i] >= 0 || c.Default != "" }

// mapped says whether Go reads the column's cells where the engine leaves them open.
func (l *landing) mapped(i int, c Column) bool {
	return grammarOf(c, l.opts) != nil && l.given(i, c)
}

func mapName(i int) string { return fmt.Sprintf("landing_map_%d", i) }

// Names of what typedRows works out for column i.
func textName(i int) string  { return fmt.Sprintf("text_%d", i) }
func quickName(i int) string { return fmt.Sprintf("quick_%d", i) }
func sureName(i int) string  { return fmt.Sprintf("sure_%d", i) }
func plainName(i int) string { return fmt.Sprintf("plain_%d", i) }
func wrongName(i int) string { return fmt.Sprintf("wrong_%d", i) }
func doubtName(i int) string { return fmt.Sprintf("doubt_%d", i) }

// mapTexts reads each different text of a column that the engine left open once, in Go, and
// keeps what it means in a temporary table: text, the value of each stored column, fault.
func (l *landing) mapTexts(i int, c Column) error {
	read := grammarOf(c, l.opts)
	meanings, err := newBulk(l.opts.TempDir)
	if err != nil {
		return err
	}
	defer meanings.close()
	different := fmt.Sprintf("SELECT DISTINCT %[1]s FROM landing_typed WHERE %[1]s IS NOT NULL", doubtName(i))
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

// openCells is what the engine left open of the cells of a file.
type openCells struct {
	rows   int64
	shapes int64       // rows that are not of well-formed cells
	wrong  int64       // rows with something wrong so far
	blank  int64       // rows without a value, counted in wrong
	doubts []int64     // by column of the feed: cells for its grammar
	clocks []clockSpan // by column of the feed, of its times: how the clocks stood
	timed  []bool      // by column of the feed: some time of it was read
	steady bool        // the clocks are known of all times that were read
}

// settled says whether nothing is left to Go, and nothing wrong.
func (o *openCells) settled() bool {
	for _, doubts := range o.doubts {
		if doubts > 0 {
			return false
		}
	}
	return o.shapes == 0 && o.wrong == 0
}

// lookOver counts what the engine left open.
func (l *landing) lookOver() (*openCells, error) {
	n := len(l.feed.Columns)
	o := &openCells{doubts: make([]int64, n), clocks: make([]clockSpan, n), timed: make([]bool, n), steady: true}
	shapes := "0"
	if l.plain == nil {
		shapes = "count(landing_shape)"
	}
	columns := []string{"count(*)", shapes, "count(landing_wrong)", fmt.Sprintf("count(*) FILTER (landing_wrong = '%s')", blankRowMark)}
	targets := []any{&o.rows, &o.shapes, &o.wrong, &o.blank}
	spans := make([]struct{ first, last sql.NullTime }, n)
	for i, c := range l.feed.Columns {
		if !l.mapped(i, c) {
			continue
		}
		columns, targets = append(columns, fmt.Sprintf("count(%s)", doubtName(i))), append(targets, &o.doubts[i])
		if c.Kind == Time {
			columns = append(columns, fmt.Sprintf("min(%s)", quoteName(c.Name)), fmt.Sprintf("max(%s)", quoteName(c.Name)))
			targets = append(targets, &spans[i].first, &spans[i].last)
		}
	}
	query := "SELECT " + strings.Join(columns, ", ") + " FROM landing_typed"
	if err := l.tx.QueryRowContext(l.ctx, query).Scan(targets...); err != nil {
		return nil, fmt.Errorf("look over the cells of %s: %w", l.source.name, err)
	}
	for i, span := range spans {
		if span.first.Valid {
			var ok bool
			o.clocks[i], ok = clockSpanOf(l.opts.Zone, span.first.Time, span.last.Time)
			o.timed[i], o.steady = true, o.steady && ok
		}
	}
	return o, nil
}

// readRows is SQL for the rows of landing_rows.
func (l *landing) readRows(o *openCells) string {
	columns := []string{"landing_line", "landing_shape"}
	if l.plain != nil {
		columns = []string{l.plain.line() + " AS landing_line", "CAST(NULL AS VARCHAR) AS landing_shape"}
	}
	var values, joins []string
	for i, c := range l.feed.Columns {
		stored := c.Stored()
		mark := "CAST(NULL AS VARCHAR)"
		if o.wrong > 0 {
			mark = fmt.Sprintf("CASE WHEN landing_wrong IS NOT NULL THEN nullif(regexp_extract(landing_wrong, ',%d:([a-z-]+),', 1), '') END", i)
		}
		if o.doubts[i] > 0 {
			joins = append(joins, fmt.Sprintf("LEFT JOIN temp.%s AS m%d ON m%d.text = t.%s", mapName(i), i, i, doubtName(i)))
			mark = fmt.Sprintf("coalesce(%s, m%d.fault)", mark, i)
		}
		columns = append(columns, fmt.Sprintf("%s AS %s", mark, quoteName(faultName(c))))
		if !l.given(i, c) {
			for k, name := range stored {
				values = append(values, fmt.Sprintf("CAST(NULL AS %s) AS %s", c.SQLType()[k], quoteName(name)))
			}
			continue
		}
		own := "t." + quoteName(stored[0])
		value := own
		if o.doubts[i] > 0 {
			value = fmt.Sprintf("coalesce(%s, m%d.%s)", own, i, quoteName(stored[0]))
		}
		values = append(values, fmt.Sprintf("%s AS %s", value, quoteName(stored[0])))
		if c.Kind != Time {
			continue
		}
		instant := "CAST(NULL AS TIMESTAMP)"
		if o.timed[i] {
			instant = o.clocks[i].instant(own)
		}
		if o.doubts[i] > 0 {
			instant = fmt.Sprintf("CASE WHEN %s IS NULL THEN m%d.%s ELSE %s END", own, i, quoteName(stored[1]), instant)
		}
		values = append(values, fmt.Sprintf("%s AS %s", instant, quoteName(stored[1])))
	}
	rows := ""
	if o.blank > 0 {
		rows = fmt.Sprintf("\nWHERE landing_wrong IS DISTINCT FROM '%s'", blankRowMark)
	}
	return fmt.Sprintf(`
SELECT %s, %s
FROM temp.landing_typed AS t
%s%s`, strings.Join(columns, ", "), strings.Join(values, ", "), strings.Join(joins, "\n"), rows)
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

// listFaults lists what is wrong with the rows' shapes and cells. The cells of a row that
// is out of shape may stand in the wrong columns: they are not judged.
func (l *landing) listFaults(o *openCells) error {
	var lists []string
	if o.shapes > 0 {
		lists = append(lists, "SELECT landing_line, -1 AS ordinal, landing_shape AS code FROM landing_rows WHERE landing_shape IS NOT NULL")
	}
	for i, c := range l.feed.Columns {
		if o.wrong == 0 && o.doubts[i] == 0 {
			continue
		}
		fault := quoteName(faultName(c))
		told := ""
		if l.reader.reads(i) {
			told = fmt.Sprintf(" AND %s <> %s", fault, quoteText(alreadyTold))
		}
		lists = append(lists, fmt.Sprintf("SELECT landing_line, %d AS ordinal, %s AS code FROM landing_rows WHERE landing_shape IS NULL AND %s IS NOT NULL%s", i, fault, fault, told))
	}
	if len(lists) == 0 {
		return l.execute("list what is wrong", "CREATE TEMP TABLE landing_faults (landing_line BIGINT, ordinal INTEGER, code VARCHAR, rule INTEGER, note VARCHAR)")
	}
	return l.execute("list what is wrong", `
CREATE TEMP TABLE landing_faults AS
SELECT landing_line, ordinal, code, -1 AS rule, CAST(NULL AS VARCHAR) AS note
FROM (`+strings.Join(lists, "\nUNION ALL ")+")")
}
