package ingest

import (
	"fmt"
	"regexp"
	"strings"
)

var sqlWord = regexp.MustCompile(`[A-Za-z_][A-Za-z_0-9]*`)

// applyRules adds the row rules that are broken to landing_faults. A rule is asked only of
// rows in which every cell that it speaks of could be read: a time that is no time is one
// fault, not also a missing one.
func (l *landing) applyRules() error {
	if l.sound {
		return nil
	}
	for n, rule := range l.feed.Rules {
		ordinal := -1
		conditions := []string{"landing_shape IS NULL", "(" + rule.Wrong + ")"}
		for i, c := range l.feed.Columns {
			if c.Name == rule.Column {
				ordinal = i
			}
			if mentions(rule.Wrong, c) {
				conditions = append(conditions, quoteName(faultName(c))+" IS NULL")
			}
		}
		insert := fmt.Sprintf(`
INSERT INTO landing_faults
SELECT landing_line, %d, %s, %d, NULL
FROM landing_rows
WHERE %s`, ordinal, quoteText(rule.Code), n, strings.Join(conditions, " AND "))
		if err := l.execute("check the row rule "+rule.Code, insert); err != nil {
			return err
		}
	}
	return nil
}

// mentions says whether the SQL of a rule names a stored column of c.
func mentions(condition string, c Column) bool {
	for _, word := range sqlWord.FindAllString(condition, -1) {
		for _, stored := range c.Stored() {
			if word == stored {
				return true
			}
		}
	}
	return false
}
