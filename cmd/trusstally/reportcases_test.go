package main

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// reportPlants is a folder of tiny plants, PLANT: plant.toml, one CSV file a feed, period
// (the flags of report) and why.txt, which says what the plant is about. Below it stands a
// folder SHEET for each sheet that is looked at: want.csv, the sheet; why.txt, its figures
// worked out by hand; and a period of its own where the plant's won't do.
const reportPlants = "testdata/reports"

// TestReportCases imports each plant and holds its sheets against their want.csv. With
// -update it writes them: work the figures out in why.txt before you keep them.
func TestReportCases(t *testing.T) {
	for _, folder := range foldersIn(t, reportPlants) {
		t.Run(filepath.Base(folder), func(t *testing.T) {
			plant := newTestPlant(t, readText(t, folder, "plant.toml"), feedTexts(t, folder))
			plant.balanced()
			readText(t, folder, "why.txt")
			for _, sheet := range foldersIn(t, folder) {
				t.Run(filepath.Base(sheet), func(t *testing.T) { reportCase(t, plant, sheet) })
			}
		})
	}
}

func reportCase(t *testing.T, plant *testPlant, folder string) {
	period := filepath.Join(folder, "period")
	if _, err := os.Stat(period); errors.Is(err, fs.ErrNotExist) {
		period = filepath.Join(folder, "..", "period")
	}
	arguments := []string{"report", filepath.Base(folder), "--format", "csv", "--wages"}
	arguments = append(arguments, strings.Fields(readText(t, period))...)
	stdout, stderr, code := plant.run(arguments...)
	if code != exitFine || stderr != "" {
		t.Fatalf("%v: exit %d\n%s", arguments, code, stderr)
	}
	if *update {
		if err := os.WriteFile(filepath.Join(folder, "want.csv"), []byte(stdout), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff(readText(t, folder, "want.csv"), stdout); diff != "" {
		t.Errorf("want.csv differs (-want +got):\n%s", diff)
	}
	readText(t, folder, "why.txt")
}

// TestEverySheetHasACase holds the case folders against the books.
func TestEverySheetHasACase(t *testing.T) {
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		t.Fatal(err)
	}
	for _, book := range books {
		for _, sheet := range slices.Concat(book.Sheets, book.Asked) {
			wants, err := filepath.Glob(filepath.Join(reportPlants, "*", sheet.Sheet, "want.csv"))
			if err != nil || len(wants) == 0 {
				t.Errorf("%s has no case in %s (%v)", sheet.Sheet, reportPlants, err)
			}
		}
	}
}

// feedTexts reads the CSV files of a plant: name without .csv = text.
func feedTexts(t *testing.T, folder string) map[string]string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*.csv"))
	if err != nil {
		t.Fatal(err)
	}
	texts := map[string]string{}
	for _, file := range files {
		texts[strings.TrimSuffix(filepath.Base(file), ".csv")] = readText(t, file)
	}
	return texts
}

// foldersIn returns the folders of a folder, in the order of their names.
func foldersIn(t *testing.T, folder string) []string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	entries = slices.DeleteFunc(entries, func(entry fs.DirEntry) bool { return !entry.IsDir() })
	folders := make([]string, len(entries))
	for i, entry := range entries {
		folders[i] = filepath.Join(folder, entry.Name())
	}
	return folders
}

// readText returns what a file holds; a missing or blank one fails the test.
func readText(t *testing.T, path ...string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(path...))
	if err != nil {
		t.Fatal(err)
	}
	if strings.TrimSpace(string(text)) == "" {
		t.Fatalf("%s is blank", filepath.Join(path...))
	}
	return string(text)
}
