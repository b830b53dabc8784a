package main

import (
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trusstally/ingest"
	"trusstally/reports/workbook"
	"trusstally/sql/warehouse"
)

// cutShortPlant is a plant whose run has read a file with a refused row and one that was
// refused whole.
func cutShortPlant(t *testing.T) (p *testPlant, jobs, completions string) {
	t.Helper()
	p = newTestPlant(t, testSettings, nil)
	jobs = "job,price_usd,shipped_on\nJ1,900,2026-03-18\nJ2,x,\n"
	completions = "station,job,crew,shift,shift_date,quantity\nT9,J1,RED,day,2026-03-16,4\n"
	if err := os.MkdirAll(filepath.Join(p.dir, "inbox"), 0o755); err != nil {
		t.Fatal(err)
	}
	p.write("inbox/jobs-1.csv", jobs)
	p.write("inbox/completions-1.csv", completions)
	if _, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
		t.Fatalf("exit %d\n%s", code, stderr)
	}
	return p, jobs, completions
}

// names lists the files of a folder, hidden ones too.
func (p *testPlant) names(folder string) string {
	p.t.Helper()
	entries, err := os.ReadDir(filepath.Join(p.dir, folder))
	if err != nil {
		p.t.Fatal(err)
	}
	var names []string
	for _, entry := range entries {
		names = append(names, entry.Name())
	}
	return strings.Join(names, " ")
}

// unfinishedIn begins the names of the files that are being written in a folder of a plant.
func unfinishedIn(folder string) string {
	if strings.HasPrefix(folder, "books/") {
		return workbook.UnfinishedPrefix
	}
	return warehouse.UnfinishedPrefix
}

// TestCutShort brings a plant into the states between two steps of a run, and expects the
// next run to finish.
func TestCutShort(t *testing.T) {
	p, jobs, completions := cutShortPlant(t)
	read := p.value("SELECT concat(count(*), ' ', sum(rejected)) FROM imports")
	rejects := p.names("rejects")
	if rejects != "completions-1-import2.csv jobs-1-import1.csv" {
		t.Fatalf("rejects/ holds %s", rejects)
	}
	again := func(step string) {
		t.Helper()
		if _, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
			t.Errorf("%s: exit %d\n%s", step, code, stderr)
		}
		if got := p.value("SELECT concat(count(*), ' ', sum(rejected)) FROM imports"); got != read {
			t.Errorf("%s: %s imports and refused rows, want %s", step, got, read)
		}
		if got := p.names("rejects"); got != rejects {
			t.Errorf("%s: rejects/ holds %s", step, got)
		}
		for _, folder := range []string{".", "archive", "books/2026-W12"} {
			if names := p.names(folder); strings.Contains(names, unfinishedIn(folder)) {
				t.Errorf("%s: %s holds %s", step, folder, names)
			}
		}
		if got := p.names("inbox"); got != "" {
			t.Errorf("%s: inbox/ holds %s", step, got)
		}
	}

	p.release()
	if err := os.Rename(filepath.Join(p.dir, "rejects/jobs-1-import1.csv"),
		filepath.Join(p.dir, fmt.Sprintf("rejects/.staged-1-%x-jobs-1-import1.csv", sha256.Sum256([]byte(jobs))))); err != nil {
		t.Fatal(err)
	}
	again("committed, and what was refused has no name yet")

	p.write(fmt.Sprintf("rejects/.staged-3-%x-jobs-2-import3.csv", sha256.Sum256([]byte("another"))), "reject_reason\n")
	p.write(fmt.Sprintf("rejects/.staged-1-%x-jobs-1-import1.csv", sha256.Sum256([]byte("another"))), "reject_reason\n")
	again("what was refused by a run that was never committed")

	p.write("inbox/jobs-1.csv", jobs)
	p.write("inbox/completions-1.csv", completions)
	again("committed, and the files are still in inbox/")

	for _, folder := range []string{".", "archive", "rejects", "books/2026-W12"} {
		p.write(folder+"/"+unfinishedIn(folder)+"123", "half")
	}
	again("files that were being written")

	copied := fmt.Sprintf("archive/%x.csv", sha256.Sum256([]byte(jobs)))
	if err := os.Remove(filepath.Join(p.dir, copied)); err != nil {
		t.Fatal(err)
	}
	p.write("inbox/jobs-1.csv", jobs)
	again("the copy in archive/ is gone")
	if text, err := os.ReadFile(filepath.Join(p.dir, copied)); err != nil || string(text) != jobs {
		t.Errorf("the copy in archive/ is not back: %v", err)
	}
}

// TestMendedRejectsStay: what a person is mending in rejects/ is never written over.
func TestMendedRejectsStay(t *testing.T) {
	p, jobs, _ := cutShortPlant(t)
	whole, err := os.ReadFile(filepath.Join(p.dir, "rejects/jobs-1-import1.csv"))
	if err != nil {
		t.Fatal(err)
	}
	p.write("rejects/jobs-1-import1.csv", "half mended")
	staged := fmt.Sprintf("rejects/.staged-1-%x-jobs-1-import1.csv", sha256.Sum256([]byte(jobs)))
	for range 2 {
		p.write(staged, string(whole))
		if _, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
			t.Fatalf("exit %d\n%s", code, stderr)
		}
		if got := p.names("rejects"); got != "completions-1-import2.csv jobs-1-import1-2.csv jobs-1-import1.csv" {
			t.Errorf("rejects/ holds %s", got)
		}
	}
	if text, err := os.ReadFile(filepath.Join(p.dir, "rejects/jobs-1-import1.csv")); err != nil || string(text) != "half mended" {
		t.Errorf("%q, want what was mended (%v)", text, err)
	}
}

// TestReplacedInInbox: a file that was put into inbox/ over one that is being read stays.
func TestReplacedInInbox(t *testing.T) {
	p := newTestPlant(t, testSettings, nil)
	read, replaced := p.write("jobs-1.csv", "job,price_usd\nJ1,1\n"), p.write("jobs-2.csv", "job,price_usd\nJ2,2\n")
	result := &landed{}
	for _, path := range []string{read, replaced} {
		sum, err := hashOf(path)
		if err != nil {
			t.Fatal(err)
		}
		result.read = append(result.read, incoming{path: path})
		result.receipts = append(result.receipts, &ingest.Receipt{SHA256: sum})
	}
	p.write("jobs-2.csv", "job,price_usd\nJ2,3\n")
	if left := result.takeOut(); len(left) != 1 || left[0].Place != "jobs-2.csv" {
		t.Errorf("%v, want the replaced file told", left)
	}
	if got := p.names("."); got != "jobs-2.csv plant.toml" {
		t.Errorf("%s, want the replaced file and no other", got)
	}
}

// TestCloseCutShort: a closing that was killed before its book was written is finished by the
// next run, or by the same command again.
func TestCloseCutShort(t *testing.T) {
	p, _, _ := cutShortPlant(t)
	closed, stderr, code := p.run("close", "2026-03")
	if code != exitFine {
		t.Fatalf("exit %d\n%s", code, stderr)
	}
	path := filepath.Join(p.dir, "books/2026-03/month-end.xlsx")
	book, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, command := range [][]string{{"run", "--week", "2026-W12"}, {"close", "2026-03"}} {
		p.change("UPDATE closed_months SET book_written = false")
		if err := os.WriteFile(path, []byte("the book of before the closing"), 0o600); err != nil {
			t.Fatal(err)
		}
		stdout, stderr, code := p.run(command...)
		if code != exitFine {
			t.Errorf("%v: exit %d\n%s", command, code, stderr)
		}
		if command[0] == "close" && stdout != closed {
			t.Errorf("%q, want %q", stdout, closed)
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != string(book) {
			t.Errorf("%v does not write the book (%v)", command, err)
		}
		if got := p.value("SELECT count(*) FILTER (book_written) FROM closed_months"); got != "1" {
			t.Errorf("%v does not note that the book is written: %s", command, got)
		}
	}
	if _, _, code := p.run("close", "2026-03"); code != exitUsage {
		t.Errorf("closed once more: exit %d, want %d", code, exitUsage)
	}
}
