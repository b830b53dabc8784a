package ingest

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	_ "github.com/duckdb/duckdb-go/v2"

	"trusstally/ingest/plant"
)

// testWarehouse is an empty warehouse in memory, with one transaction open.
type testWarehouse struct {
	t    testing.TB
	db   *sql.DB
	tx   *sql.Tx
	opts Options
	dir  string

	settings *plant.Settings // with reading rules, or nil
}

// settingsWith returns the settings of a plant with these sections beside the necessary ones.
func settingsWith(t testing.TB, sections string) *plant.Settings {
	t.Helper()
	settings, err := plant.Parse([]byte("[plant]\nname = \"Mill\"\ntimezone = \"America/Chicago\"\n[[station]]\ncode = \"T1\"\nkind = \"table\"\n"+sections), feedNames(Feeds()))
	if err == nil {
		err = CheckRules(settings)
	}
	if err != nil {
		t.Fatal(err)
	}
	return settings
}

func newTestWarehouse(t testing.TB) *testWarehouse {
	t.Helper()
	var schema []byte
	files, err := filepath.Glob(filepath.Join("..", "sql", "schema", "*.sql")) // in order of their names
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		schema = append(schema, text...)
	}
	db, err := sql.Open("duckdb", "?threads=1") // for files this small, a second thread only costs
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	if _, err := db.Exec(string(schema)); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	w := &testWarehouse{t: t, db: db, dir: dir, opts: Options{Zone: chicago(t), Stations: []string{"S1", "T1", "T2"}, TempDir: dir}}
	w.begin()
	t.Cleanup(func() { w.tx.Rollback() })
	return w
}

// begin empties the warehouse: it rolls back what there is and begins again.
func (w *testWarehouse) begin() {
	w.t.Helper()
	if w.tx != nil {
		if err := w.tx.Rollback(); err != nil {
			w.t.Fatal(err)
		}
	}
	tx, err := w.db.Begin()
	if err != nil {
		w.t.Fatal(err)
	}
	w.tx = tx
}

func chicago(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// land writes text to a file of that name and lands it in the feed that the name says.
func (w *testWarehouse) land(name, text string) (*Receipt, error) {
	w.t.Helper()
	path := filepath.Join(w.dir, name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		w.t.Fatal(err)
	}
	return w.landFile(path)
}

func (w *testWarehouse) landFile(path string) (*Receipt, error) {
	w.t.Helper()
	if w.settings == nil {
		w.settings = &plant.Settings{}
	}
	feed, err := FeedOfFile(path, w.settings.Feeds)
	if err != nil {
		w.t.Fatal(err)
	}
	opts := w.opts
	if rules, given := w.settings.Feeds[feed.Name]; given {
		opts.Columns, opts.Sheet = rules.Columns, rules.Sheet
		if opts.Reading, err = NewReading(feed, rules, w.settings.Lumber.Packs); err != nil {
			w.t.Fatal(err)
		}
	}
	return Land(context.Background(), w.tx, feed, path, opts)
}

// mustLand lands a file that is not refused as a whole.
func (w *testWarehouse) mustLand(name, text string) *Receipt {
	w.t.Helper()
	receipt, err := w.land(name, text)
	if err != nil {
		w.t.Fatal(err)
	}
	return receipt
}

// rows returns the rows of a query, each as its values joined by bars, blanks as "".
func (w *testWarehouse) rows(query string) []string {
	w.t.Helper()
	rows, err := w.tx.Query(query)
	if err != nil {
		w.t.Fatal(err)
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		w.t.Fatal(err)
	}
	list := []string{}
	for rows.Next() {
		values, targets := make([]any, len(names)), make([]any, len(names))
		for i := range values {
			targets[i] = &values[i]
		}
		if err := rows.Scan(targets...); err != nil {
			w.t.Fatal(err)
		}
		texts := make([]string, len(values))
		for i, value := range values {
			switch value := value.(type) {
			case nil:
			case time.Time:
				texts[i] = strings.TrimSuffix(value.Format(time.DateTime), " 00:00:00")
			default:
				texts[i] = fmt.Sprint(value)
			}
		}
		list = append(list, strings.Join(texts, "|"))
	}
	if err := rows.Err(); err != nil {
		w.t.Fatal(err)
	}
	return list
}
