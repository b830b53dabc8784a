package ingest

import "fmt"

// noteBases writes down what a later undo must know, before the moves are made: on which
// earlier imports this one builds, and in which order the rows of a group stand that it
// takes over in part.
//
// An import builds on those whose rows it found or took the place of, and, in the groups
// that it touches, on those that superseded or removed rows: without them its file would
// have met other rows.
func (l *landing) noteBases() error {
	bases := "SELECT import_id AS earlier_id FROM landing_moves WHERE import_id IS NOT NULL"
	if len(l.feed.Group) > 0 {
		parts := togetherParts(l.feed)
		bases += fmt.Sprintf(`
    UNION
    SELECT h.superseded_by
    FROM (SELECT superseded_by, %s FROM history.%s WHERE %s) AS h
    SEMI JOIN landing_groups AS g ON %s`, partValues(parts), quoteName(l.feed.Name), withoutRecord(l.feed), sameParts("h", "g", parts))
	}
	err := l.execute("note what the import builds on", fmt.Sprintf(`
INSERT INTO import_bases (import_id, earlier_id)
SELECT DISTINCT ?::BIGINT, earlier_id
FROM (
    %s
)
ORDER BY earlier_id`, bases), l.receipt.ImportID)
	if err != nil || len(l.feed.Group) == 0 {
		return err
	}
	return l.notePlaces()
}

// notePlaces keeps, for the rows that stay as they are in a group that changes, their line
// in this file: the order of a group is that of the newest file that changed it.
func (l *landing) notePlaces() error {
	parts := togetherParts(l.feed)
	return l.execute("note the order of the rows", fmt.Sprintf(`
INSERT INTO row_places (import_id, import_line, place, placed_by)
WITH grouped AS (
    SELECT landing_line, %[1]s
    FROM landing_rows
    WHERE %[2]s
), moved AS (
    SELECT m.move, m.import_id, m.import_line, g.*
    FROM landing_moves AS m
    JOIN grouped AS g ON g.landing_line = m.landing_line
)
SELECT m.import_id, m.import_line, m.landing_line, ?::BIGINT
FROM moved AS m
SEMI JOIN (SELECT * FROM moved WHERE move IN ('%[4]s', '%[5]s')) AS c ON %[3]s
WHERE m.move = '%[6]s'
ORDER BY m.import_id, m.import_line`, partValues(parts), withoutRecord(l.feed), sameParts("m", "c", parts), moveNew, moveChanged, moveUnchanged), l.receipt.ImportID)
}
