package main

import (
	"path/filepath"
	"strings"
	"testing"

	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// TestCheckOfNothing: of a plant of which nothing was read yet, with or without a warehouse,
// check says what each book needs; no command calls that a fault of its own.
func TestCheckOfNothing(t *testing.T) {
	plant := newTestPlant(t, testSettings, nil)
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		t.Fatal(err)
	}
	for _, state := range []string{"no warehouse", "an empty one"} {
		stdout, stderr, code := plant.run("check")
		if code != exitData || stderr != "" {
			t.Errorf("%s: exit %d\n%s%s", state, code, stdout, stderr)
		}
		for _, book := range books {
			if !strings.Contains(stdout, "\n"+book.Name+", for ") || len(book.Needs()) == 0 {
				t.Errorf("%s: %s is not there\n%s", state, book.Name, stdout)
			}
			for _, need := range book.Needs() {
				if !strings.Contains(stdout, "\n  "+need.Feed+" ") || !strings.Contains(stdout, need.Without+"\n") {
					t.Errorf("%s: %s of %s is not there", state, need.Feed, book.Name)
				}
			}
		}
		if asJSON, _, _ := plant.run("check", "--json"); len(plant.decode(asJSON)) < 20 {
			t.Errorf("%s: as JSON\n%s", state, asJSON)
		}
		if _, stderr, code := plant.run("report", "waste", "--week", "2026-W12"); code != exitUsage || !strings.Contains(stderr, "[no-warehouse]") {
			t.Errorf("%s: report exits %d\n%s", state, code, stderr)
		}
		plant.run("import", "--dry-run", plant.write("jobs-1.csv", "job,price_usd\nJ1,100\n"))
	}
}

// TestNeeds: a book without a feed that it is said to need is another book; three feeds stand
// for all, for each costs an import.
func TestNeeds(t *testing.T) {
	if testing.Short() {
		t.Skip("imports a plant for each feed")
	}
	week := filepath.Join(reportPlants, "week")
	feeds := feedTexts(t, week)
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		t.Fatal(err)
	}
	settings := readText(t, week, "plant.toml")
	whole := newTestPlant(t, settings, feeds)
	text := func(p *testPlant, book *reports.Book) string {
		period := []string{"--week", "2026-W12"}
		if book.Monthly {
			period = []string{"--month", "2026-03"}
		}
		stdout, stderr, code := p.run(append([]string{"report", book.Name, "--format", "json", "--wages"}, period...)...)
		if code != exitFine {
			t.Fatalf("exit %d\n%s", code, stderr)
		}
		return stdout
	}
	want := map[string]string{}
	for _, book := range books {
		want[book.Name] = text(whole, book)
	}
	for _, feed := range []string{"completions", "wages", "lumber_usage"} {
		fewer := map[string]string{}
		for name, text := range feeds {
			if name != feed {
				fewer[name] = text
			}
		}
		plant := newTestPlant(t, settings, fewer)
		for _, book := range books {
			for _, need := range book.Needs() {
				if need.Feed == feed && text(plant, book) == want[book.Name] {
					t.Errorf("%s is the same without %s", book.Name, feed)
				}
			}
		}
	}
}
