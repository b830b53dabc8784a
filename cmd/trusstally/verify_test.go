package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"trusstally/ingest/problem"
	"trusstally/sql/warehouse"
)

// TestVerify: a plant that is as it was written verifies; each thing that is not is named,
// and the exit code says so.
func TestVerify(t *testing.T) {
	plant := newTestPlant(t, readText(t, reportPlants, "week", "plant.toml"), feedTexts(t, filepath.Join(reportPlants, "week")))
	verify := func(want int, texts ...string) string {
		t.Helper()
		stdout, stderr, code := plant.run("verify")
		if code != want || stderr != "" {
			t.Fatalf("exit %d, want %d\n%s%s", code, want, stdout, stderr)
		}
		for _, text := range texts {
			if !strings.Contains(stdout, text) {
				t.Errorf("%q is not in\n%s", text, stdout)
			}
		}
		return stdout
	}
	verify(exitFine, ": every checksum holds\n", "archive/: 10 files: each is what was read\n", ": all the same\n")
	if left, _ := filepath.Glob(filepath.Join(plant.dir, warehouse.UnfinishedPrefix+"*")); len(left) > 0 {
		t.Errorf("verify left %v", left)
	}

	archived, err := filepath.Glob(filepath.Join(plant.dir, "archive", "*.csv"))
	if err != nil || len(archived) != 10 {
		t.Fatalf("%d files in archive/ (%v)", len(archived), err)
	}
	first, second := readText(t, archived[0]), readText(t, archived[1])
	plant.write("archive/"+filepath.Base(archived[0]), first+" ")
	if err := os.Remove(archived[1]); err != nil {
		t.Fatal(err)
	}
	verify(exitData, "[archive-differs]", "[archive-missing]", "archive/: 10 files: NOT ALL ARE WHAT WAS READ\n", ": all the same\n")
	plant.write("archive/"+filepath.Base(archived[0]), first)
	plant.write("archive/"+filepath.Base(archived[1]), second)

	plant.change("UPDATE dollar_ledger SET usd = usd + 1 WHERE job = 'J2' AND class = 'lumber'")
	got := verify(exitData, ": NOT ALL ARE THE SAME\n")
	lines := strings.SplitAfter(got, "\n") // the last three say what was read
	compareProblem(t, codeLedgersDiffer, strings.Join(lines[:len(lines)-4], ""))

	// Other settings than those that the ledgers were built with are no fault.
	plant.write("plant.toml", readText(t, plant.dir, "plant.toml")+"\n[revenue]\nrecognise = \"over_time\"\n")
	verify(exitFine, "ledgers: not built anew: plant.toml or the program has changed")
}

// TestVerifyDamage: one bad byte in a block of the warehouse is found, whichever block it is
// in; archive/ is read even when the warehouse can't be opened.
func TestVerifyDamage(t *testing.T) {
	plant := newTestPlant(t, testSettings, map[string]string{"jobs": "job,price_usd\nJ1,100\n"})
	const headers, block = 3 * 4096, 262144 // of the file's format
	whole := readText(t, plant.dir, warehouse.FileName)
	tables, files := 0, 0
	for at := headers + block/2; at < len(whole); at += block {
		hurt := []byte(whole)
		hurt[at] ^= 1
		plant.write(warehouse.FileName, string(hurt))
		stdout, stderr, code := plant.run("verify")
		switch {
		case code == exitFine: // the block is free, or its checksum covers another size
		case code != exitData || stderr != "":
			t.Errorf("block at %d: exit %d\n%s%s", at, code, stdout, stderr)
		case strings.Contains(stdout, "["+warehouse.CodeDamagedTable+"]"):
			tables++
		case strings.Contains(stdout, "["+warehouse.CodeWarehouseUnreadable+"]"):
			files++
		}
		if code == exitData && !strings.Contains(stdout, "DAMAGED\narchive/: 1 file: each is what was read\nledgers: not built anew: the warehouse is damaged\n") {
			t.Errorf("block at %d:\n%s", at, stdout)
		}
		if tables == 1 && strings.Contains(stdout, "["+warehouse.CodeDamagedTable+"]") {
			compareProblem(t, warehouse.CodeDamagedTable, damageOfJobs(t, plant))
		}
	}
	if tables == 0 {
		t.Errorf("no damage was found in a table, %d times the file did not open", files)
	}
}

// damageOfJobs is what is printed of the first table that can't be read, as if it were jobs:
// which tables share a block is the engine's business.
func damageOfJobs(t *testing.T, plant *testPlant) string {
	t.Helper()
	w, err := warehouse.OpenLocked(context.Background(), filepath.Join(plant.dir, warehouse.FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	tables, err := w.ListTables(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	for _, table := range tables {
		_, err := w.ReadTable(context.Background(), table)
		var damage problem.List
		if errors.As(err, &damage) {
			var text strings.Builder
			damage.Print(&text, false)
			return strings.Replace(text.String(), "table "+strings.TrimPrefix(table, "main."), "table jobs", 1)
		}
	}
	t.Fatal("every table can be read")
	return ""
}

// TestNewerWarehouse: a version that doesn't know the schema writes nothing.
func TestNewerWarehouse(t *testing.T) {
	plant := newTestPlant(t, testSettings, map[string]string{"jobs": "job,price_usd\nJ1,100\n"})
	plant.change("INSERT INTO schema_versions VALUES (9999, '9999_later.sql')")
	before := readText(t, plant.dir, warehouse.FileName)
	_, stderr, code := plant.run("run")
	if code != exitData {
		t.Errorf("exit %d, want %d", code, exitData)
	}
	compareProblem(t, warehouse.CodeNewerWarehouse, stderr)
	if readText(t, plant.dir, warehouse.FileName) != before {
		t.Error("the warehouse was written")
	}
}
