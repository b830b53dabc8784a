package ingest

import (
	"database/sql"
	"fmt"
	"strings"

	"trusstally/ingest/problem"
)

// A file that removes more than a fifth of the rows of its groups, and ten at least, is
// more likely a broken export than a correction.
const (
	removedShare = 5
	removedLeast = 10
)

// RemovedRow is a row of the warehouse that the file's groups no longer have.
type RemovedRow struct {
	FileName string // the file that had brought it
	Line     int64  // its line in that file
	Row      string // its values with their columns' names; pay is •••
}

// listRemoved puts the rows that the merge will remove into the receipt.
func (l *landing) listRemoved() error {
	if l.receipt.Removed == 0 {
		return nil
	}
	stored := l.feed.Stored()
	shown := make([]string, len(stored))
	for i, name := range stored {
		shown[i] = fmt.Sprintf("CAST(o.%s AS VARCHAR)", quoteName(name))
	}
	rows, err := l.tx.QueryContext(l.ctx, fmt.Sprintf(`
SELECT coalesce(i.file_name, ''), o.import_line, %s
FROM landing_moves AS m
JOIN %s AS o ON o.import_id = m.import_id AND o.import_line = m.import_line
LEFT JOIN imports AS i ON i.import_id = m.import_id
WHERE m.move = ?
ORDER BY o.import_id, o.import_line`, strings.Join(shown, ", "), quoteName(l.feed.Name)), moveRemoved)
	if err != nil {
		return fmt.Errorf("list the removed rows: %w", err)
	}
	defer rows.Close()
	values := make([]sql.NullString, len(stored))
	for rows.Next() {
		var removed RemovedRow
		targets := []any{&removed.FileName, &removed.Line}
		for i := range values {
			targets = append(targets, &values[i])
		}
		if err := rows.Scan(targets...); err != nil {
			return fmt.Errorf("list the removed rows: %w", err)
		}
		removed.Row = l.describe(values)
		l.receipt.RemovedRows = append(l.receipt.RemovedRows, removed)
	}
	return rows.Err()
}

// describe writes the stored values of a row with their names, blanks and instants left
// out.
func (l *landing) describe(values []sql.NullString) string {
	var shown []string
	at := 0
	for _, c := range l.feed.Columns {
		value := values[at]
		at += len(c.Stored())
		switch {
		case !value.Valid:
			continue
		case c.Wage:
			value.String = hidden
		case c.Kind == Length:
			value.String = FormatLength(number(value.String))
		}
		shown = append(shown, c.Name+" "+value.String)
	}
	return strings.Join(shown, ", ")
}

// checkRemovals refuses the file when it would remove more than is likely meant.
func (l *landing) checkRemovals() error {
	removed := l.receipt.Removed
	if removed < removedLeast || l.opts.AcceptRemovals {
		return nil
	}
	known, err := l.count("SELECT count(*) FROM (" + l.oldOfGroups() + ")")
	if err != nil || removed*removedShare <= known {
		return err
	}
	var first []string
	for _, row := range l.receipt.RemovedRows[:linesNamed] {
		first = append(first, fmt.Sprintf("%s:%d: %s", row.FileName, row.Line, row.Row))
	}
	refused := problem.List{{
		Place: l.source.name,
		What:  fmt.Sprintf("it would remove %d of the %d rows that are known of its groups (%s)", removed, known, groupWords(l.feed)),
		Code:  CodeTooManyRemoved,
		Row:   fmt.Sprintf("%s\n… and %d more", strings.Join(first, "\n"), removed-linesNamed),
		Hint:  "a file is the truth for each group of which it has any row: export whole groups, or if those rows are to go, import it with --accept-removals",
	}}
	return append(refused, l.receipt.Problems...)
}
