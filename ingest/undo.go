package ingest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"trusstally/ingest/problem"
)

// Undone says what undoing an import put back.
type Undone struct {
	ImportID int64
	Feed     string
	FileName string
	TakenOut int64 // rows that the import had brought, and that are gone
	Restored int64 // rows that it had superseded or removed, and that are back from history
}

// importsNamed is how many imports a message names.
const importsNamed = 5

// Undo puts back inside tx exactly what an import changed in its feed: the rows that it
// brought are taken out, and those that it superseded or removed come back from history
// with their own import and line. Refused rows that it had settled are open again. The import
// stays in the log as undone, and its file may be read again. now is when, for the log. Ledgers are left to the caller.
//
// It is a problem.List when there is no such import, when it is undone already, when a later
// import that is in force builds on it, and when it was read before a month was closed and
// has rows of that month, or rows without a date: the closing stands on them.
func Undo(ctx context.Context, tx *sql.Tx, importID int64, now time.Time) (*Undone, error) {
	u := &undo{ctx: ctx, tx: tx, result: &Undone{ImportID: importID}}
	for _, step := range []func() error{u.find, u.refuseBuiltOn, u.refuseClosed, u.putBack, u.unsettle} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	_, err := tx.ExecContext(ctx, "UPDATE imports SET undone_utc = ? WHERE import_id = ?", now.UTC(), importID)
	if err != nil {
		return nil, fmt.Errorf("log the undoing of import %d: %w", importID, err)
	}
	return u.result, nil
}

// undo is one import on its way out.
type undo struct {
	ctx    context.Context
	tx     *sql.Tx
	feed   Feed
	result *Undone
}

// name is the import as messages have it.
func (u *undo) name() string {
	return fmt.Sprintf("import %d (%s)", u.result.ImportID, u.result.FileName)
}

// find looks the import up in the log.
func (u *undo) find() error {
	var undone sql.NullTime
	err := u.tx.QueryRowContext(u.ctx, "SELECT feed, file_name, undone_utc FROM imports WHERE import_id = ?", u.result.ImportID).Scan(&u.result.Feed, &u.result.FileName, &undone)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return problem.List{{What: fmt.Sprintf("there is no import of that number (%d)", u.result.ImportID), Code: CodeUnknownImport, Usage: true,
			Hint: "trusstally imports lists them"}}
	case err != nil:
		return fmt.Errorf("look the import up: %w", err)
	case undone.Valid:
		return problem.List{{What: u.name() + " is undone already", Code: CodeAlreadyUndone,
			Hint: "its file can be read again: trusstally import, or inbox/"}}
	}
	feed, known := FeedByName(u.result.Feed)
	if !known {
		return fmt.Errorf("undo import %d: there is no feed %s", u.result.ImportID, u.result.Feed)
	}
	u.feed = feed
	return nil
}

// refuseBuiltOn refuses when a later import in force builds on this one.
func (u *undo) refuseBuiltOn() error {
	rows, err := u.tx.QueryContext(u.ctx, `
SELECT i.import_id, i.file_name
FROM import_bases AS b
JOIN imports AS i ON i.import_id = b.import_id
WHERE b.earlier_id = ? AND i.undone_utc IS NULL
ORDER BY i.import_id DESC`, u.result.ImportID)
	if err != nil {
		return fmt.Errorf("find what builds on the import: %w", err)
	}
	defer rows.Close()
	var later []string
	var newest int64
	for rows.Next() {
		var id int64
		var file string
		if err := rows.Scan(&id, &file); err != nil {
			return fmt.Errorf("find what builds on the import: %w", err)
		}
		if later == nil {
			newest = id
		}
		later = append(later, fmt.Sprintf("%d (%s)", id, file))
	}
	if err := rows.Err(); err != nil || later == nil {
		return err
	}
	noun := "a later import builds"
	if len(later) > 1 {
		noun = "later imports build"
	}
	if more := len(later) - importsNamed; more > 0 {
		later = append(later[:importsNamed], fmt.Sprintf("%d more", more))
	}
	return problem.List{{What: fmt.Sprintf("%s can't be undone: %s on it, %s", u.name(), noun, strings.Join(later, ", ")), Code: CodeBuiltOn,
		Hint: fmt.Sprintf("undo the newest first (trusstally undo %d), or import a corrected file", newest)}}
}

// refuseClosed refuses when a closed month stands on the import: it was read before the
// closing, and a row that would go or come back is of a closed month or has no date.
func (u *undo) refuseClosed() error {
	date := MainDate(u.feed)
	if date == "" {
		date = "CAST(NULL AS DATE)"
	}
	table := quoteName(u.feed.Name)
	var month sql.NullString
	err := u.tx.QueryRowContext(u.ctx, fmt.Sprintf(`
WITH touched AS (
    SELECT %[1]s AS touched_on FROM %[2]s WHERE import_id = $1
    UNION ALL
    SELECT %[1]s FROM history.%[2]s WHERE superseded_by = $1
), span AS (
    SELECT count(*) AS touched_rows, CASE WHEN count(touched_on) = count(*) THEN min(touched_on) END AS first_on
    FROM touched
)
SELECT strftime(max(c.month), '%%Y-%%m')
FROM closed_months AS c
CROSS JOIN span AS s
WHERE s.touched_rows > 0 AND coalesce(c.last_import_id >= $1, true) AND coalesce(s.first_on < c.until_on, true)`, date, table), u.result.ImportID).Scan(&month)
	if err != nil {
		return fmt.Errorf("look for closed months: %w", err)
	}
	if !month.Valid {
		return nil
	}
	return problem.List{{What: fmt.Sprintf("%s can't be undone: %s was closed with it", u.name(), month.String), Code: CodeClosedWith,
		Hint: "import a corrected file, whose difference is posted in the open month; or open the month first: trusstally close --undo"}}
}

// putBack takes the import's rows out and brings back those that it had put into history.
func (u *undo) putBack() error {
	table, columns := quoteName(u.feed.Name), quoteNames(append(u.feed.Stored(), "occurrence", "import_id", "import_line"))
	for _, step := range []struct {
		statement string
		rows      *int64
	}{
		{"DELETE FROM " + table + " WHERE import_id = ?", &u.result.TakenOut},
		{fmt.Sprintf("INSERT INTO %[1]s (%[2]s) SELECT %[2]s FROM history.%[1]s WHERE superseded_by = ? ORDER BY import_id, import_line", table, columns), &u.result.Restored},
		{"DELETE FROM history." + table + " WHERE superseded_by = ?", nil},
		{"DELETE FROM row_places WHERE placed_by = ?", nil},
		{"DELETE FROM import_bases WHERE import_id = ?", nil},
		{"DELETE FROM rejects WHERE import_id = ?", nil},
	} {
		result, err := u.tx.ExecContext(u.ctx, step.statement, u.result.ImportID)
		if err != nil {
			return fmt.Errorf("undo import %d: %w", u.result.ImportID, err)
		}
		if step.rows == nil {
			continue
		}
		if *step.rows, err = result.RowsAffected(); err != nil {
			return fmt.Errorf("undo import %d: %w", u.result.ImportID, err)
		}
	}
	return nil
}
