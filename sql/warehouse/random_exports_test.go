package warehouse_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

// TestRandomExports: exports of the same truth, cut into files that overlap, shuffled,
// repeated, wrong at first and corrected, undone and read again, end in the very ledgers and
// feeds that the truth makes when it is read once.
func TestRandomExports(t *testing.T) {
	settings, err := plant.Parse([]byte(randomSettings), nil)
	if err != nil {
		t.Fatal(err)
	}
	for seed := range plantsToTry(t, 2) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			truth := truthFeeds(seed)
			var files []feedFile
			for _, feed := range truth {
				files = append(files, feedFile{feed.declared.Name, feed.declared.Name + ".csv", feed.text(feed.rows)})
			}
			once := buildFiles(t, settings, files)
			defer once.Close()
			often := buildFiles(t, settings, nil)
			defer often.Close()
			e := &exporter{t: t, r: rand.New(rand.NewPCG(seed, 23)), w: often, settings: settings, dir: t.TempDir()}
			e.landAll(truth)
			change(t, often, func(ctx context.Context, tx *sql.Tx) error { return warehouse.BuildLedgers(ctx, tx, settings) })
			for _, table := range []string{"board_ledger", "minute_ledger", "dollar_ledger", "pay_weeks"} {
				if diff := cmp.Diff(contents(t, once, table), contents(t, often, table)); diff != "" {
					t.Errorf("%s (-read once +%s):\n%s", table, strings.Join(e.log, ", "), diff)
				}
			}
			for _, feed := range truth {
				if diff := cmp.Diff(contents(t, once, feed.declared.Name), contents(t, often, feed.declared.Name)); diff != "" {
					t.Errorf("%s (-read once +%s):\n%s", feed.declared.Name, strings.Join(e.log, ", "), diff)
				}
			}
			for name := range failing(t, often) {
				t.Errorf("%s fails", name)
			}
		})
	}
}

// truthFeed is what is true of one feed: its rows, each with the group that it belongs to.
type truthFeed struct {
	declared ingest.Feed
	header   []string
	rows     []truthRow
	wrong    string // a column in which a wrong export differs
	recorded bool   // rows have a record of their own
}

type truthRow struct {
	cells []string
	group string
}

// text is a file of some of the feed's rows.
func (f truthFeed) text(rows []truthRow) string {
	text := strings.Join(f.header, ",") + "\n"
	for _, row := range rows {
		text += strings.Join(row.cells, ",") + "\n"
	}
	return text
}

// truthFeeds is a random plant's truth: by seed with records or without, with dates alone in
// the saw's log, and with rows that are equal to others and genuine all the same.
func truthFeeds(seed uint64) []truthFeed {
	p, recorded := newRandomPlant(seed), false
	if seed%2 == 1 {
		p, recorded = newRandomYard(seed), true
	}
	r := rand.New(rand.NewPCG(seed, 29))
	wrong := map[string]string{
		"jobs": "price_usd", "trusses": "quantity", "cut_pieces": "pieces_per_ply", "wages": "rate_usd", "timecards": "unpaid_min", "completions": "quantity",
		"receipts": "boards", "lumber_usage": "boards", "counts": "boards", "lumber_prices": "usd_per_mbf",
	}
	var feeds []truthFeed
	for _, declared := range ingest.Feeds() {
		lines := strings.Split(strings.TrimSuffix(p.files[declared.Name], "\n"), "\n")
		if wrong[declared.Name] == "" || len(lines) < 2 {
			continue
		}
		f := truthFeed{declared: declared, header: strings.Split(lines[0], ","), wrong: wrong[declared.Name]}
		hasRecord := slices.Contains(f.header, "record")
		switch {
		case declared.Record && recorded && !hasRecord:
			f.header = append(f.header, "record")
		case declared.Name == "lumber_usage" && !recorded:
			f.header = append(f.header, "station")
		}
		f.recorded = declared.Record && recorded
		seen := map[string]int{}
		dateAlone := r.IntN(2) == 0
		for n, line := range lines[1:] {
			cells := strings.Split(line, ",")
			switch {
			case f.recorded && !hasRecord:
				cells = append(cells, strconv.Itoa(n+1))
			case declared.Name == "lumber_usage" && !recorded:
				cells = append(cells, []string{"", "S1", "T1"}[r.IntN(3)])
				if at := slices.Index(f.header, "used_at"); dateAlone {
					cells[at] = cells[at][:len("2026-10-29")]
				}
			}
			copies := 1
			if len(declared.Group) > 0 && !f.recorded && r.IntN(8) == 0 {
				copies = 2
			}
			group := f.groupOf(cells)
			if declared.Unique {
				if seen[group]++; seen[group] > 1 {
					continue
				}
			}
			for range copies {
				f.rows = append(f.rows, truthRow{cells, group})
			}
		}
		feeds = append(feeds, f)
	}
	return feeds
}

// groupOf names what holds a row together with others: its record, its group or its key.
func (f truthFeed) groupOf(cells []string) string {
	cell := func(column string) string {
		if at := slices.Index(f.header, column); at >= 0 {
			return cells[at]
		}
		return ""
	}
	var parts []string
	switch {
	case f.recorded:
		parts = []string{cell("record")}
	case len(f.declared.Group) > 0:
		for _, part := range f.declared.Group {
			value := cell(part.Column)
			if value == "" && part.ElseDateOf != "" {
				value, _, _ = strings.Cut(cell(part.ElseDateOf), " ")
			}
			parts = append(parts, value)
		}
	default:
		for _, column := range f.declared.Key {
			parts = append(parts, cell(column))
		}
	}
	return strings.Join(parts, "|")
}

// export is one file on its way in.
type export struct {
	feed    truthFeed
	name    string
	text    string
	mistake bool // not the truth: something that comes later must put it right
}

// exporter reads exports into a warehouse.
type exporter struct {
	t        *testing.T
	r        *rand.Rand
	w        *warehouse.Warehouse
	settings *plant.Settings
	dir      string
	files    int
	log      []string // what was done, in order
}

// name numbers the files, so that each is told apart in the log.
func (e *exporter) name(feed truthFeed) string {
	e.files++
	return fmt.Sprintf("%s-%d.csv", feed.declared.Name, e.files)
}

// cut makes the exports of a feed, in an order in which the last word on each group is true.
func (e *exporter) cut(feed truthFeed) []export {
	var groups []string
	for _, row := range feed.rows {
		if !slices.Contains(groups, row.group) {
			groups = append(groups, row.group)
		}
	}
	pick := func(share float64) map[string]bool {
		picked := map[string]bool{}
		for _, group := range groups {
			if e.r.Float64() < share {
				picked[group] = true
			}
		}
		return picked
	}
	rowsOf := func(picked map[string]bool) []truthRow {
		var rows []truthRow
		for _, row := range feed.rows {
			if picked[row.group] {
				rows = append(rows, row)
			}
		}
		return rows
	}
	// Every group is in one of the files, many in several.
	number := 1 + e.r.IntN(3)
	parts := make([]map[string]bool, number)
	for i := range parts {
		parts[i] = pick(0.4)
	}
	for _, group := range groups {
		parts[e.r.IntN(number)][group] = true
	}
	var exports []export
	for _, part := range parts {
		if rows := rowsOf(part); len(rows) > 0 {
			exports = append(exports, export{feed: feed, name: e.name(feed), text: feed.text(rows)})
		}
	}
	if e.r.IntN(2) == 0 {
		return exports
	}
	// A file that is wrong about some groups, and later one that is right about them.
	wrong := pick(0.5)
	if rows := e.spoil(feed, rowsOf(wrong)); len(rows) > 0 {
		mistake := export{feed: feed, name: e.name(feed), text: feed.text(rows), mistake: true}
		at := e.r.IntN(len(exports) + 1)
		exports = slices.Insert(exports, at, mistake)
		right := export{feed: feed, name: e.name(feed), text: feed.text(rowsOf(wrong)) + "\n"} // a blank line: never the bytes of another
		exports = slices.Insert(exports, at+1+e.r.IntN(len(exports)-at), right)
	}
	return exports
}

// spoil makes rows wrong: other values, rows that are missing, rows too many. What a key
// alone holds together can't be taken back by leaving it out, so it only gets other values.
func (e *exporter) spoil(feed truthFeed, rows []truthRow) []truthRow {
	at := slices.Index(feed.header, feed.wrong)
	grouped := len(feed.declared.Group) > 0 && !feed.recorded
	var spoiled []truthRow
	for _, row := range rows {
		cells := slices.Clone(row.cells)
		switch kind := e.r.IntN(4); {
		case kind == 0:
			number, _ := strconv.Atoi(strings.SplitN(cells[at], ".", 2)[0])
			if number < 0 {
				number -= 2 // a return stays one
			}
			cells[at] = strconv.Itoa(number + 1)
		case kind == 1 && (grouped || feed.declared.Unique || feed.recorded):
			continue
		case kind == 2 && grouped:
			spoiled = append(spoiled, truthRow{cells, row.group})
		}
		spoiled = append(spoiled, truthRow{cells, row.group})
	}
	return spoiled
}

// landed is an import that is in force.
type landed struct {
	export export
	id     int64
}

// landAll reads the exports of all feeds, mixed, and undoes imports on the way.
func (e *exporter) landAll(feeds []truthFeed) {
	var queues [][]export
	for _, feed := range feeds {
		queues = append(queues, e.cut(feed))
	}
	var inForce []landed
	var done []export // true ones, to be repeated
	for {
		queues = slices.DeleteFunc(queues, func(queue []export) bool { return len(queue) == 0 })
		if len(queues) == 0 {
			return
		}
		at := e.r.IntN(len(queues))
		next := queues[at][0]
		queues[at] = queues[at][1:]
		inForce = append(inForce, landed{next, e.land(next.name, next.text, next.feed)})
		if !next.mistake {
			done = append(done, next)
		}
		switch e.r.IntN(5) {
		case 0: // the same file once more: it is known
			if len(done) > 0 {
				again := done[e.r.IntN(len(done))]
				e.land(again.name, again.text, again.feed)
			}
		case 1: // an export like an earlier one, not the same bytes
			if len(done) > 0 {
				again := done[e.r.IntN(len(done))]
				again.name, again.text = e.name(again.feed), again.text+strings.Repeat("\n", 1+e.files)
				inForce = append(inForce, landed{again, e.land(again.name, again.text, again.feed)})
			}
		case 2: // an import is undone, and comes again unless it was wrong
			victim := e.r.IntN(len(inForce))
			if e.r.IntN(2) == 0 {
				victim = len(inForce) - 1
			}
			undone := inForce[victim]
			if !e.undo(undone) {
				continue
			}
			inForce = slices.Delete(inForce, victim, victim+1)
			if !undone.export.mistake {
				queues = append(queues, []export{undone.export})
			}
		}
	}
}

// land reads one file and returns the number of its import.
func (e *exporter) land(name, text string, feed truthFeed) int64 {
	e.t.Helper()
	path := filepath.Join(e.dir, name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		e.t.Fatal(err)
	}
	var id int64
	change(e.t, e.w, func(ctx context.Context, tx *sql.Tx) error {
		receipt, err := ingest.Land(ctx, tx, feed.declared, path, ingest.Options{Zone: e.settings.Zone, Stations: []string{"S1", "T1", "T2", "Y1"}, AcceptRemovals: true})
		if err == nil && receipt.Rejected > 0 {
			err = receipt.Problems
		}
		if err == nil {
			id = receipt.ImportID
			e.log = append(e.log, fmt.Sprintf("%s as %d", name, id))
		}
		return err
	})
	return id
}

// undo undoes an import; it says false when a later one builds on it.
func (e *exporter) undo(in landed) bool {
	e.t.Helper()
	builtOn := false
	change(e.t, e.w, func(ctx context.Context, tx *sql.Tx) error {
		_, err := ingest.Undo(ctx, tx, in.id, time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC))
		var refused problem.List
		if errors.As(err, &refused) && refused[0].Code == ingest.CodeBuiltOn {
			builtOn = true
			return nil
		}
		return err
	})
	if !builtOn {
		e.log = append(e.log, fmt.Sprintf("undo %d", in.id))
	}
	return !builtOn
}

// contents is a table's rows in order, without what says where a row came from.
func contents(t *testing.T, w *warehouse.Warehouse, table string) []string {
	t.Helper()
	rows, err := w.DB.QueryContext(context.Background(), fmt.Sprintf(
		"SELECT t::VARCHAR FROM (SELECT COLUMNS(c -> NOT regexp_matches(c, '^(layer_|import_|line$)|(_id$)')) FROM %s) AS t ORDER BY 1", table))
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	list := []string{}
	for rows.Next() {
		var row string
		if err := rows.Scan(&row); err != nil {
			t.Fatal(err)
		}
		list = append(list, row)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return list
}
