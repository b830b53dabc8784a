package ingest

import (
	"fmt"
	"strings"
)

// refuseRepeatedKeys settles keys that stand more than once in the file where a key means
// one row. Equal rows collapse into the first; different ones are all refused, for nobody
// but the plant can tell which of them is right.
//
// The temporary table landing_repeats then holds the rows that collapse.
func (l *landing) refuseRepeatedKeys() error {
	if l.sound || !l.feed.Unique && !l.feed.Record {
		return l.execute("list repeats", "CREATE TEMP TABLE landing_repeats AS SELECT landing_line FROM landing_rows WHERE false")
	}
	key, keyed := keyColumns(l.feed)
	marked := fmt.Sprintf(`
CREATE TEMP TABLE landing_twins AS
WITH good AS (
    SELECT *
    FROM landing_rows
    WHERE %[1]s AND landing_line NOT IN (SELECT landing_line FROM landing_faults)
), repeated AS (
    SELECT %[2]s
    FROM good
    GROUP BY ALL
    HAVING count(*) > 1
), twins AS (
    SELECT %[3]s, min(landing_line) AS twin, list(landing_line) AS lines
    FROM good AS r
    SEMI JOIN repeated AS k ON %[4]s
    GROUP BY ALL
)
SELECT twin, unnest(lines) AS landing_line,
    min(twin) OVER (PARTITION BY %[2]s) <> max(twin) OVER (PARTITION BY %[2]s) AS differs,
    %[2]s
FROM twins`, keyed, quoteNames(key), quoteNames(l.feed.Stored()), sameColumns("r", "k", key))
	if err := l.execute("find repeated keys", marked); err != nil {
		return err
	}
	refuse := fmt.Sprintf(`
INSERT INTO landing_faults
WITH lines AS (
    SELECT %[1]s, list(landing_line ORDER BY landing_line) AS all_lines
    FROM landing_twins
    WHERE differs
    GROUP BY ALL
)
SELECT t.landing_line, %[2]d, %[3]s, -1, array_to_string(list_filter(k.all_lines, lambda n: n <> t.landing_line)[:%[4]d], ', ')
FROM landing_twins AS t
JOIN lines AS k ON %[5]s
WHERE t.differs`, quoteNames(key), columnNumber(l.feed, keyOf(l.feed)[0]), quoteText(CodeRepeatedKey), linesNamed, sameColumns("t", "k", key))
	if err := l.execute("refuse repeated keys", refuse); err != nil {
		return err
	}
	return l.execute("list repeats", `
CREATE TEMP TABLE landing_repeats AS
SELECT landing_line
FROM landing_twins
WHERE NOT differs AND landing_line <> twin`)
}

// linesNamed is how many other lines a message names.
const linesNamed = 5

// sameColumns is SQL that is true when two rows agree in columns, blanks included.
func sameColumns(left, right string, columns []string) string {
	same := make([]string, len(columns))
	for i, name := range columns {
		same[i] = fmt.Sprintf("%s.%s IS NOT DISTINCT FROM %s.%s", left, quoteName(name), right, quoteName(name))
	}
	return strings.Join(same, " AND ")
}
