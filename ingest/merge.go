package ingest

import (
	"fmt"
	"strings"
)

// How a row fares in a merge. changed and removed are also how history says it.
const (
	moveNew       = "new"       // the warehouse had no such row
	moveChanged   = "changed"   // it takes the place of an old one
	moveUnchanged = "unchanged" // the warehouse has it already
	moveRemoved   = "removed"   // an old row that the file no longer has
)

// keepGood leaves in landing_rows the rows to merge, counts those accepted, and returns
// how many of them were equal repeats of another, which it leaves out.
func (l *landing) keepGood() (collapsed int64, err error) {
	if l.sound {
		l.receipt.Accepted, err = l.count("SELECT count(*) FROM landing_rows")
		return 0, err
	}
	err = l.execute("leave out the refused rows", "DELETE FROM landing_rows WHERE landing_line IN (SELECT landing_line FROM landing_faults)")
	if err != nil {
		return 0, err
	}
	if l.receipt.Accepted, err = l.count("SELECT count(*) FROM landing_rows"); err != nil {
		return 0, err
	}
	if collapsed, err = l.count("SELECT count(*) FROM landing_rows WHERE landing_line IN (SELECT landing_line FROM landing_repeats)"); err != nil {
		return 0, err
	}
	return collapsed, l.execute("collapse equal rows", "DELETE FROM landing_rows WHERE landing_line IN (SELECT landing_line FROM landing_repeats)")
}

// compare sets the rows of the file against those of the warehouse, and lists in the
// temporary table landing_moves what becomes of each:
//
//	move              new, changed, unchanged or removed
//	landing_line      the row of the file, NULL for removed
//	occurrence        its number among rows of the same key (in a group: among equal rows)
//	import_id,
//	import_line       the old row, NULL for new
//
// It changes nothing in the warehouse. Where the warehouse has nothing that a sound file could
// meet, landing_moves is a view, in which every row is new.
func (l *landing) compare() error {
	if fresh, err := l.meetsNothing(); err != nil || fresh {
		return err
	}
	err := l.execute("make room for the comparison", `
CREATE TEMP TABLE landing_moves (
    move VARCHAR, landing_line BIGINT, occurrence BIGINT, import_id BIGINT, import_line BIGINT
)`)
	if err != nil {
		return err
	}
	if err := l.execute("compare rows by key", l.keyedMoves()); err != nil {
		return err
	}
	if len(l.feed.Group) == 0 {
		return nil
	}
	if err := l.listGroups(); err != nil {
		return err
	}
	return l.execute("compare groups", l.groupedMoves())
}

// keyOf returns the headers that tell the keyed rows of a feed apart.
func keyOf(feed Feed) []string {
	if feed.Record {
		return []string{"record"}
	}
	return feed.Key
}

// keyColumns returns the warehouse columns of keyOf, and SQL that is true for the rows
// that are keyed by them.
func keyColumns(feed Feed) (columns []string, keyed string) {
	for _, name := range keyOf(feed) {
		columns = append(columns, feed.Columns[columnNumber(feed, name)].Stored()[0])
	}
	switch {
	case feed.Record:
		return columns, "record IS NOT NULL"
	case len(feed.Group) > 0: // the group alone says what is superseded
		return columns, "false"
	default:
		return columns, "true"
	}
}

// keyedMoves is the SQL that compares keyed rows: those of one key are numbered in the
// order of the file, and the first of the file meets the first of the warehouse.
func (l *landing) keyedMoves() string {
	key, keyed := keyColumns(l.feed)
	return fmt.Sprintf(`
INSERT INTO landing_moves
WITH numbered AS (
    SELECT *, %[9]s AS landing_number
    FROM landing_rows
    WHERE %[2]s
), known AS (
    SELECT *
    FROM %[3]s
    WHERE %[2]s
)
SELECT
    CASE WHEN o.import_id IS NULL THEN '%[6]s' WHEN %[5]s THEN '%[7]s' ELSE '%[8]s' END,
    n.landing_line, n.landing_number, o.import_id, o.import_line
FROM numbered AS n
LEFT JOIN known AS o ON %[4]s AND o.occurrence = n.landing_number`,
		quoteNames(key), keyed, quoteName(l.feed.Name), sameColumns("n", "o", key), sameColumns("n", "o", l.feed.Stored()),
		moveNew, moveUnchanged, moveChanged, l.numberInKey(key))
}

// numberInKey is SQL for the number of a row among those of its key.
func (l *landing) numberInKey(key []string) string {
	if l.sound {
		return "1"
	}
	return fmt.Sprintf("row_number() OVER (PARTITION BY %s ORDER BY landing_line)", quoteNames(key))
}

// listGroups makes landing_groups, once.
func (l *landing) listGroups() error {
	if l.grouped {
		return nil
	}
	l.grouped = true
	return l.execute("list the groups of the file", l.touchedGroups())
}

// touchedGroups is the SQL that makes landing_groups: the groups of the file's rows.
func (l *landing) touchedGroups() string {
	return fmt.Sprintf(`
CREATE TEMP TABLE landing_groups AS
SELECT DISTINCT %s
FROM landing_rows
WHERE %s`, partValues(togetherParts(l.feed)), withoutRecord(l.feed))
}

// oldOfGroups is SQL for the warehouse's rows of the groups that the file touches, with
// their parts.
func (l *landing) oldOfGroups() string {
	parts := togetherParts(l.feed)
	return fmt.Sprintf(`
    SELECT o.*
    FROM (SELECT *, %s FROM %s WHERE %s) AS o
    SEMI JOIN landing_groups AS g ON %s`, partValues(parts), quoteName(l.feed.Name), withoutRecord(l.feed), sameParts("o", "g", parts))
}

// groupedMoves is the SQL that compares the file's groups with the warehouse's as sets in
// which equal rows count. What is left over on both sides of one group is paired in the
// order of the lines, as changed.
func (l *landing) groupedMoves() string {
	parts, stored := togetherParts(l.feed), l.feed.Stored()
	partition := partNames("", parts)
	return fmt.Sprintf(`
INSERT INTO landing_moves
WITH old_rows AS (
    SELECT *, row_number() OVER (PARTITION BY %[1]s ORDER BY occurrence, import_id, import_line) AS copy
    FROM (%[2]s)
), new_rows AS (
    SELECT *, %[3]s, row_number() OVER (PARTITION BY %[1]s ORDER BY landing_line) AS copy
    FROM landing_rows
    WHERE %[4]s
), same AS (
    SELECT n.landing_line, n.copy, o.import_id, o.import_line
    FROM new_rows AS n
    JOIN old_rows AS o ON %[5]s AND o.copy = n.copy
), old_left AS (
    SELECT import_id, import_line, %[6]s, row_number() OVER (PARTITION BY %[6]s ORDER BY import_id, import_line) AS place
    FROM old_rows AS o
    ANTI JOIN same AS s ON s.import_id = o.import_id AND s.import_line = o.import_line
), new_left AS (
    SELECT landing_line, copy, %[6]s, row_number() OVER (PARTITION BY %[6]s ORDER BY landing_line) AS place
    FROM new_rows AS n
    ANTI JOIN same AS s ON s.landing_line = n.landing_line
)
SELECT '%[8]s', landing_line, copy, import_id, import_line
FROM same
UNION ALL
SELECT
    CASE WHEN o.import_id IS NULL THEN '%[9]s' WHEN n.landing_line IS NULL THEN '%[10]s' ELSE '%[11]s' END,
    n.landing_line, n.copy, o.import_id, o.import_line
FROM new_left AS n
FULL JOIN old_left AS o ON %[7]s AND o.place = n.place`,
		quoteNames(stored), l.oldOfGroups(), partValues(parts), withoutRecord(l.feed), sameColumns("n", "o", stored),
		partition, sameParts("n", "o", parts), moveUnchanged, moveNew, moveRemoved, moveChanged)
}

// sameParts is SQL that is true when two rows agree in all parts.
func sameParts(left, right string, parts []part) string {
	same := make([]string, len(parts))
	for i := range parts {
		same[i] = fmt.Sprintf("%[1]s.part_%[3]d IS NOT DISTINCT FROM %[2]s.part_%[3]d", left, right, i)
	}
	return strings.Join(same, " AND ")
}

// countMoves puts the moves into the receipt and holds them against what was accepted.
func (l *landing) countMoves(collapsed int64) error {
	r := l.receipt
	if l.fresh {
		r.New = r.Accepted
		return nil
	}
	err := l.tx.QueryRowContext(l.ctx, `
SELECT count(*) FILTER (move = ?), count(*) FILTER (move = ?), count(*) FILTER (move = ?), count(*) FILTER (move = ?)
FROM landing_moves`, moveNew, moveChanged, moveUnchanged, moveRemoved).Scan(&r.New, &r.Changed, &r.Unchanged, &r.Removed)
	if err != nil {
		return fmt.Errorf("count the moves of %s: %w", l.source.name, err)
	}
	r.Unchanged += collapsed
	if moved := r.New + r.Changed + r.Unchanged; moved != r.Accepted {
		return fmt.Errorf("merge %s: %d rows were accepted and %d merged", l.feed.Name, r.Accepted, moved)
	}
	return nil
}
