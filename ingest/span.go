package ingest

import (
	"database/sql"
	"fmt"
)

// MainDate is SQL over a feed's columns for the date by which a row is placed in time: its first
// required date or time, else its group's date, else its first date; "" when it has none.
func MainDate(feed Feed) string {
	for _, c := range feed.Columns {
		if c.Required && (c.Kind == Date || c.Kind == Time) {
			return fmt.Sprintf("CAST(%s AS DATE)", quoteName(c.Name))
		}
	}
	if len(feed.Group) > 0 {
		for _, p := range togetherParts(feed) {
			if p.orElse >= 0 || p.own >= 0 && feed.Columns[p.own].Kind == Date {
				return p.value
			}
		}
	}
	for _, c := range feed.Columns {
		if c.Kind == Date || c.Kind == Time {
			return fmt.Sprintf("CAST(%s AS DATE)", quoteName(c.Name))
		}
	}
	return ""
}

// spanDates puts the first and last main date of the accepted rows into the receipt.
func (l *landing) spanDates() error {
	date := MainDate(l.feed)
	if date == "" {
		return nil
	}
	var first, last sql.NullString
	query := fmt.Sprintf("SELECT CAST(min(%[1]s) AS VARCHAR), CAST(max(%[1]s) AS VARCHAR) FROM landing_rows", date)
	if err := l.tx.QueryRowContext(l.ctx, query).Scan(&first, &last); err != nil {
		return fmt.Errorf("find the first and last date of %s: %w", l.source.name, err)
	}
	l.receipt.FirstOn, l.receipt.LastOn = first.String, last.String
	return nil
}
