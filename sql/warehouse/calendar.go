package warehouse

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"time"

	"trusstally/ingest/plant"
)

// calendarRange finds the first and last day that punches, runs, boards or money touch.
const calendarRange = `
SELECT min(d), max(d) FROM (
	SELECT min(work_date) AS d FROM timecards UNION ALL SELECT max(work_date) FROM timecards
	UNION ALL SELECT min(started_at)::DATE FROM timecards UNION ALL SELECT max(greatest(started_at, ended_at))::DATE FROM timecards
	UNION ALL SELECT min(least(setup_started_at, build_started_at, finished_at))::DATE FROM completions UNION ALL SELECT max(finished_at)::DATE FROM completions
	UNION ALL SELECT min(shift_date) FROM completions UNION ALL SELECT max(shift_date) FROM completions
	UNION ALL SELECT min(used_at)::DATE FROM lumber_usage UNION ALL SELECT max(used_at)::DATE FROM lumber_usage
	UNION ALL SELECT min(received_on) FROM receipts UNION ALL SELECT max(received_on) FROM receipts
	UNION ALL SELECT min(invoiced_on) FROM invoices UNION ALL SELECT max(invoiced_on) FROM invoices
	UNION ALL SELECT min(incurred_on) FROM job_costs UNION ALL SELECT max(incurred_on) FROM job_costs
	UNION ALL SELECT min(started_at)::DATE FROM stoppages UNION ALL SELECT max(ended_at)::DATE FROM stoppages
	UNION ALL SELECT min(workweek_start) FROM other_pay UNION ALL SELECT max(workweek_start) FROM other_pay
	UNION ALL SELECT min("from") FROM payroll UNION ALL SELECT max("until") FROM payroll
	UNION ALL SELECT max(paid_from) FROM wages
	UNION ALL SELECT min(delivered_on) FROM deliveries UNION ALL SELECT max(delivered_on) FROM deliveries
	UNION ALL SELECT min(month) FROM overheads UNION ALL SELECT max(month) FROM overheads UNION ALL SELECT min("on") FROM opening_wip
	UNION ALL SELECT min(shift_date) FROM inspections UNION ALL SELECT max(shift_date) FROM inspections
	UNION ALL SELECT min(shift_date) FROM incidents UNION ALL SELECT max(shift_date) FROM incidents
)`

// fillCalendar writes days, day_parts, workweeks and zone_offsets for the range of the
// data with a margin of eight days on either side. Local midnights and workweek starts are
// resolved here, in Go, once.
func fillCalendar(ctx context.Context, tx *sql.Tx, s *plant.Settings) error {
	var first, last sql.NullTime
	if err := tx.QueryRowContext(ctx, calendarRange).Scan(&first, &last); err != nil {
		return err
	}
	if !first.Valid {
		return nil
	}
	at := func(day time.Time, clock time.Duration) time.Time {
		return time.Date(day.Year(), day.Month(), day.Day(), 0, int(clock.Minutes()), 0, 0, s.Zone).UTC()
	}
	startOfWeek := func(day time.Time) time.Time {
		return day.AddDate(0, 0, -(int(day.Weekday())-int(s.WeekStartDay)+7)%7)
	}
	from, until := first.Time.AddDate(0, 0, -8), last.Time.AddDate(0, 0, 9)

	var days, parts, weeks, offsets []string
	instant := func(t time.Time) string { return "TIMESTAMP '" + t.Format("2006-01-02 15:04:05") + "'" }
	date := func(t time.Time) string { return "DATE '" + t.Format("2006-01-02") + "'" }
	addOffset := func(t time.Time) {
		_, offset := t.In(s.Zone).Zone()
		row := fmt.Sprintf(", %d)", offset)
		if len(offsets) == 0 || !strings.HasSuffix(offsets[len(offsets)-1], row) {
			offsets = append(offsets, "("+instant(t)+row)
		}
	}
	for day := from; day.Before(until); day = day.AddDate(0, 0, 1) {
		starts, ends := at(day, 0), at(day.AddDate(0, 0, 1), 0)
		days = append(days, "("+date(day)+", "+instant(starts)+", "+instant(ends)+")")
		part := func(workday, from, until time.Time) {
			parts = append(parts, fmt.Sprintf("(%s, %s, %s, %s, %s)", date(day), date(startOfWeek(workday)), date(workday), instant(from), instant(until)))
		}
		// A workday is the 24 hours from the clock time at which workweeks start.
		if s.WeekStartAt == 0 {
			part(day, starts, ends)
		} else {
			turn := at(day, s.WeekStartAt)
			part(day.AddDate(0, 0, -1), starts, turn)
			part(day, turn, ends)
		}
		for t := starts; t.Before(ends); t = t.Add(15 * time.Minute) {
			addOffset(t)
		}
	}
	for week := startOfWeek(from); week.Before(until); week = week.AddDate(0, 0, 7) {
		weeks = append(weeks, fmt.Sprintf("(%s, '%s', %s, %s)", date(week), WeekLabel(week), instant(at(week, s.WeekStartAt)), instant(at(week.AddDate(0, 0, 7), s.WeekStartAt))))
	}
	for _, fill := range []struct {
		table string
		rows  []string
	}{{"days", days}, {"day_parts", parts}, {"workweeks", weeks}, {"zone_offsets", offsets}} {
		if err := insertRows(ctx, tx, fill.table, fill.rows); err != nil {
			return err
		}
	}
	return nil
}

// WeekLabel names the workweek that starts on the day: the ISO week of its fourth day.
func WeekLabel(start time.Time) string {
	year, week := start.AddDate(0, 0, 3).ISOWeek()
	return fmt.Sprintf("%04d-W%02d", year, week)
}

// execer runs a statement: a transaction or a whole warehouse.
type execer interface {
	ExecContext(ctx context.Context, text string, arguments ...any) (sql.Result, error)
}

// FillTemporary inserts rows of SQL literals into a temporary table of this connection.
func (w *Warehouse) FillTemporary(ctx context.Context, table string, rows []string) error {
	return insertRows(ctx, w.DB, "temp."+table, rows)
}

// insertRows inserts rows of SQL literals, a thousand a statement.
func insertRows(ctx context.Context, tx execer, table string, rows []string) error {
	for len(rows) > 0 {
		n := min(1000, len(rows))
		if _, err := tx.ExecContext(ctx, "INSERT INTO "+table+" VALUES "+strings.Join(rows[:n], ", ")); err != nil {
			return err
		}
		rows = rows[n:]
	}
	return nil
}
