package ingest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"trusstally/ingest/problem"
)

// Options is what landing needs to know of a plant and of the command.
type Options struct {
	Zone           *time.Location    // the plant's, in which local times are read; must not be nil
	Stations       []string          // codes of plant.toml's stations
	Columns        map[string]string // canonical header = the plant's own header, for this feed
	Reading        *Reading          // the feed's reading rules, nil for canonical files
	Sheet          string            // the sheet of a workbook that holds this feed, "" for the one of its name or the only one
	AcceptRemovals bool              // take also a file that removes more than a fifth of the rows of its groups
	TempDir        string            // folder for temporary files, "" for the system's own
	Now            time.Time         // when the file is read, for the import log; zero for unknown
}

// Land reads the file at path into feed, inside tx, which it neither commits nor rolls
// back. Good rows are merged into the feed's table, what they supersede goes to history,
// and the import and what was refused are logged. The receipt says what became of each
// row; a file that was read before changes nothing, and its receipt says so.
//
// A file that is refused as a whole is a problem.List, and tx is left as it was. Any other
// error is a fault of ours or of the system; tx must then be rolled back.
//
// Temporary tables, views and a type named landing_… are made on tx's connection and dropped again.
func Land(ctx context.Context, tx *sql.Tx, feed Feed, path string, opts Options) (*Receipt, error) {
	began := time.Now()
	if opts.Zone == nil {
		return nil, errors.New("land a file: the plant's zone is not given")
	}
	from, err := openSource(path, opts.Reading.encoding())
	if err != nil {
		return nil, err
	}
	l := &landing{
		ctx: ctx, tx: tx, feed: feed, opts: opts, source: from,
		receipt: &Receipt{Feed: feed.Name, FileName: from.name, SHA256: from.sha256},
	}
	defer l.close()
	if err := l.identify(); err != nil {
		return nil, err
	}
	if !l.receipt.AlreadyRead {
		err := l.land()
		var refused problem.List
		if err != nil && !errors.As(err, &refused) {
			return nil, err
		}
		if err := l.dropTables(); err != nil {
			return nil, err
		}
		if err != nil {
			return nil, err
		}
	}
	l.receipt.Seconds = time.Since(began).Seconds()
	return l.receipt, nil
}

// landing is one file on its way into one feed.
type landing struct {
	ctx      context.Context
	tx       *sql.Tx
	feed     Feed
	opts     Options
	source   *source
	at       places // of the file's rows and cells; set by stage
	header   *header
	reader   *rowReader // nil where every cell is read as it stands
	holes    bool       // some cell holds no value, whatever its column
	named    []namedRow // rows of a rejects file that name a refused one
	again    int64      // the import that read this very file and refused every row; 0 for none
	plain    *plainFile // the copy that the engine reads by itself, nil where Go frames the rows
	eachTime bool       // the plant's clocks change so often that every time is read in Go
	lengths  bool       // lengthsType is made
	sound    bool       // nothing is wrong with any row, and no two are of one key; set by typeCells
	fresh    bool       // sound, and the warehouse has nothing of the file's keys and groups; set by compare
	grouped  bool       // landing_groups is made
	views    []string   // temporary views made
	receipt  *Receipt
}

// identify numbers the import, or finds that the feed has read the very file before. A
// file whose import was undone may be read again, and so may one of which every row was
// refused: what was wrong may have been in plant.toml, such as a station not yet entered.
func (l *landing) identify() error {
	r := l.receipt
	var known int64
	var refused bool
	err := l.tx.QueryRowContext(l.ctx, `
SELECT import_id, archive_name, accepted = 0 AND rejected > 0 AS refused
FROM imports
WHERE feed = ? AND sha256 = ? AND undone_utc IS NULL
ORDER BY refused, import_id
LIMIT 1`, r.Feed, r.SHA256).Scan(&known, &r.ArchiveName, &refused)
	switch {
	case err == nil && !refused:
		r.AlreadyRead, r.ImportID = true, known
		return nil
	case err == nil:
		l.again = known
	case !errors.Is(err, sql.ErrNoRows):
		return fmt.Errorf("look the file up in the import log: %w", err)
	}
	r.ArchiveName = ArchiveName(r.FileName, r.SHA256)
	r.ImportID, err = l.count("SELECT coalesce(max(import_id), 0) + 1 FROM imports")
	return err
}

// land takes the file through every step. Nothing of the warehouse is changed before the
// last check has passed.
func (l *landing) land() error {
	for _, step := range []func() error{l.stage, l.typeCells, l.applyRules, l.refuseRepeatedKeys, l.refuseWith, l.sameImport, l.report, l.noteTouched, l.noteRefused} {
		if err := step(); err != nil {
			return err
		}
	}
	r := l.receipt
	collapsed, err := l.keepGood()
	if err != nil {
		return err
	}
	if r.Lines != r.Accepted+r.Rejected+r.Blank+r.Aside() {
		return fmt.Errorf("land %s: of %d lines %d were accepted, %d rejected, %d blank and %d no rows", r.FileName, r.Lines, r.Accepted, r.Rejected, r.Blank, r.Aside())
	}
	if err := l.compare(); err != nil {
		return err
	}
	if err := l.countMoves(collapsed); err != nil {
		return err
	}
	if err := l.listRemoved(); err != nil {
		return err
	}
	if err := l.checkRemovals(); err != nil {
		return err
	}
	if err := l.spanDates(); err != nil {
		return err
	}
	return l.apply()
}

// sameImport gives a file of which every row is refused once more the number of the import
// that it was: no row of it came in. The rejects, which name that import, are written next.
func (l *landing) sameImport() error {
	if l.again == 0 {
		return nil
	}
	sound, err := l.count("SELECT count(*) FROM landing_rows WHERE landing_line NOT IN (SELECT landing_line FROM landing_faults)")
	if err == nil && sound == 0 {
		l.receipt.ImportID = l.again
	}
	return err
}

// execute runs one statement; step says what for, in the error.
func (l *landing) execute(step, statement string, args ...any) error {
	if _, err := l.tx.ExecContext(l.ctx, statement, args...); err != nil {
		return fmt.Errorf("%s of %s: %w", step, l.source.name, err)
	}
	return nil
}

// count runs a query for one whole number.
func (l *landing) count(query string, args ...any) (int64, error) {
	var n int64
	if err := l.tx.QueryRowContext(l.ctx, query, args...).Scan(&n); err != nil {
		return 0, fmt.Errorf("count the rows of %s: %w", l.source.name, err)
	}
	return n, nil
}

// makeView makes a temporary view.
func (l *landing) makeView(name, query string) error {
	l.views = append(l.views, name)
	return l.execute("see the rows as "+name, fmt.Sprintf("CREATE TEMP VIEW %s AS %s", name, query))
}

// dropView drops a temporary view before the end.
func (l *landing) dropView(name string) error {
	l.views = slices.DeleteFunc(l.views, func(made string) bool { return made == name })
	return l.execute("drop "+name, "DROP VIEW temp."+name)
}

// close closes the file and removes its copy.
func (l *landing) close() {
	l.source.file.Close()
	l.plain.remove()
}

// dropTables drops the temporary tables of the landing, its views and its type.
func (l *landing) dropTables() error {
	tables := []string{
		"landing_text", "landing_cells", "landing_typed", "landing_rows", "landing_faults", "landing_twins", "landing_repeats", "landing_bad",
		"landing_rejected", "landing_touched", "landing_refused", "landing_named", "landing_moves", "landing_groups",
	}
	for i, c := range l.feed.Columns {
		if l.header != nil && l.mapped(i, c) {
			tables = append(tables, mapName(i))
		}
	}
	var drops strings.Builder
	for i := len(l.views) - 1; i >= 0; i-- { // a later one may look at an earlier one
		fmt.Fprintf(&drops, "DROP VIEW temp.%s;\n", l.views[i])
	}
	for _, table := range tables {
		if !slices.Contains(l.views, table) {
			fmt.Fprintf(&drops, "DROP TABLE IF EXISTS temp.%s;\n", table)
		}
	}
	if l.lengths {
		fmt.Fprintf(&drops, "DROP TYPE temp.%s;\n", lengthsType)
	}
	return l.execute("drop the temporary tables", drops.String())
}
