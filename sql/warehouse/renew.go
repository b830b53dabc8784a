package warehouse

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"strconv"
	"strings"
	"time"

	"trusstally/ingest/plant"
)

// RenewLedgers brings the ledgers that stand to what BuildLedgers would make of the feeds now,
// after newImports were read: from the first workweek that they may touch on, with what the
// weeks before hand on. What it can't renew it builds anew, and the tables hold the same either
// way. Ledgers must have been built, by this version and with these settings (LedgersStale).
//
// It returns the first renewed day, zero where everything was built anew.
func RenewLedgers(ctx context.Context, tx *sql.Tx, settings *plant.Settings, newImports []int64) (time.Time, error) {
	since, _, err := renewedSince(ctx, tx, settings, newImports)
	if err != nil {
		return time.Time{}, fmt.Errorf("find the first day to renew: %w", err)
	}
	if since.IsZero() {
		return since, BuildLedgers(ctx, tx, settings)
	}
	return since, renewLedgers(ctx, tx, settings, since, nil)
}

// mostReaches bounds how often the first renewed day is moved back; past it the ledgers are
// built anew.
const mostReaches = 30

// renewedSince is the first day of a workweek from which on the ledgers can be renewed, or
// zero, and what moved it back. Under a moving average and where boards are backflushed each
// day hands on to all later ones; where a workday does not begin at midnight a day belongs to
// two.
func renewedSince(ctx context.Context, tx *sql.Tx, settings *plant.Settings, newImports []int64) (since time.Time, movedBy []string, err error) {
	if settings.Lumber.Costing == "average" || settings.Lumber.Usage == "backflush" || settings.WeekStartAt != 0 {
		return since, nil, nil
	}
	ids := make([]string, len(newImports))
	for i, id := range newImports {
		ids[i] = strconv.FormatInt(id, 10)
	}
	_, err = tx.ExecContext(ctx, "CREATE OR REPLACE TEMP TABLE new_imports AS SELECT unnest(["+strings.Join(ids, ", ")+"]::BIGINT[]) AS import_id")
	if err != nil {
		return since, nil, err
	}
	if err := runFile(ctx, tx, "renewal/00_listed.sql"); err != nil {
		return since, nil, err
	}
	touched, err := sqlText("renewal/01_touched.sql")
	if err != nil {
		return since, nil, err
	}
	reaches, err := sqlText("renewal/05_reaches.sql")
	if err != nil {
		return since, nil, err
	}
	// Without a touched day the newest week is renewed, which is little.
	var week sql.NullTime
	err = tx.QueryRowContext(ctx, "SELECT max(workweek_start) FROM workweeks WHERE workweek_start <= coalesce(("+touched+"), DATE '9999-12-31')").Scan(&week)
	for n := 0; err == nil && week.Valid && n < mostReaches; n++ {
		since = week.Time
		var what sql.NullString
		err = tx.QueryRowContext(ctx, "SELECT r.what, (SELECT max(workweek_start) FROM workweeks WHERE workweek_start <= r.day) FROM ("+renewal{since: since}.put(reaches)+") AS r").Scan(&what, &week)
		if err == nil && !what.Valid {
			return since, movedBy, nil
		}
		movedBy = append(movedBy, what.String)
	}
	return time.Time{}, movedBy, err // nothing before the calendar begins can be kept
}

// renewal is the first renewed day and how many rows of each table are kept.
type renewal struct {
	since     time.Time
	openSince time.Time // the same, or the first day of all where a closed month is touched
	kept      map[string]int64
}

// tokens are the words of conditions that stand for what a renewal knows.
var tokens = regexp.MustCompile(`\b(since|open_since|kept_[a-z_]+)\b`)

// put writes SQL with the values of its words.
func (r renewal) put(text string) string {
	return tokens.ReplaceAllStringFunc(text, func(word string) string {
		switch word {
		case "since":
			return "DATE '" + r.since.Format("2006-01-02") + "'"
		case "open_since":
			return "DATE '" + r.openSince.Format("2006-01-02") + "'"
		default:
			return strconv.FormatInt(r.kept[strings.TrimPrefix(word, "kept_")], 10)
		}
	})
}

// renewLedgers renews the ledgers from a day on and tells how long each statement took.
func renewLedgers(ctx context.Context, tx *sql.Tx, settings *plant.Settings, since time.Time, told func(StatementTime)) error {
	r := renewal{since: since, openSince: since, kept: map[string]int64{}}
	closed, _, err := ClosedUntil(ctx, tx)
	if err != nil {
		return err
	}
	if closed.After(since) {
		r.openSince = time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	return buildLedgers(ctx, tx, settings, func(ctx context.Context, tx *sql.Tx, file string) error {
		if path.Base(file) == "00_clear.sql" {
			return nil
		}
		if err := r.run(ctx, tx, file, told); err != nil {
			return err
		}
		return r.prepare(ctx, tx, path.Base(file), told)
	})
}

// prepare runs the file of sql/renewal that is named as the one of sql/ledgers that was run
// before, where there is one: it finds what the files after it renew.
func (r renewal) prepare(ctx context.Context, tx *sql.Tx, name string, told func(StatementTime)) error {
	text, err := sqlText("renewal/" + name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, one := range statementsOf(text) {
		began := time.Now()
		if _, err := tx.ExecContext(ctx, r.put(one.text)); err != nil {
			return fmt.Errorf("sql/renewal/%s:%d: %w", name, one.line, err)
		}
		tellTime(told, "renewal/"+name, one, began)
	}
	return nil
}

// run renews what one file makes, statement by statement.
func (r renewal) run(ctx context.Context, tx *sql.Tx, file string, told func(StatementTime)) error {
	text, err := sqlText(file)
	if err != nil {
		return err
	}
	for _, one := range statementsOf(text) {
		began := time.Now()
		err := r.statement(ctx, tx, one, strings.HasSuffix(file, repeated))
		if err != nil {
			return fmt.Errorf("renew sql/%s:%d: %w", file, one.line, err)
		}
		tellTime(told, file, one, began)
	}
	return nil
}

// statement runs one statement on what it renews, or whole where it says nothing of that.
func (r renewal) statement(ctx context.Context, tx *sql.Tx, one statement, repeat bool) error {
	table, query := one.table()
	if one.renewed == "" || table == "" {
		text := one.text
		if table == "" {
			text = one.narrowed(text, r.put)
		}
		if repeat {
			return repeatText(ctx, tx, text)
		}
		_, err := tx.ExecContext(ctx, text)
		return err
	}
	name := table[strings.LastIndex(table, ".")+1:]
	renewed := r.put(one.renewed)
	if _, err := tx.ExecContext(ctx, "DELETE FROM "+table+" AS r WHERE "+renewed); err != nil {
		return err
	}
	var kept int64
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM "+table).Scan(&kept); err != nil {
		return err
	}
	r.kept[name] = kept
	if err := setKept(ctx, tx, name, kept); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, "INSERT INTO "+table+" SELECT * FROM ("+one.narrowed(query, r.put)+") AS r WHERE "+renewed)
	return err
}

// setKept tells the statements that number rows how many of a table are kept.
func setKept(ctx context.Context, tx *sql.Tx, table string, rows int64) error {
	_, err := tx.ExecContext(ctx, fmt.Sprintf("SET VARIABLE kept_%s = %d", table, rows))
	return err
}
