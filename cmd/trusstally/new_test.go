package main

import (
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"trusstally/ingest"
)

// TestTemplates: a template that is filled in as its example says lands as it is; one that
// nobody has filled in brings no row.
func TestTemplates(t *testing.T) {
	plant := newTestPlant(t, string(blankPlant), nil)
	folder := filepath.Join(plant.dir, templatesFolder)
	if err := writeTemplates(folder, []string{"S1", "T1"}); err != nil {
		t.Fatal(err)
	}
	files := func() []string {
		var files []string
		for _, feed := range ingest.Feeds() {
			files = append(files, filepath.Join(folder, feed.Name+".xlsx"))
		}
		return files
	}
	stdout, stderr, code := plant.run(append([]string{"import", "--dry-run"}, files()...)...)
	if code != exitFine || stderr != "" || strings.Count(stdout, "accepted 0, rejected 0") != len(files()) {
		t.Errorf("as they are: exit %d\n%s%s", code, stdout, stderr)
	}
	for _, feed := range ingest.Feeds() {
		fillIn(t, filepath.Join(folder, feed.Name+".xlsx"), feed)
	}
	stdout, stderr, code = plant.run(append([]string{"import"}, files()...)...)
	if code != exitFine || stderr != "" || strings.Contains(stdout, "warning") {
		t.Errorf("filled in: exit %d\n%s%s", code, stdout, stderr)
	}
	if got := plant.value("SELECT count(*) FROM imports WHERE rows_new = 1 AND rejected = 0"); got != strconv.Itoa(len(files())) {
		t.Errorf("%s of %d filled in templates brought their row\n%s", got, len(files()), stdout)
	}
	// A length that a spreadsheet would take for a date, and a code with zeros before it.
	if got := plant.value("SELECT concat(length_16ths, ' ', grade) FROM cut_pieces"); got != "2744 No. 2" {
		t.Errorf("the part is %q, want 14-03-08 = 2744 sixteenths", got)
	}
}

// fillIn types the example into the first free row, as a spreadsheet keeps what is typed
// into cells of these formats: dates as days since 1899-12-30, figures as numbers, all else
// as text.
func fillIn(t *testing.T, file string, feed ingest.Feed) {
	t.Helper()
	book, err := excelize.OpenFile(file)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	for i, c := range feed.Columns {
		cell, err := excelize.CoordinatesToCellName(i+1, 2)
		if err != nil {
			t.Fatal(err)
		}
		switch {
		case c.Example == "":
			continue
		case c.Kind == ingest.Date:
			err = book.SetCellFloat(feed.Name, cell, serial(t, time.DateOnly, c.Example), -1, 64)
		case c.Kind == ingest.Time:
			err = book.SetCellFloat(feed.Name, cell, serial(t, "2006-01-02 15:04", c.Example), -1, 64)
		case c.Kind == ingest.Integer, c.Kind == ingest.Decimal:
			var number float64
			if number, err = strconv.ParseFloat(c.Example, 64); err == nil {
				err = book.SetCellFloat(feed.Name, cell, number, -1, 64)
			}
		default:
			err = book.SetCellStr(feed.Name, cell, c.Example)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := book.Save(); err != nil {
		t.Fatal(err)
	}
}

func serial(t *testing.T, layout, text string) float64 {
	t.Helper()
	at, err := time.Parse(layout, text)
	if err != nil {
		t.Fatal(err)
	}
	return at.Sub(time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)).Hours() / 24
}
