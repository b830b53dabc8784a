package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// holes are ways by which a SELECT could get at pay, at files, at the engine's own state, or
// never end. Each is a name and the SQL; testdata/lockdown.txt has what each is answered.
func holes(t *testing.T) [][2]string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "holes.sql"))
	if err != nil {
		t.Fatal(err)
	}
	var list [][2]string
	for _, part := range strings.Split("\n"+string(text), "\n-- ")[1:] {
		name, sql, _ := strings.Cut(part, "\n")
		list = append(list, [2]string{name, strings.TrimSpace(sql)})
	}
	if len(list) < 100 {
		t.Fatalf("%d holes were read", len(list))
	}
	return list
}

// refusals are the code words that close a hole; any other answer leaves it open.
var refusals = regexp.MustCompile(`\[(not-a-select|not-allowed|wages-hidden|bad-sql|unknown-param|runs-too-long|too-much-memory)\]`)

// atLimit is a SELECT that was stopped: at which of its two limits, the machine decides.
var atLimit = regexp.MustCompile(`stopped: it ran longer than 1 second \[runs-too-long\]|stopped: it needs more than 64 MiB of memory \[too-much-memory\]`)

// lockedPlant has a limit of a second and of 64 MiB.
func lockedPlant(t *testing.T) *testPlant {
	p := handPlant(t, testSettings+"[reports]\nlongest_seconds = 1\nmemory_mib = 64\n")
	p.write("a.csv", "x\n1\n")
	return p
}

// TestHolesOfQuery: each hole is refused by query, in words, with exit code 2 and nothing on
// stdout but the heading of a result that was stopped.
func TestHolesOfQuery(t *testing.T) {
	p := lockedPlant(t)
	before := filesIn(t, p.dir, ".")
	var got strings.Builder
	for _, hole := range holes(t) {
		stdout, stderr, code := p.run("query", hole[1])
		if code != exitUsage || !refusals.MatchString(stderr) || strings.Count(stdout, "\n") > 1 {
			t.Errorf("%s: exit %d\n%s%s", hole[0], code, stdout, stderr)
		}
		first, _, _ := strings.Cut(stderr, "\nhint")
		fmt.Fprintf(&got, "%s\n    %s\n    %s\n", hole[0], strings.ReplaceAll(hole[1], "\n", " "), strings.TrimSpace(strings.ReplaceAll(first, "\n", "\n    ")))
	}
	compareText(t, filepath.Join("testdata", "lockdown.txt"), got.String())
	if diff := cmp.Diff(before, filesIn(t, p.dir, ".")); diff != "" {
		t.Errorf("a query left or changed a file (-before +after):\n%s", diff)
	}
}

// filesIn lists the files of folders with their sizes.
func filesIn(t *testing.T, folders ...string) []string {
	t.Helper()
	var list []string
	for _, folder := range folders {
		entries, err := os.ReadDir(folder)
		if err != nil {
			t.Fatal(err)
		}
		for _, entry := range entries {
			info, err := entry.Info()
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, fmt.Sprint(folder, "/", entry.Name(), " ", info.Size()))
		}
	}
	return list
}

// TestHolesOfOwnSheets: no sheet of a plant's own gets through by a hole either.
func TestHolesOfOwnSheets(t *testing.T) {
	p := lockedPlant(t)
	if err := os.Mkdir(filepath.Join(p.dir, "reports"), 0o755); err != nil {
		t.Fatal(err)
	}
	list := holes(t)
	for i, hole := range list {
		name := fmt.Sprintf("hole_%03d", i)
		p.write("reports/"+name+".sql", "-- sheet: "+name+"\n-- title: T\n-- reader: owner\n-- grain: one row\n-- column: x | X | count | - | x\n-- sort: x\n"+hole[1]+"\n")
	}
	own := p.runOwn()
	var got strings.Builder
	for i, hole := range list {
		var said bytes.Buffer
		own.ProblemsOf(fmt.Sprintf("hole_%03d", i)).Print(&said, false)
		if !refusals.MatchString(said.String()) {
			t.Errorf("%s: %q", hole[0], said.String())
		}
		fmt.Fprintf(&got, "%s\n", hole[0])
		for line := range strings.Lines(said.String()) {
			if !strings.HasPrefix(line, "hint: ") {
				fmt.Fprintf(&got, "    %s", line)
			}
		}
	}
	if len(own.Sheets) > 0 {
		t.Errorf("%d of them ran", len(own.Sheets))
	}
	compareText(t, filepath.Join("testdata", "lockdown_own.txt"), got.String())
}

// runOwn runs the plant's own sheets for one week.
func (p *testPlant) runOwn() *reports.Own {
	p.t.Helper()
	p.release()
	program := &program{plantFolder: p.dir, now: testNow}
	f, err := program.openFolder()
	if err != nil {
		p.t.Fatal(err)
	}
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		p.t.Fatal(err)
	}
	own, err := reports.ReadOwn(p.dir, books, f.settings.Reports.Wages)
	if err != nil {
		p.t.Fatal(err)
	}
	week, err := reports.Week("2026-W12", 1)
	if err != nil {
		p.t.Fatal(err)
	}
	if err := own.Run(context.Background(), books, program.openForReaders(context.Background(), f), func(book *reports.Book) (reports.Period, bool) { return book.PeriodOf(week), true }); err != nil {
		p.t.Fatal(err)
	}
	return own
}

// compareText holds a text against a golden file, whatever limit a SELECT was stopped at.
func compareText(t *testing.T, file, got string) {
	t.Helper()
	got = atLimit.ReplaceAllString(got, "stopped at a limit")
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", file, diff)
	}
}
