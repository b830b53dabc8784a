package main

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest"
)

// TestHostileNames runs a plant whose inbox holds files with names that are paths, commands,
// SQL or control characters. Whatever they are called, what is written stays in its folder
// of the plant under a plain name, and no message moves the terminal.
func TestHostileNames(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the system itself refuses these names")
	}
	plant := newTestPlant(t, testSettings, nil)
	names := []string{
		`jobs-..\..\..\etc\x.csv`, `jobs-C:\x.csv`, "jobs-\x1b[2J\x07.csv", "jobs-\nplant.toml:1:1: fine.csv", "jobs-\xff\xfe.csv", "jobs-\u202evsc.csv",
		"jobs-'; DROP TABLE jobs; --.csv", "jobs-$(id) `id` %s %d.csv", "jobs-CON.csv", "jobs-*.csv", "jobs-" + strings.Repeat("l", 246) + ".csv", "jobs-1." + strings.Repeat("l", 240), "-rf.csv", "jobs- .csv", "...csv",
	}
	if err := os.MkdirAll(filepath.Join(plant.dir, "inbox"), 0o755); err != nil {
		t.Fatal(err)
	}
	for i, name := range names {
		plant.write(filepath.Join("inbox", name), "job,price_usd\nJ"+string(rune('a'+i))+",100\nbad,x"+string(rune('a'+i))+"\n")
	}
	outside := filesBelow(t, filepath.Dir(plant.dir), plant.dir)
	stdout, stderr, code := plant.run("run")
	if code != exitFine {
		t.Errorf("exit %d", code)
	}
	if control := regexp.MustCompile(`[^\n[:print:]\x{80}-\x{10FFFF}]|\x{202e}`).FindString(stdout + stderr); control != "" {
		t.Errorf("%q is printed", control)
	}
	if strings.Contains("\n"+stderr, "\nplant.toml:1:1: fine") {
		t.Errorf("a name forges a message:\n%s", stderr)
	}
	if diff := cmp.Diff(outside, filesBelow(t, filepath.Dir(plant.dir), plant.dir)); diff != "" {
		t.Errorf("files beside the plant (-before +after):\n%s", diff)
	}
	plain := regexp.MustCompile(`^(archive/[0-9a-f]{64}(\.csv)?|rejects/jobs-[^/\\:*?"<>|[:cntrl:]]{0,120}-import[0-9]+\.csv|inbox/(-rf|\.\.)\.csv|books/logs/run-[0-9TZ]+\.log|plant\.(toml|duckdb|duckdb\.lock))$`)
	counts := map[string]int{}
	for _, file := range filesBelow(t, plant.dir, "") {
		if !plain.MatchString(file) {
			t.Errorf("%q was written", file)
		}
		counts[strings.SplitN(file, "/", 2)[0]]++
	}
	if diff := cmp.Diff(map[string]int{"archive": 13, "books": 1, "rejects": 13, "inbox": 2, "plant.toml": 1, "plant.duckdb": 1, "plant.duckdb.lock": 1}, counts); diff != "" {
		t.Errorf("files of the plant (-want +got):\n%s", diff)
	}
	if n := plant.value("SELECT count(*) FROM jobs"); n != "13" {
		t.Errorf("%s jobs, want 13", n)
	}
}

// filesBelow lists the files of a folder, by their paths within it, but for those of one folder.
func filesBelow(t *testing.T, folder, but string) []string {
	t.Helper()
	var files []string
	err := filepath.WalkDir(folder, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if path == but {
			return filepath.SkipDir
		}
		if !entry.IsDir() {
			name, err := filepath.Rel(folder, path)
			files = append(files, filepath.ToSlash(name))
			return err
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(files)
	return files
}

// TestSettingsWithSQL: what plant.toml names is text wherever it goes: into the ledgers, the
// books and their sheets' titles.
func TestSettingsWithSQL(t *testing.T) {
	const evil = `'; DROP TABLE jobs; --`
	settings := strings.NewReplacer(`"Test plant"`, `"=1+1`+evil+`"`, `code = "T1"`, `code = "`+evil+`"`).Replace(testSettings) +
		"[[grades]]\nspecies = \"" + evil + "\"\norder = [\"" + evil + "\", \"$1\"]\n[accounts]\nrevenue = \"" + evil + "\"\n" +
		"[feed.jobs.columns]\njob = \"" + evil + "\"\n[feed.completions]\nsheet = \"" + evil + "\"\n"
	plant := newTestPlant(t, settings, map[string]string{
		"jobs":        evil + ",price_usd\n" + evil + ",100\n",
		"completions": "station,job,crew,shift,shift_date,quantity\n" + evil + "," + evil + "," + evil + "," + evil + ",2026-03-16,1\n",
		"timecards":   "employee,crew,station,work_date,started_at,ended_at\n" + evil + "," + evil + "," + evil + ",2026-03-16,2026-03-16 06:00,2026-03-16 14:00\n",
	})
	_, stderr, code := plant.run("run", "--week", "2026-W12")
	if code != exitFine || strings.Contains(stderr, "internal") {
		t.Fatalf("exit %d\n%s", code, stderr)
	}
	if got := plant.value("SELECT count(*) FROM jobs WHERE job = '" + strings.ReplaceAll(evil, "'", "''") + "'"); got != "1" {
		t.Errorf("%s jobs of that name, want 1", got)
	}
	stdout, stderr, code := plant.run("explain", evil, "margin_usd")
	if code == exitOurs || strings.Contains(stdout+stderr, "Error:") {
		t.Errorf("explain: exit %d\n%s%s", code, stdout, stderr)
	}
	_, stderr, code = plant.run("report", evil, "--week", "2026-W12")
	if code != exitUsage || !strings.Contains(stderr, "[unknown-report]") {
		t.Errorf("report: exit %d\n%s", code, stderr)
	}
}

// TestFileIsReplacedInInbox: a file that takes the place of one that was read, before that is
// taken out of inbox/, stays for the next run.
func TestFileIsReplacedInInbox(t *testing.T) {
	plant := newTestPlant(t, testSettings, nil)
	files := []incoming{{path: plant.write("jobs-1.csv", "job,price_usd\nJ1,100\n")}, {path: plant.write("jobs-2.csv", "job,price_usd\nJ2,100\n")}}
	result := &landed{read: files}
	for _, file := range files {
		sha, err := hashOf(file.path)
		if err != nil {
			t.Fatal(err)
		}
		result.receipts = append(result.receipts, &ingest.Receipt{SHA256: sha})
	}
	plant.write("jobs-2.csv", "job,price_usd\nJ2,100\nJ3,300\n")
	var got bytes.Buffer
	result.takeOut().Print(&got, false)
	const want = "jobs-2.csv: the file in inbox/ changed after it was read, and stays there [file-changed]\nhint: the next run reads it as it is now\n"
	if diff := cmp.Diff(want, got.String()); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	if diff := cmp.Diff([]string{"jobs-2.csv", "plant.toml"}, filesBelow(t, plant.dir, "")); diff != "" {
		t.Errorf("files (-want +got):\n%s", diff)
	}
}
