package ingest

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"trusstally/ingest/formulas"
)

// What became of a refused row, as the table refused_rows says it. A row stays open until a
// later import into its feed settles it, in one of four ways:
//
//   - a row names it, by the reject columns that a rejects file has, and is accepted: mended;
//   - a row names it and is refused again: again, for the new refusal stands in its place;
//   - a row names it and holds nothing else: dropped, since it was no row after all;
//   - a row of its key is accepted, or of its group, of which the newest file is the truth:
//     replaced. The key or group must have been readable when the row was refused.
//
// The very file once more, which is read only where every row of it was refused, names its
// rows by their lines. When the import that settled a row is undone, the row is open again.
const (
	stateOpen     = "open"
	stateMended   = "mended"
	stateAgain    = "again"
	stateDropped  = "dropped"
	stateReplaced = "replaced"
)

// namedRow is a row of the file that names a refused one.
type namedRow struct {
	line               int64 // of the file
	importID, importAt int64 // the refused row: its import and the line there
	blank              bool  // it holds nothing else
}

// noteNamed keeps which refused row a row names. One that names none is a row of its own.
func (l *landing) noteNamed(row record, blank bool) {
	h := l.header
	if !h.ofRejects() || h.importCell >= len(row.cells) || h.lineCell >= len(row.cells) {
		return
	}
	importID, err := strconv.ParseInt(string(trimBlanks(row.cells[h.importCell])), 10, 64)
	if err != nil {
		return
	}
	at, err := strconv.ParseInt(string(trimBlanks(row.cells[h.lineCell])), 10, 64)
	if err != nil {
		return
	}
	l.named = append(l.named, namedRow{line: int64(row.line), importID: importID, importAt: at, blank: blank})
}

// unmarked is a cell of a rejects file without the mark of formulas.Mark.
func unmarked(cell []byte) []byte {
	trimmed := trimBlanks(cell)
	if !bytes.HasPrefix(trimmed, []byte("'")) {
		return cell
	}
	return []byte(formulas.Unmark(string(trimmed)))
}

// keyText is SQL over a row of the feed for its key, or its group where nothing else keys
// it, as JSON; the same for a row of the file and one of the warehouse.
func keyText(feed Feed) string {
	columns, _ := keyColumns(feed)
	key := fmt.Sprintf("CAST(to_json([%s]) AS VARCHAR)", textsOf(columns))
	if len(feed.Group) == 0 {
		return key
	}
	parts := togetherParts(feed)
	values := make([]string, len(parts))
	for i, p := range parts {
		values[i] = fmt.Sprintf("CAST(%s AS VARCHAR)", p.value)
	}
	group := fmt.Sprintf("CAST(to_json(['group', %s]) AS VARCHAR)", strings.Join(values, ", "))
	if !feed.Record {
		return group
	}
	return fmt.Sprintf("CASE WHEN record IS NOT NULL THEN %s ELSE %s END", key, group)
}

// textsOf is SQL for columns as texts.
func textsOf(columns []string) string {
	texts := make([]string, len(columns))
	for i, name := range columns {
		texts[i] = fmt.Sprintf("CAST(%s AS VARCHAR)", quoteName(name))
	}
	return strings.Join(texts, ", ")
}

// noteRefused keeps, in the temporary table landing_refused, each refused row with its key
// or group. A row held back with others is sound, and so is the key of one that stands twice.
func (l *landing) noteRefused() error {
	if l.receipt.Rejected == 0 {
		return nil
	}
	return l.execute("note the refused rows", fmt.Sprintf(`
CREATE TEMP TABLE landing_refused AS
WITH faulty AS (
    SELECT landing_line, coalesce(list(ordinal) FILTER (code NOT IN ('%[1]s', '%[2]s')), []) AS ordinals
    FROM landing_faults
    GROUP BY landing_line
)
SELECT b.landing_line, CASE WHEN %[3]s THEN %[4]s END AS row_key
FROM (SELECT r.*, f.ordinals FROM landing_rows AS r JOIN faulty AS f ON f.landing_line = r.landing_line) AS b
%[5]s`, CodeWith, CodeRepeatedKey, l.keyIsKnown(), keyText(l.feed), l.knownGroups()))
}

// keyIsKnown is SQL over a refused row that is true when its key, or its group where that
// is its key, could be read.
func (l *landing) keyIsKnown() string {
	key := []string{"b.landing_shape IS NULL"}
	for _, name := range keyOf(l.feed) {
		i := columnNumber(l.feed, name)
		key = append(key, l.soundColumn(i))
		if l.feed.Columns[i].Required {
			key = append(key, l.givenColumn(i))
		}
	}
	sound := strings.Join(key, " AND ")
	if len(l.feed.Group) == 0 {
		return sound
	}
	group := "len(b.ordinals) = 0"
	for i := range togetherParts(l.feed) {
		if i == 0 {
			group += " OR "
		} else {
			group += " AND "
		}
		group += fmt.Sprintf("coalesce(g.known_%d, false)", i)
	}
	if !l.feed.Record {
		return group
	}
	return fmt.Sprintf("CASE WHEN b.record IS NOT NULL THEN %s ELSE %s END", sound, group)
}

// knownGroups is the SQL that joins what is known of a bad row's group.
func (l *landing) knownGroups() string {
	if len(l.feed.Group) == 0 {
		return ""
	}
	return "LEFT JOIN landing_bad AS g ON g.landing_line = b.landing_line"
}

// settleRefused logs the rows that this import refuses, and settles those that earlier ones
// refused and this one brings.
func (l *landing) settleRefused() error {
	r := l.receipt
	if err := l.logRefused(); err != nil {
		return err
	}
	before, err := l.count("SELECT count(*) FROM refused_rows WHERE feed = ? AND state = ? AND import_id < ?", r.Feed, stateOpen, r.ImportID)
	if err != nil || before == 0 {
		return err
	}
	if err := l.settleNamed(); err != nil {
		return err
	}
	// First by line, then by key: a row that is refused again must not pass for replaced.
	if err := l.settleSameFile(); err != nil {
		return err
	}
	if err := l.settleReplaced(); err != nil {
		return err
	}
	r.Settled, err = l.count("SELECT count(*) FROM refused_rows WHERE settled_by = ? AND state <> ?", r.ImportID, stateAgain)
	return err
}

// settleReplaced settles the rows, refused earlier, whose key or group the file brings.
func (l *landing) settleReplaced() error {
	r := l.receipt
	return l.execute("settle what the file brings", fmt.Sprintf(`
UPDATE refused_rows
SET state = ?, settled_by = ?
WHERE feed = ? AND state = ? AND import_id < ? AND row_key IN (SELECT %s FROM landing_rows)`, keyText(l.feed)),
		stateReplaced, r.ImportID, r.Feed, stateOpen, r.ImportID)
}

// logRefused writes the rows that this import refuses. Where it is an earlier one read again,
// a row stays what it was, settled or open, and stands once.
func (l *landing) logRefused() error {
	r := l.receipt
	if r.ImportID == l.again {
		err := l.execute("forget what is open of the refused import", `
DELETE FROM refused_rows
WHERE import_id = ? AND (state = ? OR line NOT IN (SELECT landing_line FROM landing_faults))`, r.ImportID, stateOpen)
		if err != nil {
			return err
		}
	}
	if r.Rejected == 0 {
		return nil
	}
	return l.execute("log the refused rows", `
INSERT INTO refused_rows (import_id, feed, line, row_key, state)
SELECT $1::BIGINT, $2::VARCHAR, landing_line, row_key, $3::VARCHAR
FROM landing_refused
WHERE landing_line NOT IN (SELECT line FROM refused_rows WHERE import_id = $1::BIGINT)
ORDER BY landing_line`, r.ImportID, r.Feed, stateOpen)
}

// settleSameFile settles what the very file had refused when it was read before. What
// plant.toml has set aside since was no row.
func (l *landing) settleSameFile() error {
	if l.again == 0 {
		return nil
	}
	if err := l.keepTexts(); err != nil {
		return err
	}
	return l.execute("settle the same file read before", fmt.Sprintf(`
UPDATE refused_rows
SET state = CASE
        WHEN line IN (SELECT landing_line FROM landing_faults) THEN '%[1]s'
        WHEN line IN (SELECT landing_line FROM landing_text) THEN '%[2]s'
        ELSE '%[3]s'
    END,
    settled_by = %[4]d,
    again_line = CASE WHEN line IN (SELECT landing_line FROM landing_faults) THEN line END
WHERE feed = ? AND state = ? AND import_id < ? AND import_id IN (SELECT import_id FROM imports WHERE feed = ? AND sha256 = ?)`,
		stateAgain, stateMended, stateDropped, l.receipt.ImportID), l.receipt.Feed, stateOpen, l.receipt.ImportID, l.receipt.Feed, l.receipt.SHA256)
}

// unsettle takes an import that is undone out of refused_rows: its own refused rows go, and
// those that it had settled are open again. One that it had refused again, and that a later
// import has settled as this one's, has become what that has become.
func (u *undo) unsettle() error {
	for _, statement := range []string{`
UPDATE refused_rows AS r
SET state = coalesce(n.state, '` + stateOpen + `'), settled_by = n.settled_by, again_line = n.again_line
FROM (
    SELECT r.import_id, r.line, a.state, a.settled_by, a.again_line
    FROM refused_rows AS r
    LEFT JOIN refused_rows AS a ON a.import_id = r.settled_by AND a.line = r.again_line
    WHERE r.settled_by = ?
) AS n
WHERE r.import_id = n.import_id AND r.line = n.line`,
		"DELETE FROM refused_rows WHERE import_id = ?",
	} {
		if _, err := u.tx.ExecContext(u.ctx, statement, u.result.ImportID); err != nil {
			return fmt.Errorf("undo import %d: %w", u.result.ImportID, err)
		}
	}
	return nil
}

// settleNamed settles the refused rows that rows of the file name. Where two rows name one,
// it is mended only if neither is refused.
func (l *landing) settleNamed() error {
	if len(l.named) == 0 {
		return nil
	}
	named, err := newBulk(l.opts.TempDir)
	if err != nil {
		return err
	}
	defer named.close()
	for _, n := range l.named {
		blank := int64(0)
		if n.blank {
			blank = 1
		}
		for _, number := range []int64{n.line, n.importID, n.importAt, blank} {
			named.number(number)
		}
		if err := named.endRow(); err != nil {
			return err
		}
	}
	err = named.load(l.ctx, l.tx, "landing_named", []bulkColumn{{"landing_line", "BIGINT"}, {"import_id", "BIGINT"}, {"line", "BIGINT"}, {"blank", "BIGINT"}})
	if err != nil {
		return err
	}
	return l.execute("settle the rows that the file names", fmt.Sprintf(`
UPDATE refused_rows AS r
SET state = n.state, settled_by = %[4]d, again_line = n.again_line
FROM (
    SELECT
        import_id, line,
        CASE WHEN bool_or(refused) THEN '%[1]s' WHEN bool_or(blank = 0) THEN '%[2]s' ELSE '%[3]s' END AS state,
        min(landing_line) FILTER (refused) AS again_line
    FROM (SELECT *, landing_line IN (SELECT landing_line FROM landing_faults) AS refused FROM landing_named)
    GROUP BY import_id, line
) AS n
WHERE r.import_id = n.import_id AND r.line = n.line AND r.feed = ? AND r.state = ? AND r.import_id < ?`,
		stateAgain, stateMended, stateDropped, l.receipt.ImportID), l.receipt.Feed, stateOpen, l.receipt.ImportID)
}
