package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"trusstally/sql/warehouse"
)

// noAnswer is a standard input that nobody types into: to read it is to wait for ever.
type noAnswer struct{ t *testing.T }

func (n noAnswer) Read([]byte) (int, error) {
	n.t.Error("the run reads standard input")
	return 0, errors.New("nobody is there")
}

// runUnattended runs the week at the time, with nobody at the keyboard.
func (p *testPlant) runUnattended(at time.Time, arguments ...string) (stdout, stderr string, code int) {
	p.t.Helper()
	p.release()
	var out, errs bytes.Buffer
	code = runAt(append([]string{"run", "--plant", p.dir}, arguments...), noAnswer{p.t}, &out, &errs, func() time.Time { return at })
	return out.String(), errs.String(), code
}

func (p *testPlant) logs() []string {
	p.t.Helper()
	logs, err := filepath.Glob(filepath.Join(p.dir, "books", logsFolder, "*"))
	if err != nil {
		p.t.Fatal(err)
	}
	return logs
}

// TestRunLog: each run leaves a log of what it printed, named by its start, readable by its
// owner alone; the newest thirty stay, and nothing else in the folder is touched.
func TestRunLog(t *testing.T) {
	plant := newTestPlant(t, testSettings, nil)
	if err := os.MkdirAll(filepath.Join(plant.dir, "inbox"), 0o755); err != nil {
		t.Fatal(err)
	}
	plant.write("inbox/wages-1.csv", "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,21.734x\nE2,2026-01-01,direct,22.815\n")
	at := testNow()
	stdout, stderr, code := plant.runUnattended(at)
	last := "no week that has ended holds a punch or a completion: no books written; 1 row refused in 1 file (see rejects/)\n"
	if code != exitFine || !strings.HasSuffix(stdout, "\n"+last) || !strings.Contains(stderr, "[bad-number]") {
		t.Errorf("exit %d\n%s%s", code, stdout, stderr)
	}
	logs := plant.logs()
	if len(logs) != 1 || filepath.Base(logs[0]) != "run-20270601T090000Z.log" {
		t.Fatalf("logs are %v", logs)
	}
	if info, err := os.Stat(logs[0]); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("%v (%v): a log is its owner's alone", info.Mode(), err)
	}
	log := readText(t, logs[0])
	if !strings.HasSuffix(log, last+"\nended 2027-06-01 09:00:00 UTC, exit code 0\n") || !strings.Contains(log, stderr) {
		t.Errorf("the log is\n%s", log)
	}
	if strings.Contains(log, "21.73") || strings.Contains(log, "22.81") || !strings.Contains(log, "•••") {
		t.Errorf("the log shows wages:\n%s", log)
	}

	for i := range keptLogs + 3 {
		plant.write("books/logs/run-20260101T0000"+[]string{"0", "1", "2", "3"}[i/10]+string(rune('0'+i%10))+"Z.log", "old\n")
	}
	plant.write("books/logs/notes.txt", "mine\n")
	plant.runUnattended(at) // in the same second
	logs = plant.logs()
	if len(logs) != keptLogs+1 {
		t.Errorf("%d files in logs/, want %d logs and a note", len(logs), keptLogs)
	}
	var newest []string
	for _, log := range logs[len(logs)-2:] {
		newest = append(newest, filepath.Base(log))
	}
	if diff := cmp.Diff([]string{"run-20270601T090000Z-2.log", "run-20270601T090000Z.log"}, newest); diff != "" {
		t.Errorf("the newest logs (-want +got):\n%s", diff)
	}
}

// TestRunFailure: a run that can't do its work says so in one last line, in the log and to
// the plant's own command; what goes wrong with that command changes no exit code.
func TestRunFailure(t *testing.T) {
	plant := newTestPlant(t, testSettings+"[run]\non_failure = [\"/bin/sh\", \"-c\", \"cat > told.txt; echo told\"]\n", nil)
	release := plant.hold()
	stdout, stderr, code := plant.runUnattended(testNow(), "--wait", "0")
	release()
	last := "run failed (exit code 1): plant.duckdb: the warehouse is in use by another run"
	if code != exitData || !strings.HasPrefix(stdout, last) || !strings.Contains(stderr, "[warehouse-locked]") || !strings.Contains(stderr, "\ntold\n") {
		t.Errorf("exit %d\n%s%s", code, stdout, stderr)
	}
	told := strings.Split(readText(t, plant.dir, "told.txt"), "\n")
	if told[0] != "The run of Test plant ended with exit code 1." || told[1]+"\n" != stdout || told[2] != "Log: "+plant.logs()[0] {
		t.Errorf("the command was told %q", told)
	}
	if log := readText(t, plant.logs()[0]); !strings.Contains(log, "\ntold\n") || !strings.HasSuffix(log, "exit code 1\n") {
		t.Errorf("the log is\n%s", log)
	}

	// Nothing is told of a run that ends well.
	if err := os.Remove(filepath.Join(plant.dir, "told.txt")); err != nil {
		t.Fatal(err)
	}
	if _, stderr, code := plant.runUnattended(testNow()); code != exitFine {
		t.Errorf("exit %d\n%s", code, stderr)
	}
	if _, err := os.Stat(filepath.Join(plant.dir, "told.txt")); err == nil {
		t.Error("a run that ended well was told as a failure")
	}

	plant.write("plant.toml", testSettings+"[run]\non_failure = [\"/bin/sh\", \"-c\", \"exit 3\"]\n")
	release = plant.hold()
	_, stderr, code = plant.runUnattended(testNow(), "--wait", "0")
	release()
	if code != exitData {
		t.Errorf("exit %d, want %d", code, exitData)
	}
	compareProblem(t, codeHookFailed, stderr[strings.Index(stderr, "plant.toml: "):])

	// A plant.toml that can't be read leaves a log all the same.
	plant.write("plant.toml", testSettings+"[run]\non_failure = \"mail\"\n")
	stdout, stderr, code = plant.runUnattended(testNow().Add(time.Hour))
	logs := plant.logs()
	if code != exitUsage || !strings.HasPrefix(stdout, "run failed (exit code 2): plant.toml:") || !strings.Contains(stderr, "not a list of a program and its arguments (mail) [bad-setting]") {
		t.Errorf("exit %d\n%s%s", code, stdout, stderr)
	}
	if log := readText(t, logs[len(logs)-1]); !strings.Contains(log, "[bad-setting]") {
		t.Errorf("the log is\n%s", log)
	}
}

// hold takes the plant's lock, as another run does, until the function returned is called.
func (p *testPlant) hold() func() {
	p.t.Helper()
	lock, err := warehouse.TakeLock(filepath.Join(p.dir, warehouse.FileName), testNow())
	if err != nil {
		p.t.Fatal(err)
	}
	return func() {
		if err := lock.Release(); err != nil {
			p.t.Error(err)
		}
	}
}
