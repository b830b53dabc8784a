package ingest

import (
	"database/sql"
	"fmt"
	"strings"
)

// apply makes the moves in the warehouse: superseded rows go to history, new ones come in,
// and the import is logged.
func (l *landing) apply() error {
	move := l.move
	if l.fresh {
		move = l.putIn
	}
	if err := move(); err != nil {
		return err
	}
	if err := l.logRejects(); err != nil {
		return err
	}
	if err := l.settleRefused(); err != nil {
		return err
	}
	return l.logImport()
}

// move makes the moves of landing_moves.
func (l *landing) move() error {
	if err := l.noteBases(); err != nil {
		return err
	}
	table, stored := quoteName(l.feed.Name), quoteNames(l.feed.Stored())
	err := l.execute("keep the superseded rows", fmt.Sprintf(`
INSERT INTO history.%[1]s (%[2]s, occurrence, import_id, import_line, superseded_by, superseded_as)
SELECT %[3]s, o.occurrence, o.import_id, o.import_line, ?, m.move
FROM %[1]s AS o
JOIN landing_moves AS m ON m.import_id = o.import_id AND m.import_line = o.import_line
WHERE m.move IN ('%[4]s', '%[5]s')`, table, stored, qualifiedNames("o", l.feed.Stored()), moveChanged, moveRemoved), l.receipt.ImportID)
	if err != nil {
		return err
	}
	err = l.execute("take out the superseded rows", fmt.Sprintf(`
DELETE FROM %[1]s AS o
USING landing_moves AS m
WHERE m.import_id = o.import_id AND m.import_line = o.import_line AND m.move IN ('%[2]s', '%[3]s')`, table, moveChanged, moveRemoved))
	if err != nil {
		return err
	}
	err = l.execute("put in the new rows", fmt.Sprintf(`
INSERT INTO %[1]s (%[2]s, occurrence, import_id, import_line)
SELECT %[3]s, m.occurrence, ?, r.landing_line
FROM landing_rows AS r
JOIN landing_moves AS m ON m.landing_line = r.landing_line
WHERE m.move IN ('%[4]s', '%[5]s')`, table, stored, qualifiedNames("r", l.feed.Stored()), moveNew, moveChanged), l.receipt.ImportID)
	if err != nil {
		return err
	}
	return l.checkUnique()
}

// putIn puts in the rows of a file all of which are new. It needs no look at what it makes:
// no two of them are of one key, and the table had none of theirs.
func (l *landing) putIn() error {
	stored := quoteNames(l.feed.Stored())
	return l.execute("put in the new rows", fmt.Sprintf(`
INSERT INTO %s (%s, occurrence, import_id, import_line)
SELECT %s, 1, ?, landing_line
FROM landing_rows`, quoteName(l.feed.Name), stored, stored), l.receipt.ImportID)
}

// qualifiedNames quotes declared names of one table and joins them with commas.
func qualifiedNames(table string, names []string) string {
	qualified := make([]string, len(names))
	for i, name := range names {
		qualified[i] = table + "." + quoteName(name)
	}
	return strings.Join(qualified, ", ")
}

// checkUnique proves, for the keys and groups that the file touches, that no two rows are
// one row twice. The tables have no primary key, which would make every import slow.
func (l *landing) checkUnique() error {
	key, keyed := keyColumns(l.feed)
	touched := fmt.Sprintf(`
    SELECT o.*
    FROM (SELECT * FROM %[2]s WHERE %[3]s) AS o
    SEMI JOIN (SELECT DISTINCT %[1]s FROM landing_rows WHERE %[3]s) AS k ON %[4]s`,
		quoteNames(key), quoteName(l.feed.Name), keyed, sameColumns("o", "k", key))
	if err := l.checkOnce(touched, key); err != nil {
		return err
	}
	if len(l.feed.Group) == 0 {
		return nil
	}
	return l.checkOnce(l.oldOfGroups(), l.feed.Stored())
}

// checkOnce fails when two of the rows agree in columns and occurrence. Their hashes are
// compared first, which is fast and misses no such pair.
func (l *landing) checkOnce(rows string, columns []string) error {
	twice, err := l.count(fmt.Sprintf(`
WITH suspects AS (
    SELECT hash(%[1]s, occurrence) AS landing_hash
    FROM (%[2]s)
    GROUP BY landing_hash
    HAVING count(*) > 1
)
SELECT count(*)
FROM (
    SELECT %[1]s, occurrence
    FROM (%[2]s)
    WHERE hash(%[1]s, occurrence) IN (SELECT landing_hash FROM suspects)
    GROUP BY ALL
    HAVING count(*) > 1
)`, quoteNames(columns), rows))
	if err == nil && twice > 0 {
		err = fmt.Errorf("merge %s: %d keys stand in the table twice", l.feed.Name, twice)
	}
	return err
}

// logImport writes the row of the import log, in place of the one that it repeats.
func (l *landing) logImport() error {
	r := l.receipt
	if r.ImportID == l.again {
		if err := l.execute("forget the refused import", "DELETE FROM imports WHERE import_id = ?", r.ImportID); err != nil {
			return err
		}
	}
	return l.execute("log the import", `
INSERT INTO imports (import_id, feed, file_name, sha256, archive_name, lines, accepted, rejected, blank, aside,
    rows_new, rows_changed, rows_unchanged, rows_removed, first_on, last_on, read_utc)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, CAST(nullif(?, '') AS DATE), CAST(nullif(?, '') AS DATE), ?)`,
		r.ImportID, r.Feed, r.FileName, r.SHA256, r.ArchiveName, r.Lines, r.Accepted, r.Rejected, r.Blank, r.Aside(),
		r.New, r.Changed, r.Unchanged, r.Removed, r.FirstOn, r.LastOn, sql.NullTime{Time: l.opts.Now.UTC(), Valid: !l.opts.Now.IsZero()})
}
