package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"trusstally/sql/warehouse"
)

// openSheet is a sheet of a plant's own.
const openSheet = `-- sheet:  open_count
-- title:  Our jobs
-- reader: owner
-- grain:  one row
-- column: jobs | Jobs | count | - | how many
-- sort:   jobs
SELECT count(*)::BIGINT AS jobs FROM jobs ORDER BY jobs
`

// takenAt runs a command that calls before ahead of the opening of that number, counted from 1,
// and then finds the warehouse in another process's hands. It returns how often it opened.
func (p *testPlant) takenAt(number int, before func(), arguments ...string) (opened int, stderr string, code int) {
	p.t.Helper()
	var out, errs bytes.Buffer
	command := &program{stdin: strings.NewReader(""), stdout: &out, stderr: &errs, now: testNow}
	release := func() {}
	command.opening = func() {
		if opened++; opened == number {
			before()
			release = p.holdElsewhere()
		}
	}
	code = command.run(append(arguments, "--plant", p.dir))
	release()
	return opened, errs.String(), code
}

// holdElsewhere has another process hold the warehouse until the function returned is called.
func (p *testPlant) holdElsewhere() (release func()) {
	p.t.Helper()
	program, err := exec.LookPath("hold-warehouse")
	if err != nil {
		p.t.Fatal(err)
	}
	var errs bytes.Buffer
	holder := exec.Command(program, filepath.Join(p.dir, warehouse.FileName))
	holder.Dir, holder.Stderr = p.t.TempDir(), &errs
	if err := holder.Start(); err != nil {
		p.t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- holder.Wait() }()
	for {
		if _, err := os.Stat(filepath.Join(holder.Dir, "held")); err == nil {
			break
		}
		select {
		case err := <-ended:
			p.t.Fatalf("the warehouse can't be held: %v\n%s", err, errs.String())
		default:
			pause()
		}
	}
	return func() {
		if err := os.WriteFile(filepath.Join(holder.Dir, "release"), nil, 0o600); err != nil {
			p.t.Error(err)
		}
		if err := <-ended; err != nil {
			p.t.Errorf("%v\n%s", err, errs.String())
		}
	}
}

// TestReportTaken: report of a sheet of the plant's own opens the warehouse three times, and
// another process that takes it before any of them is named.
func TestReportTaken(t *testing.T) {
	plant := newTestPlant(t, testSettings, map[string]string{"jobs": "job,price_usd\nJ1,100\n"})
	if err := os.Mkdir(filepath.Join(plant.dir, "reports"), 0o700); err != nil {
		t.Fatal(err)
	}
	plant.write("reports/open_count.sql", openSheet)
	report := []string{"report", "open_count", "--week", "2026-W12", "--format", "csv", "--wait", "0"}
	if opened, stderr, code := plant.takenAt(0, nil, report...); code != exitFine || opened != 3 {
		t.Fatalf("opened %d times, exit %d\n%s", opened, code, stderr)
	}
	for number := 1; number <= 3; number++ {
		opened, stderr, code := plant.takenAt(number, func() {}, report...)
		if code != exitData || opened != number || !strings.Contains(stderr, "[warehouse-locked]\n") {
			t.Errorf("taken at %d: opened %d times, exit %d\n%s", number, opened, code, stderr)
		}
	}
}

// TestVerifyTaken: another process takes the warehouse when verify opens it anew after a
// damaged table. It is waited for, and named.
func TestVerifyTaken(t *testing.T) {
	plant := newTestPlant(t, testSettings, map[string]string{"jobs": "job,price_usd\nJ1,100\n"})
	whole := plant.damage()
	opened, stderr, code := plant.takenAt(3, func() { plant.write(warehouse.FileName, whole) }, "verify", "--wait", "1")
	if code != exitData || opened != 3 || !strings.Contains(stderr, "; waited 1 second for it [warehouse-locked]\n") {
		t.Errorf("opened %d times, exit %d\n%s", opened, code, stderr)
	}
}

// damage spoils a block of the warehouse so that it opens and a table can't be read. It
// returns what the warehouse was.
func (p *testPlant) damage() (whole string) {
	p.t.Helper()
	const headers, block = 3 * 4096, 262144 // of the file's format
	whole = readText(p.t, p.dir, warehouse.FileName)
	for at := headers + block/2; at < len(whole); at += block {
		hurt := []byte(whole)
		hurt[at] ^= 1
		p.write(warehouse.FileName, string(hurt))
		if stdout, _, _ := p.run("verify"); strings.Contains(stdout, "["+warehouse.CodeDamagedTable+"]") {
			return whole
		}
	}
	p.t.Fatal("no block holds a table")
	return ""
}
