package main

import (
	"archive/zip"
	"context"
	"errors"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"trusstally/sql/warehouse"
)

// killsVariable names the environment variable that says how many times TestKill kills; a few
// without it.
const killsVariable = "TRUSSTALLY_KILLS"

// killCase is a command on a plant, and how the plant came about.
type killCase struct {
	name    string
	isNew   bool              // the plant has nothing but its files; else killFiles were read by run
	inbox   map[string]string // files in inbox/ before the command
	before  []string          // a command that reads them, nil for none
	command []string
}

// killFiles is a tiny plant with everything that leaves a trace beside the warehouse: rows
// that are refused, a file that is refused whole, and one that stays in inbox/.
var killFiles = map[string]string{
	"jobs-1.csv":           "job,ordered_on,price_usd,shipped_on\nJ1,2026-03-02,900,2026-03-18\nJ2,2026-03-03,x,\n",
	"trusses-1.csv":        "job,truss,quantity,plate_usd\nJ1,A,4,2.5\n",
	"cut_pieces-1.csv":     "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,TC,2x4,SPF,No. 2,7-00-00,2\n",
	"wages-1.csv":          "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,21.50\n",
	"timecards-1.csv":      "employee,crew,shift,station,work_date,started_at,ended_at\nE1,RED,day,T1,2026-03-16,2026-03-16 06:00,2026-03-16 10:00\nE1,RED,day,T1,2026-03-16,2026-03-16 10:30,2026-03-16 14:30\n",
	"completions-1.csv":    "station,job,truss,crew,shift,shift_date,setup_started_at,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16,2026-03-16 06:00,2026-03-16 06:30,2026-03-16 09:00,4\n",
	"completions-9.csv":    "station,job,crew,shift,shift_date,quantity\nT9,J1,RED,day,2026-03-16,4\n",
	"receipts-1.csv":       "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,16,40,500\n",
	"lumber_usage-1.csv":   "used_at,station,job,size,species,grade,length,boards,reason\n2026-03-16 07:00,S1,J1,2x4,SPF,No. 2,16,6,cut\n",
	"belongs-nowhere.text": "a note\n",
}

// killCorrections come a week later: a corrected punch, a late receipt, a row that is refused.
var killCorrections = map[string]string{
	"timecards-2.csv": "employee,crew,shift,station,work_date,started_at,ended_at\nE1,RED,day,T1,2026-03-16,2026-03-16 06:00,2026-03-16 10:00\nE1,RED,day,T1,2026-03-16,2026-03-16 10:30,2026-03-16 15:00\nE2,RED,day,T1,2026-03-17,noon,\n",
	"receipts-2.csv":  "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,16,40,510\n2026-03-09,V1,P2,1,2x4,SPF,No. 2,16,40,520\n",
}

var killCases = []killCase{
	{name: "first run", isNew: true, inbox: killFiles, command: runWeek12},
	{name: "run", inbox: killCorrections, command: runWeek12},
	{name: "import", inbox: killCorrections, command: importCorrections},
	{name: "close", command: []string{"close", "2026-03"}},
	{name: "undo", inbox: killCorrections, before: importCorrections, command: []string{"undo", "11"}},
}

var (
	runWeek12         = []string{"run", "--week", "2026-W12"}
	importCorrections = []string{"import", "inbox/timecards-2.csv", "inbox/receipts-2.csv"}
)

// TestKill kills commands with signal 9 after a random time, again and again, lets the last
// one end, and expects the plant to be what it is when nothing is killed: nothing lost, doubled
// or half. After each kill it looks at what is there: all of the command's rows or none, no
// import without its file in archive/, no book that is not whole.
func TestKill(t *testing.T) {
	kills := 5
	if text := os.Getenv(killsVariable); text != "" {
		number, err := strconv.Atoi(text)
		if err != nil {
			t.Fatal(err)
		}
		kills = number
	}
	ran := ranPlant(t)
	for i, c := range killCases {
		share := kills/len(killCases) + min(1, max(0, kills%len(killCases)-i))
		if share == 0 {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			k := newKiller(t, c, ran)
			r := rand.New(rand.NewPCG(uint64(os.Getpid()), uint64(i)))
			rounds, met := 0, map[string]int{}
			for done := 0; done < share; rounds++ {
				// Some plants are killed several times before they may end.
				times := min(share-done, []int{1, 2, 3, 5}[r.IntN(4)])
				k.round(r, times, met)
				done += times
				if t.Failed() {
					t.FailNow()
				}
				t.Logf("%d of %d kills of %s; found after a kill: %v", done, share, c.name, met)
			}
			t.Logf("%s: %d kills in %d plants, and each plant ended as if nothing had been killed", c.name, share, rounds)
		})
	}
}

// killer knows a case's plant before the command, and after it when nothing was killed.
type killer struct {
	t             *testing.T
	killCase      killCase
	program       string
	template      string
	before, after map[string]string
	span          time.Duration // of the command, undisturbed
}

// ranPlant is a plant whose files the weekly run has read.
func ranPlant(t *testing.T) string {
	t.Helper()
	k := &killer{t: t, program: programPath(t), template: t.TempDir()}
	k.write(k.template, "plant.toml", testSettings)
	k.fill(k.template, killFiles)
	k.complete(k.template, runWeek12)
	return k.template
}

// programPath is where TestMain has put the program.
func programPath(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath(programName)
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func newKiller(t *testing.T, c killCase, ran string) *killer {
	t.Helper()
	k := &killer{t: t, killCase: c, program: programPath(t), template: ran}
	if c.isNew {
		k.template = t.TempDir()
		k.write(k.template, "plant.toml", testSettings)
	} else {
		k.template = k.copy()
	}
	k.fill(k.template, c.inbox)
	if c.before != nil {
		k.complete(k.template, c.before)
	}
	k.before = k.tables(k.template)
	whole := k.copy()
	began := time.Now()
	k.complete(whole, c.command)
	k.span = time.Since(began)
	k.after = k.state(whole)
	return k
}

// fill puts files into inbox/, all of one age, so that they are read in the order of names.
func (k *killer) fill(dir string, files map[string]string) {
	k.t.Helper()
	for name, text := range files {
		k.write(dir, filepath.Join("inbox", name), text)
	}
}

func (k *killer) write(dir, name, text string) {
	k.t.Helper()
	path := filepath.Join(dir, name)
	age := time.Date(2026, 3, 23, 8, 0, 0, 0, time.UTC)
	if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, []byte(text), 0o600), os.Chtimes(path, age, age)); err != nil {
		k.t.Fatal(err)
	}
}

// copy is a new plant like the template.
func (k *killer) copy() string {
	k.t.Helper()
	dir := k.t.TempDir()
	err := filepath.WalkDir(k.template, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(k.template, path)
		if err != nil {
			return err
		}
		if entry.IsDir() {
			return os.MkdirAll(filepath.Join(dir, name), 0o755)
		}
		text, err := os.ReadFile(path)
		if err == nil {
			k.write(dir, name, string(text))
		}
		return err
	})
	if err != nil {
		k.t.Fatal(err)
	}
	return dir
}

// start starts the program on the plant in dir.
func (k *killer) start(dir string, arguments []string, output *strings.Builder) *exec.Cmd {
	k.t.Helper()
	command := exec.Command(k.program, arguments...)
	command.Dir, command.Stdout, command.Stderr = dir, output, output
	if err := command.Start(); err != nil {
		k.t.Fatal(err)
	}
	return command
}

// complete lets the command end. It may find that there is nothing left to do, or refuse
// what the plant's files hold on purpose; it may not fail otherwise.
func (k *killer) complete(dir string, arguments []string) {
	k.t.Helper()
	var output strings.Builder
	command := k.start(dir, arguments, &output)
	if err := command.Wait(); err != nil {
		switch text := output.String(); {
		case arguments[0] == "import" && strings.Contains(text, "[bad-time]"):
		case arguments[0] == "undo" && strings.Contains(text, "[already-undone]"):
		case arguments[0] == "close" && strings.Contains(text, "[already-closed]"): // it had ended before the kill
		case arguments[0] == "import" && strings.Contains(text, "already read"):
		default:
			k.t.Fatalf("%v after a kill: %v\n%s", arguments, err, text)
		}
	}
}

// round kills the command in a new plant so many times, then lets it end, and compares.
func (k *killer) round(r *rand.Rand, times int, met map[string]int) {
	k.t.Helper()
	dir := k.copy()
	defer os.RemoveAll(dir)
	for range times {
		var output strings.Builder
		delay := time.Duration(r.Int64N(int64(k.span + k.span/20)))
		command := k.start(dir, k.killCase.command, &output)
		time.Sleep(delay)
		command.Process.Kill()
		command.Wait()
		met[k.inspect(dir, delay)]++
		if k.t.Failed() {
			return
		}
	}
	k.complete(dir, k.killCase.command)
	if diff := cmp.Diff(k.after, k.state(dir)); diff != "" {
		k.t.Errorf("killed %d times (-undisturbed +killed):\n%s", times, diff)
	}
}

// inspect looks at a plant after a kill and says how far the command had come.
func (k *killer) inspect(dir string, delay time.Duration) string {
	k.t.Helper()
	found := k.tables(dir)
	progress := "all rows"
	switch {
	case len(found) == 0:
		progress = "no warehouse"
	case maps.Equal(found, k.before):
		progress = "no rows"
	case len(k.before) == 0 && found["imports"] == emptyTable:
		progress = "no rows"
	default:
		for table, rows := range found {
			if want := k.after["table "+table]; rows != want && !settledLater[table] {
				k.t.Errorf("killed after %v, %s is neither what it was nor what it becomes", delay, table)
			}
		}
	}
	for _, path := range k.files(dir, "books") {
		if strings.HasPrefix(filepath.Base(path), warehouse.UnfinishedPrefix) {
			continue
		}
		if filepath.Ext(path) == ".html" {
			text, err := os.ReadFile(filepath.Join(dir, path))
			if err != nil || !strings.HasSuffix(string(text), "</html>\n") {
				k.t.Errorf("killed after %v, %s is half a page (%v)", delay, path, err)
			}
			continue
		}
		book, err := zip.OpenReader(filepath.Join(dir, path))
		if err != nil {
			k.t.Errorf("killed after %v, %s is half a book: %v", delay, path, err)
			continue
		}
		book.Close()
	}
	// What nobody has committed has no visible name, and what is visible is whole.
	for _, path := range k.files(dir, "rejects") {
		if want, known := k.after[path]; !strings.HasPrefix(filepath.Base(path), ".") && (!known || want != k.hash(dir, path)) {
			k.t.Errorf("killed after %v, %s is not whole", delay, path)
		}
	}
	for name := range k.killCase.inbox {
		_, err := os.Stat(filepath.Join(dir, "inbox", name))
		if _, stays := k.after["inbox/"+name]; errors.Is(err, os.ErrNotExist) && (stays || progress != "all rows") {
			k.t.Errorf("killed after %v with %s, inbox/%s is lost", delay, progress, name)
		}
	}
	return progress
}

// settledLater are tables that a run or a closing writes in a transaction of their own.
var settledLater = map[string]bool{"closed_months": true, "cut_solutions": true}

// emptyTable is what tables says of a table without rows.
const emptyTable = "0 rows"

// tables returns the rows of all tables but those of the steps, without the times of the
// clock; nothing when there is no warehouse. It fails when archive/ lacks a file.
func (k *killer) tables(dir string) map[string]string {
	k.t.Helper()
	file := filepath.Join(dir, warehouse.FileName)
	if _, err := os.Stat(file); errors.Is(err, os.ErrNotExist) {
		return nil
	}
	ctx := context.Background()
	w, err := warehouse.OpenLocked(ctx, file)
	if err != nil {
		k.t.Fatalf("the warehouse can't be read after a kill: %v", err)
	}
	defer w.Close()
	column := func(query string) []string {
		rows, err := w.DB.QueryContext(ctx, query)
		if err != nil {
			k.t.Fatal(err)
		}
		defer rows.Close()
		var values []string
		for rows.Next() {
			var value string
			if err := rows.Scan(&value); err != nil {
				k.t.Fatal(err)
			}
			values = append(values, value)
		}
		if err := rows.Err(); err != nil {
			k.t.Fatal(err)
		}
		return values
	}
	found := map[string]string{}
	for _, table := range column("SELECT concat(schema_name, '.', table_name) FROM duckdb_tables() WHERE schema_name IN ('main', 'history') AND database_name <> 'temp'") {
		rows := "SELECT * FROM " + table
		if table == "main.imports" {
			rows = "SELECT * EXCLUDE (read_utc, undone_utc), undone_utc IS NULL AS in_force FROM imports"
		}
		found[strings.TrimPrefix(table, "main.")] = column("SELECT concat(count(*), ' rows', ' ' || md5(string_agg(t::VARCHAR, chr(10) ORDER BY t::VARCHAR))) FROM (" + rows + ") AS t")[0]
	}
	if found["imports"] != "" {
		for _, name := range column("SELECT archive_name FROM imports") {
			if sum, err := hashOf(filepath.Join(dir, "archive", name)); err != nil || !strings.HasPrefix(name, sum) {
				k.t.Errorf("archive/ lacks %s, whose rows are in force (%v)", name, err)
			}
		}
	}
	return found
}

// state is everything in a plant that a reader may see.
func (k *killer) state(dir string) map[string]string {
	k.t.Helper()
	state := map[string]string{}
	for table, rows := range k.tables(dir) {
		state["table "+table] = rows
	}
	for _, path := range k.files(dir, ".") {
		if name := filepath.Base(path); name != warehouse.FileName && name != warehouse.FileName+".lock" {
			state[path] = k.hash(dir, path)
		}
	}
	return state
}

func (k *killer) hash(dir, path string) string {
	k.t.Helper()
	sum, err := hashOf(filepath.Join(dir, path))
	if err != nil {
		k.t.Fatal(err)
	}
	return sum
}

// files lists the files below a folder of the plant, in order, as paths within the plant.
func (k *killer) files(dir, folder string) []string {
	k.t.Helper()
	var paths []string
	err := filepath.WalkDir(filepath.Join(dir, folder), func(path string, entry fs.DirEntry, err error) error {
		if err == nil && entry.IsDir() && entry.Name() == logsFolder {
			return fs.SkipDir // each run has a log of its own
		}
		if errors.Is(err, fs.ErrNotExist) || err == nil && entry.IsDir() {
			return nil
		}
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		paths = append(paths, filepath.ToSlash(name))
		return err
	})
	if err != nil {
		k.t.Fatal(err)
	}
	slices.Sort(paths)
	return paths
}
