package ingest

import (
	"fmt"
	"strings"
)

// isSound says whether no row of the file is refused and no two of them are of one key, or,
// where nothing keys them, equal. The steps that settle such rows have then nothing to do, and
// each row is the first of its key. It asks all of it in one look; a file of which it says no
// goes the long way, on which nothing is taken for granted.
//
// Keys are compared by their hashes: two keys of one hash only cost the long way.
func (l *landing) isSound() (bool, error) {
	faults, err := l.count("SELECT count(*) FROM landing_faults")
	if err != nil || faults > 0 {
		return false, err
	}
	key, keyed := keyColumns(l.feed)
	broken := "0"
	if len(l.feed.Rules) > 0 {
		rules := make([]string, len(l.feed.Rules))
		for i, rule := range l.feed.Rules {
			rules[i] = "(" + rule.Wrong + ")"
		}
		broken = fmt.Sprintf("count(*) FILTER (%s)", strings.Join(rules, " OR "))
	}
	var rows, wrong, different int64
	err = l.tx.QueryRowContext(l.ctx, fmt.Sprintf(`
SELECT count(*), %s, count(DISTINCT CASE WHEN %s THEN hash(%s) ELSE hash(%s) END)
FROM landing_rows`, broken, keyed, quoteNames(key), quoteNames(l.feed.Stored()))).Scan(&rows, &wrong, &different)
	if err != nil {
		return false, fmt.Errorf("look for broken rules and repeated keys in %s: %w", l.source.name, err)
	}
	return wrong == 0 && different == rows, nil
}

// meetsNothing says whether a sound file is all new: the warehouse has no row of its keys and
// of its groups, and had none that was superseded. It then makes landing_moves.
func (l *landing) meetsNothing() (bool, error) {
	if !l.sound {
		return false, nil
	}
	known, err := l.count(fmt.Sprintf("SELECT (SELECT count(*) FROM %[1]s) + (SELECT count(*) FROM history.%[1]s)", quoteName(l.feed.Name)))
	if err != nil {
		return false, err
	}
	for _, met := range []func() (int64, error){l.keysMet, l.groupsMet} {
		if known == 0 {
			break
		}
		if n, err := met(); err != nil || n > 0 {
			return false, err
		}
	}
	l.fresh = true
	return true, l.makeView("landing_moves", fmt.Sprintf(`
SELECT '%s' AS move, landing_line, 1::BIGINT AS occurrence, CAST(NULL AS BIGINT) AS import_id, CAST(NULL AS BIGINT) AS import_line
FROM landing_rows`, moveNew))
}

// keysMet counts the rows of the warehouse that have a key of the file's.
func (l *landing) keysMet() (int64, error) {
	key, keyed := keyColumns(l.feed)
	if keyed == "false" {
		return 0, nil
	}
	return l.count(fmt.Sprintf(`
SELECT count(*)
FROM (SELECT %[1]s FROM %[2]s WHERE %[3]s) AS o
SEMI JOIN (SELECT %[1]s FROM landing_rows WHERE %[3]s) AS n ON %[4]s`,
		quoteNames(key), quoteName(l.feed.Name), keyed, sameColumns("o", "n", key)))
}

// groupsMet counts the rows of the warehouse, and of its history, that are of a group of the
// file's. What was superseded counts: the import builds on what superseded it.
func (l *landing) groupsMet() (int64, error) {
	if len(l.feed.Group) == 0 {
		return 0, nil
	}
	loose, err := l.count("SELECT count(*) FROM landing_rows WHERE " + withoutRecord(l.feed))
	if err != nil || loose == 0 {
		return 0, err
	}
	if err := l.listGroups(); err != nil {
		return 0, err
	}
	parts := togetherParts(l.feed)
	return l.count(fmt.Sprintf(`
SELECT count(*)
FROM (
    SELECT %[1]s
    FROM %[2]s
    WHERE %[3]s
    UNION ALL
    SELECT %[1]s
    FROM history.%[2]s
    WHERE %[3]s
) AS o
SEMI JOIN landing_groups AS g ON %[4]s`, partValues(parts), quoteName(l.feed.Name), withoutRecord(l.feed), sameParts("o", "g", parts)))
}
