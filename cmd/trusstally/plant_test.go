package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// testSettings is a small plant in a zone with clock changes: a saw, two tables and a yard.
const testSettings = `[plant]
name = "Test plant"
timezone = "America/Chicago"
[pay]
burden_pct = 0.25
[overhead]
usd_per_labour_hour = 10
[[station]]
code = "S1"
kind = "saw"
[[station]]
code = "T1"
kind = "table"
jigging = "manual"
[[station]]
code = "T2"
kind = "table"
[[station]]
code = "Y1"
kind = "yard"
`

// testNow is after every date in the tests.
var testNow = func() time.Time { return time.Date(2027, 6, 1, 9, 0, 0, 0, time.UTC) }

// testPlant is a plant's folder that tests run commands on.
type testPlant struct {
	t      *testing.T
	dir    string
	reader *warehouse.Warehouse // open between two commands, for query
}

// newTestPlant makes a folder with plant.toml and imports the files: name without .csv =
// text. An import that refuses anything fails the test.
func newTestPlant(t *testing.T, settings string, files map[string]string) *testPlant {
	t.Helper()
	inParallel(t)
	p := &testPlant{t: t, dir: t.TempDir()}
	t.Cleanup(p.release)
	if err := os.WriteFile(filepath.Join(p.dir, "plant.toml"), []byte(settings), 0o644); err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		return p
	}
	// An import costs a second: a plant that another test has imported already is copied.
	file := filepath.Join(p.dir, warehouse.FileName)
	key := settings + fmt.Sprint(files)
	if known, ok := importedPlants.Load(key); ok {
		if err := os.WriteFile(file, known.([]byte), 0o600); err != nil {
			t.Fatal(err)
		}
		p.archive(files)
		return p
	}
	if err := os.WriteFile(file, emptyWarehouse(t), 0o600); err != nil {
		t.Fatal(err)
	}
	p.importFiles(files)
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	importedPlants.Store(key, data)
	return p
}

// inParallel lets a test run beside others, once; subtests keep to their test.
func inParallel(t *testing.T) {
	if strings.Contains(t.Name(), "/") {
		return
	}
	if _, again := parallelTests.LoadOrStore(t, true); !again {
		t.Parallel()
	}
}

var parallelTests sync.Map

// emptyWarehouse is a warehouse file with the schema and nothing in it: made once, copied for
// each plant.
func emptyWarehouse(t *testing.T) []byte {
	t.Helper()
	data, err := makeEmptyWarehouse()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

var makeEmptyWarehouse = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "trusstally-test-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, warehouse.FileName)
	w, err := warehouse.Open(context.Background(), file)
	if err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return os.ReadFile(file)
})

// importedPlants holds the warehouse of each plant that the tests have imported, by its
// settings and files.
var importedPlants sync.Map

// archive puts the files into archive/, as their import does.
func (p *testPlant) archive(files map[string]string) {
	p.t.Helper()
	if err := os.MkdirAll(filepath.Join(p.dir, "archive"), 0o700); err != nil {
		p.t.Fatal(err)
	}
	for _, text := range files {
		p.write(fmt.Sprintf("archive/%x.csv", sha256.Sum256([]byte(text))), text)
	}
}

func (p *testPlant) write(name, text string) string {
	p.t.Helper()
	path := filepath.Join(p.dir, name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		p.t.Fatal(err)
	}
	return path
}

func (p *testPlant) importFiles(files map[string]string) {
	p.t.Helper()
	arguments := []string{"import"}
	for _, feed := range feedNames() {
		for _, suffix := range []string{"", "-1", "-2", "-3"} {
			if text, ok := files[feed+suffix]; ok {
				arguments = append(arguments, p.write(feed+suffix+".csv", text))
			}
		}
	}
	if len(arguments) != len(files)+1 {
		p.t.Fatalf("a file of the test belongs to no feed: %d of %d", len(arguments)-1, len(files))
	}
	_, stderr, code := p.run(arguments...)
	if code != exitFine {
		p.t.Fatalf("import: exit %d\n%s", code, stderr)
	}
}

// run runs a command on the plant and returns its output and exit code.
func (p *testPlant) run(arguments ...string) (stdout, stderr string, code int) {
	p.t.Helper()
	p.release()
	var out, errs bytes.Buffer
	code = runAt(append(arguments, "--plant", p.dir), strings.NewReader(""), &out, &errs, testNow)
	return out.String(), errs.String(), code
}

// rows runs a command that prints a JSON array of objects.
func (p *testPlant) rows(arguments ...string) []map[string]any {
	p.t.Helper()
	stdout, stderr, code := p.run(arguments...)
	if code != exitFine {
		p.t.Fatalf("%v: exit %d\n%s", arguments, code, stderr)
	}
	return p.decode(stdout)
}

// open returns a reader of the warehouse that stays open until the next command.
func (p *testPlant) open() *warehouse.Warehouse {
	p.t.Helper()
	if p.reader == nil {
		reader, err := warehouse.OpenLocked(context.Background(), filepath.Join(p.dir, warehouse.FileName))
		if err != nil {
			p.t.Fatal(err)
		}
		p.reader = reader
	}
	return p.reader
}

func (p *testPlant) release() {
	if p.reader != nil {
		if err := p.reader.Close(); err != nil {
			p.t.Error(err)
		}
		p.reader = nil
	}
}

// query runs a SELECT that may see wages.
func (p *testPlant) query(text string) []map[string]any {
	p.t.Helper()
	var out bytes.Buffer
	if err := reports.QueryJSON(context.Background(), &out, p.open(), text); err != nil {
		p.t.Fatalf("%s: %v", text, err)
	}
	return p.decode(out.String())
}

// decode parses a JSON array of objects, keeping numbers as they are written.
func (p *testPlant) decode(text string) []map[string]any {
	p.t.Helper()
	decoder := json.NewDecoder(strings.NewReader(text))
	decoder.UseNumber()
	var rows []map[string]any
	if err := decoder.Decode(&rows); err != nil {
		p.t.Fatalf("%v\n%s", err, text)
	}
	return rows
}

// value is the only cell of a SELECT, as text; a blank is "".
func (p *testPlant) value(text string) string {
	p.t.Helper()
	rows := p.query(text)
	if len(rows) != 1 || len(rows[0]) != 1 {
		p.t.Fatalf("%s: %d rows instead of one cell", text, len(rows))
	}
	for _, cell := range rows[0] {
		return asText(cell)
	}
	return ""
}

func asText(cell any) string {
	switch v := cell.(type) {
	case nil:
		return ""
	case json.Number:
		return v.String()
	case string:
		return v
	default:
		return "?"
	}
}

// balanced fails the test when a check of severity error has rows.
func (p *testPlant) balanced() {
	p.t.Helper()
	findings, err := p.open().Check(context.Background())
	if err != nil {
		p.t.Fatal(err)
	}
	for _, finding := range findings {
		if finding.Severity == "error" {
			p.t.Errorf("%s: %s: %s", finding.Check, finding.Reason, finding.Keys)
		}
	}
}

// change spoils the warehouse with a statement that no command would run.
func (p *testPlant) change(statement string) {
	p.t.Helper()
	p.release()
	w, err := warehouse.Open(context.Background(), filepath.Join(p.dir, warehouse.FileName))
	if err != nil {
		p.t.Fatal(err)
	}
	if _, err := w.DB.Exec(statement); err != nil {
		p.t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		p.t.Fatal(err)
	}
}
