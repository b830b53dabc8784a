package ingest

import (
	"fmt"
	"strings"
)

// part is one part of what holds rows together: SQL over a feed's stored columns, and the
// columns that it is made from.
type part struct {
	value  string // SQL; the same over landing_rows and over the feed's table
	own    int    // number of the column in the feed's declaration, or -1
	orElse int    // number of the time column whose date stands in, or -1
}

// togetherParts returns what holds rows of the file together, so that they are accepted
// or refused as one: the feed's group, or the key where rows of one key are told apart by
// their number within the file. nil means that every row stands alone.
func togetherParts(feed Feed) []part {
	if len(feed.Group) == 0 {
		if feed.Unique || feed.Record {
			return nil
		}
		parts := make([]part, len(feed.Key))
		for i, name := range feed.Key {
			own := columnNumber(feed, name)
			parts[i] = part{value: quoteName(feed.Columns[own].Stored()[0]), own: own, orElse: -1}
		}
		return parts
	}
	parts := make([]part, len(feed.Group))
	for i, g := range feed.Group {
		p := part{own: columnNumber(feed, g.Column), orElse: columnNumber(feed, g.ElseDateOf)}
		switch {
		case p.orElse < 0:
			p.value = quoteName(g.Column)
		case p.own < 0:
			p.value = fmt.Sprintf("CAST(%s AS DATE)", quoteName(g.ElseDateOf))
		default:
			p.value = fmt.Sprintf("coalesce(%s, CAST(%s AS DATE))", quoteName(g.Column), quoteName(g.ElseDateOf))
		}
		parts[i] = p
	}
	return parts
}

// columnNumber returns the number of a column in the feed's declaration, or -1.
func columnNumber(feed Feed, name string) int {
	for i, c := range feed.Columns {
		if c.Name == name {
			return i
		}
	}
	return -1
}

// withoutRecord is SQL that is true for the rows that a record does not key.
func withoutRecord(feed Feed) string {
	if feed.Record {
		return "record IS NULL"
	}
	return "true"
}

// refuseWith refuses the good rows that are held together with a bad one. A mended rejects
// file is later imported as the truth for its groups, so it must hold each of them whole.
//
// Where a bad row's own part of the group could not be read, the row may belong to any
// group that agrees in the parts that could, and all of those are refused. Rows told apart
// by key and number are refused only with a bad row of exactly their key.
func (l *landing) refuseWith() error {
	parts := togetherParts(l.feed)
	bad, err := l.count("SELECT count(*) FROM landing_faults")
	if err != nil || bad == 0 || len(parts) == 0 {
		return err
	}
	if err := l.keepTexts(); err != nil {
		return err
	}
	if err := l.execute("find the groups of bad rows", l.badParts(parts)); err != nil {
		return err
	}
	var matches []string
	for known := range 1 << len(parts) {
		if len(l.feed.Group) == 0 && known != 1<<len(parts)-1 {
			continue
		}
		matches = append(matches, matchKnown(parts, known))
	}
	return l.execute("refuse whole groups", fmt.Sprintf(`
INSERT INTO landing_faults
WITH good AS (
    SELECT landing_line, %s
    FROM landing_rows
    WHERE %s AND landing_line NOT IN (SELECT landing_line FROM landing_faults)
), bad AS (
    SELECT min(landing_line) AS landing_line, %s
    FROM landing_bad
    GROUP BY ALL
), matches AS (
    %s
)
SELECT landing_line, -1, %s, -1, CAST(min(bad_line) AS VARCHAR)
FROM matches
GROUP BY landing_line`,
		partValues(parts), withoutRecord(l.feed), badColumns(parts), strings.Join(matches, "\n    UNION ALL\n    "), quoteText(CodeWith)))
}

// partValues is SQL for the value of each part, named part_0 and so on.
func partValues(parts []part) string {
	values := make([]string, len(parts))
	for i, p := range parts {
		values[i] = fmt.Sprintf("%s AS part_%d", p.value, i)
	}
	return strings.Join(values, ", ")
}

// partNames names the parts, each with a prefix.
func partNames(prefix string, parts []part) string {
	names := make([]string, len(parts))
	for i := range parts {
		names[i] = fmt.Sprintf("%spart_%d", prefix, i)
	}
	return strings.Join(names, ", ")
}

// badColumns names the columns of landing_bad after its line: a value that is not known is
// blank, and blank is also a value, so each part says whether it is known.
func badColumns(parts []part) string {
	names := make([]string, 0, 2*len(parts))
	for i := range parts {
		names = append(names, fmt.Sprintf("part_%d", i), fmt.Sprintf("known_%d", i))
	}
	return strings.Join(names, ", ")
}

// badParts is the SQL that makes the temporary table landing_bad: each bad row that no
// record keys, with its parts as far as they are known.
//
// A part is known when nothing is wrong with the cells that it is made from. A row out of
// shape needs more, for its cells may stand in the wrong columns: see placedPart.
func (l *landing) badParts(parts []part) string {
	known := make([]string, len(parts))
	values := make([]string, len(parts))
	for i, p := range parts {
		known[i] = fmt.Sprintf("%s AND (b.landing_shape IS NULL OR (%s)) AS known_%d", l.soundPart(p), l.placedPart(parts, i), i)
		values[i] = fmt.Sprintf("CASE WHEN known_%[1]d THEN part_%[1]d END AS part_%[1]d, known_%[1]d", i)
	}
	return fmt.Sprintf(`
CREATE TEMP TABLE landing_bad AS
WITH faulty AS (
    SELECT landing_line, list(ordinal) AS ordinals
    FROM landing_faults
    GROUP BY landing_line
), shaped AS (
    SELECT DISTINCT %[1]s
    FROM landing_rows
    WHERE landing_shape IS NULL AND %[2]s
), bad AS (
    SELECT r.*, %[1]s, f.ordinals, t.landing_lines, t.landing_cells
    FROM landing_rows AS r
    JOIN faulty AS f ON f.landing_line = r.landing_line
    JOIN landing_text AS t ON t.landing_line = r.landing_line
    WHERE %[2]s
), judged AS (
    SELECT b.landing_line, %[3]s, %[4]s
    FROM bad AS b
)
SELECT landing_line, %[5]s
FROM judged`, partValues(parts), withoutRecord(l.feed), partNames("b.", parts), strings.Join(known, ", "), strings.Join(values, ", "))
}

// placedPart is SQL over a row out of shape that is true when the cells of a part can be
// trusted to stand in their columns. They must be there, in a row of one line: one of
// several may hide whole rows of any group. A date or a station proves its own place by
// being one. Any other value, and a blank, needs a date or station of the group that
// proves its place further right, or a row in good shape with the same value.
func (l *landing) placedPart(parts []part, i int) string {
	present := []string{"b.landing_lines = 1"}
	if own := parts[i].own; own >= 0 && l.header.cells[own] >= 0 {
		present = append(present, fmt.Sprintf("b.landing_cells > %d", l.header.cells[own]))
	}
	proofs := []string{fmt.Sprintf("EXISTS (SELECT 1 FROM shaped AS s WHERE s.part_%[1]d IS NOT DISTINCT FROM b.part_%[1]d)", i)}
	for k, other := range parts {
		for _, column := range []int{other.own, other.orElse} {
			if column < 0 || l.header.cells[column] < 0 || grammarOf(l.feed.Columns[column], l.opts) == nil {
				continue
			}
			if k == i || parts[i].own >= 0 && l.header.cells[column] > l.header.cells[parts[i].own] {
				proofs = append(proofs, fmt.Sprintf("(b.landing_cells > %d AND %s AND %s)", l.header.cells[column], l.givenColumn(column), l.soundColumn(column)))
			}
		}
	}
	return strings.Join(present, " AND ") + " AND (" + strings.Join(proofs, " OR ") + ")"
}

// soundPart is SQL over a bad row that is true when nothing is wrong with the cells that a
// part is made from: its own, or where that is blank the time whose date stands in.
func (l *landing) soundPart(p part) string {
	if p.own < 0 {
		return l.soundColumn(p.orElse) + " AND " + l.givenColumn(p.orElse)
	}
	if p.orElse < 0 {
		return l.soundColumn(p.own)
	}
	return fmt.Sprintf("%s AND (%s OR (%s AND %s))", l.soundColumn(p.own), l.givenColumn(p.own), l.soundColumn(p.orElse), l.givenColumn(p.orElse))
}

func (l *landing) soundColumn(i int) string {
	return fmt.Sprintf("b.%s IS NULL AND NOT list_contains(b.ordinals, %d)", quoteName(faultName(l.feed.Columns[i])), i)
}

func (l *landing) givenColumn(i int) string {
	return fmt.Sprintf("b.%s IS NOT NULL", quoteName(l.feed.Columns[i].Stored()[0]))
}

// matchKnown is SQL for the good rows that agree with bad ones in the parts whose bit is
// set in known, the others of the bad row being unknown.
func matchKnown(parts []part, known int) string {
	conditions := make([]string, 0, 2*len(parts))
	agree := false
	for i := range parts {
		if known&(1<<i) == 0 {
			conditions = append(conditions, fmt.Sprintf("NOT b.known_%d", i))
			continue
		}
		agree = true
		conditions = append(conditions, fmt.Sprintf("b.known_%[1]d AND g.part_%[1]d IS NOT DISTINCT FROM b.part_%[1]d", i))
	}
	if !agree {
		return fmt.Sprintf("SELECT g.landing_line, b.landing_line AS bad_line FROM good AS g CROSS JOIN (SELECT min(b.landing_line) AS landing_line FROM bad AS b WHERE %s HAVING count(*) > 0) AS b", strings.Join(conditions, " AND "))
	}
	return fmt.Sprintf("SELECT g.landing_line, b.landing_line AS bad_line FROM good AS g JOIN bad AS b ON %s", strings.Join(conditions, " AND "))
}
