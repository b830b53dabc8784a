package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/fixtures"
)

// TestRenewedBooks reads the demo's files in two runs, the newest week's last: its ledgers are
// those of a build from scratch, and so are its books.
func TestRenewedBooks(t *testing.T) {
	p := newTestPlant(t, testSettings, nil)
	demo := fixtures.DemoPlant(demoSeed)
	if err := demo.Write(p.dir); err != nil {
		t.Fatal(err)
	}
	toml := filepath.Join(p.dir, "plant.toml")
	if err := os.WriteFile(toml, demo.PlantTOML, 0o644); err != nil {
		t.Fatal(err)
	}
	inbox, later := filepath.Join(p.dir, "inbox"), t.TempDir()
	newest, err := filepath.Glob(filepath.Join(inbox, "*W46*"))
	if err != nil || len(newest) == 0 {
		t.Fatalf("no files of the newest week: %v", err)
	}
	move := func(from, to string) {
		for _, path := range newest {
			if err := os.Rename(filepath.Join(from, filepath.Base(path)), filepath.Join(to, filepath.Base(path))); err != nil {
				t.Fatal(err)
			}
		}
	}
	run := func() string {
		stdout, stderr, code := p.run("run", "--week", "2026-W46")
		if code != exitFine {
			t.Fatalf("run: exit %d\n%s", code, stderr)
		}
		return stdout
	}
	move(inbox, later)
	run()
	move(later, inbox)
	if stdout := run(); strings.HasPrefix(stdout, "0 files") {
		t.Fatalf("nothing was read:\n%s", stdout)
	}
	if stdout, stderr, code := p.run("verify"); code != exitFine || !strings.Contains(stdout, "all the same") {
		t.Errorf("verify: exit %d\n%s%s", code, stdout, stderr)
	}
	renewed := writtenSums(t, p.dir, "*")
	// Another plant.toml has the ledgers built from scratch.
	if err := os.WriteFile(toml, append(demo.PlantTOML, "# another\n"...), 0o644); err != nil {
		t.Fatal(err)
	}
	run()
	if diff := cmp.Diff(renewed, writtenSums(t, p.dir, "*")); diff != "" || len(renewed) != 4+2 {
		t.Errorf("%d books and pages; built from scratch they differ: %s", len(renewed), diff)
	}
}
