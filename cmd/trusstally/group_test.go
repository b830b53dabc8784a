package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// groupWeek is a week in which all of these plants have something.
const groupWeek = "2026-W12"

// groupFolders are plants of testdata/reports, by the names that they have in a group.
var groupFolders = map[string]string{"Mill": "week", "O'Yard, \"east\"": "quality", "Shed": "yard"}

// groupPlants are those of these names, or all.
func groupPlants(t *testing.T, names ...string) map[string]*testPlant {
	t.Helper()
	plants := map[string]*testPlant{}
	for name, folder := range groupFolders {
		if len(names) > 0 && !slices.Contains(names, name) {
			continue
		}
		folder = filepath.Join(reportPlants, folder)
		settings := strings.Replace(readText(t, folder, "plant.toml"), `"Test plant"`, fmt.Sprintf("%q", name), 1)
		plants[name] = newTestPlant(t, settings, feedTexts(t, folder))
	}
	return plants
}

// runGroup runs group over the plants into a new folder, and returns the week's folder in it.
func runGroup(t *testing.T, plants map[string]*testPlant, arguments ...string) (folder, stdout, stderr string, code int) {
	t.Helper()
	to := t.TempDir()
	arguments = append([]string{"group", "--to", to, "--week", groupWeek}, arguments...)
	for _, p := range plants { // in any order
		p.release()
		arguments = append(arguments, p.dir)
	}
	var out, errs bytes.Buffer
	code = runAt(arguments, strings.NewReader(""), &out, &errs, testNow)
	return filepath.Join(to, groupWeek), out.String(), errs.String(), code
}

// bookSheet is a sheet of a written book.
type bookSheet struct {
	totals []string // nil where there are none
	rows   [][]string
}

// readSheet reads the table of a sheet of so many columns, the first of which has that heading.
func readSheet(t *testing.T, book *excelize.File, sheet, heading string, columns int) bookSheet {
	t.Helper()
	rows, err := book.GetRows(sheet, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		if len(row) != columns || strings.SplitN(row[0], "\n", 2)[0] != heading {
			continue
		}
		read := bookSheet{}
		if len(rows[i-1]) > 0 {
			read.totals = filled(rows[i-1], columns)
		}
		for _, row := range rows[i+1:] {
			if len(row) > 0 && row[0] != "nothing to show for this period" {
				read.rows = append(read.rows, filled(row, columns))
			}
		}
		return read
	}
	t.Fatalf("%s has no heading %s over %d columns", sheet, heading, columns)
	return bookSheet{}
}

func filled(row []string, columns int) []string {
	return append(slices.Clone(row), make([]string, columns-len(row))...)
}

// openBook opens a written book until the test has ended.
func openBook(t *testing.T, path string) *excelize.File {
	t.Helper()
	book, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { book.Close() })
	return book
}

// ownBooks writes the plant's own books of the week.
func (p *testPlant) ownBooks(names []string) map[string]*excelize.File {
	p.t.Helper()
	books := map[string]*excelize.File{}
	for _, name := range names {
		path := filepath.Join(p.t.TempDir(), name+".xlsx")
		if _, stderr, code := p.run("report", name, "--week", groupWeek, "--to", path); code != exitFine {
			p.t.Fatalf("%s: exit %d\n%s", name, code, stderr)
		}
		books[name] = openBook(p.t, path)
	}
	return books
}

// storedNumber is a stored number; nil where the cell holds none.
func storedNumber(cell string) *big.Rat {
	number, ok := new(big.Rat).SetString(cell)
	if !ok {
		return nil
	}
	return number
}

// TestGroupIsItsPlants holds every sheet of a group against the plants' own books: the rows
// are theirs, cell for cell, in order of the plants' names, and a total over all plants is the
// sum of theirs.
func TestGroupIsItsPlants(t *testing.T) {
	plants := groupPlants(t)
	folder, stdout, stderr, code := runGroup(t, plants)
	if code != exitFine || stderr != "" || !strings.HasSuffix(stdout, groupWeek+": 3 books of 3 plants written; every balance holds\n") {
		t.Fatalf("exit %d\n%s%s", code, stdout, stderr)
	}
	cells, totals := compareGroup(t, folder, plants)
	if cells < 2500 || totals < 150 {
		t.Errorf("only %d cells and %d totals were compared", cells, totals)
	}
	t.Run("recalculated", func(t *testing.T) {
		paths, err := filepath.Glob(filepath.Join(folder, "*.xlsx"))
		if err != nil {
			t.Fatal(err)
		}
		sameRecalculated(t, paths)
	})
}

// TestGroupOfOne: a group of one plant is that plant's sheets, and its totals those of the
// plant's own books, ratios too.
func TestGroupOfOne(t *testing.T) {
	plants := groupPlants(t, "Mill")
	before := readText(t, plants["Mill"].dir, warehouse.FileName)
	folder, _, stderr, code := runGroup(t, plants)
	if code != exitFine || stderr != "" {
		t.Fatalf("exit %d\n%s", code, stderr)
	}
	cells, totals := compareGroup(t, folder, plants)
	if cells < 1000 || totals < 150 {
		t.Errorf("only %d cells and %d totals were compared", cells, totals)
	}
	if readText(t, plants["Mill"].dir, warehouse.FileName) != before {
		t.Error("the plant's warehouse was written")
	}
}

// compareGroup holds the sheets of the group's books against the plants' own, and returns how
// many cells and totals were compared.
func compareGroup(t *testing.T, folder string, plants map[string]*testPlant) (cells, totals int) {
	t.Helper()
	all, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		t.Fatal(err)
	}
	names := sortedNames(plants)
	weekly := []string{"job-margin", "lumber-yield", "crews-shifts"}
	own := map[string]map[string]*excelize.File{}
	for _, name := range names {
		own[name] = plants[name].ownBooks(weekly)
	}
	for _, of := range all {
		if of.Monthly {
			continue
		}
		book := openBook(t, filepath.Join(folder, of.Name+".xlsx"))
		for _, d := range of.Sheets {
			if !slices.Contains(book.GetSheetList(), d.Sheet) {
				continue // TestGroupSheets of package reports says which
			}
			group := readSheet(t, book, d.Sheet, "Plant", len(d.Columns)+1)
			var want [][]string
			sums := make([]*big.Rat, len(d.Columns))
			var only []string // the totals of a plant that is alone
			for _, name := range names {
				sheet := readSheet(t, own[name][of.Name], d.Sheet, d.Columns[0].Heading, len(d.Columns))
				for _, row := range sheet.rows {
					want = append(want, append([]string{name}, row...))
					cells += len(row)
				}
				only = sheet.totals
				for i, cell := range sheet.totals {
					if number := storedNumber(cell); number != nil {
						if sums[i] == nil {
							sums[i] = new(big.Rat)
						}
						sums[i].Add(sums[i], number)
					}
				}
			}
			if diff := cmp.Diff(want, group.rows); diff != "" {
				t.Errorf("%s is not its plants' (-want +got):\n%s", d.Sheet, diff)
			}
			for i, column := range d.Columns {
				if group.totals == nil || column.Total == "-" {
					continue
				}
				totals++
				got := storedNumber(group.totals[i+1])
				switch {
				case len(names) == 1 && i > 0 && only[i] != group.totals[i+1]:
					t.Errorf("%s, total of %s: %q, alone %q", d.Sheet, column.Name, group.totals[i+1], only[i])
				case strings.Contains(column.Total, "/"): // a ratio of totals is no sum
				case sums[i] == nil && got != nil, sums[i] != nil && (got == nil || got.Cmp(sums[i]) != 0):
					t.Errorf("%s, total of %s: %q, the plants' %v", d.Sheet, column.Name, group.totals[i+1], sums[i])
				}
			}
		}
	}
	return cells, totals
}

func sortedNames(plants map[string]*testPlant) []string {
	var names []string
	for name := range plants {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// TestGroupPlants holds each figure of the sheet plants against the cells of the plants' own
// sheets that its meaning names, and --json against the sheet.
func TestGroupPlants(t *testing.T) {
	plants := groupPlants(t)
	_, stdout, stderr, code := runGroup(t, plants, "--json")
	if code != exitFine || stderr != "" {
		t.Fatalf("exit %d\n%s", code, stderr)
	}
	var said struct {
		Week   string
		Books  []string
		Plants []map[string]any
	}
	decoder := json.NewDecoder(strings.NewReader(stdout))
	decoder.UseNumber()
	if err := decoder.Decode(&said); err != nil {
		t.Fatal(err)
	}
	if said.Week != groupWeek || len(said.Books) != 3 || len(said.Plants) != len(plants) {
		t.Fatalf("%s, %d books, %d plants", said.Week, len(said.Books), len(said.Plants))
	}
	known := map[string]int{}
	for i, name := range sortedNames(plants) {
		row := said.Plants[i]
		if asText(row["plant"]) != name || asText(row["state"]) != "in" || asText(row["says"]) != "" {
			t.Errorf("%v, %v, %v stands in the place of %s", row["plant"], row["state"], row["says"], name)
		}
		figures := figuresOfPlant(plants[name])
		for column, want := range figures {
			got := storedNumber(asText(row[column]))
			if want == nil && got != nil || want != nil && (got == nil || got.Cmp(want) != 0) {
				t.Errorf("%s, %s: %v, its own sheets %v", name, column, row[column], want)
			}
			if want != nil && want.Sign() != 0 {
				known[column]++
			}
		}
		delete(row, "plant")
		delete(row, "state")
		delete(row, "says")
		if len(row) != len(figures) {
			t.Errorf("%d figures of a plant, %d were held against its sheets", len(row), len(figures))
		}
	}
	for _, column := range []string{"revenue_usd", "cost_usd", "margin_pct", "net_bf", "waste_pct", "paid_min", "waiting_pct", "trusses", "labour_min_per_truss", "first_pass_pct", "inspected", "cases", "case_rate", "looks"} {
		if known[column] == 0 {
			t.Errorf("no plant of the test has %s", column)
		}
	}
}

// figuresOfPlant are the columns of the sheet plants, worked out of the plant's own sheets.
func figuresOfPlant(p *testPlant) map[string]*big.Rat {
	p.t.Helper()
	// sum is the sum of a column over the rows that hold a text in another.
	sum := func(rows []map[string]any, column, where, is string) *big.Rat {
		var total *big.Rat
		for _, row := range rows {
			number := storedNumber(asText(row[column]))
			if number != nil && (where == "" || asText(row[where]) == is) {
				if total == nil {
					total = new(big.Rat)
				}
				total.Add(total, number)
			}
		}
		return total
	}
	rounded := func(value *big.Rat) *big.Rat { return storedNumber(value.FloatString(6)) }
	share := func(a, b *big.Rat) *big.Rat {
		if a == nil || b == nil || b.Sign() == 0 {
			return nil
		}
		return rounded(new(big.Rat).Quo(a, b))
	}
	sheet := func(name string) []map[string]any {
		return p.rows("report", name, "--week", groupWeek, "--format", "json")
	}
	summary, waste, minutes, labour, quality := sheet("margin_summary"), sheet("waste_by"), sheet("minutes_accounted"), sheet("labour_per_truss"), sheet("quality_and_safety")
	var ofPlant []map[string]any
	for _, row := range quality {
		if asText(row["of_what"]) == "plant" {
			ofPlant = append(ofPlant, row)
		}
	}
	figures := map[string]*big.Rat{}
	for _, column := range []string{"jobs", "incomplete", "at_stake_usd", "revenue_usd", "margin_usd", "margin_pct"} {
		figures[column] = sum(summary, column, "stretch", "this period")
	}
	figures["cost_usd"] = new(big.Rat).Sub(figures["revenue_usd"], figures["margin_usd"])
	for _, column := range []string{"net_bf", "waste_bf", "waste_usd"} {
		figures[column] = sum(waste, column, "seen_by", "week")
	}
	figures["waste_pct"] = share(figures["waste_bf"], figures["net_bf"])
	figures["paid_min"], figures["waiting_min"] = sum(minutes, "paid_min", "", ""), sum(minutes, "waiting_min", "", "")
	figures["waiting_pct"] = share(figures["waiting_min"], figures["paid_min"])
	for _, column := range []string{"trusses", "finished_bf", "labour_min"} {
		figures[column] = sum(labour, column, "", "")
	}
	figures["labour_min_per_truss"] = share(figures["labour_min"], figures["trusses"])
	for column, of := range map[string][2]string{
		"passed": {"first pass", "counted"}, "completed": {"first pass", "out_of"}, "first_pass_pct": {"first pass", "share_pct"},
		"inspected": {"inspections", "counted"}, "to_inspect": {"inspections", "out_of"}, "inspected_pct": {"inspections", "share_pct"},
		"cases": {"incidents", "counted"}, "worked_hours": {"incidents", "out_of"}, "case_rate": {"incidents", "rate"},
	} {
		figures[column] = sum(ofPlant, of[1], "measure", of[0])
	}
	if figures["inspected"] == nil {
		figures["to_inspect"] = nil
	}
	if figures["cases"] == nil {
		figures["worked_hours"] = nil
	}
	stdout, _, _ := p.run("check", "--json")
	findings := p.decode(stdout)
	for column, severity := range map[string]string{"failing": "error", "looks": "warn", "unrecorded": "info"} {
		figures[column] = new(big.Rat)
		for _, finding := range findings {
			if asText(finding["severity"]) == severity {
				figures[column].Add(figures[column], big.NewRat(1, 1))
			}
		}
	}
	return figures
}

// TestGroupUnbalanced: a plant of which a balance doesn't hold is in, named first in every
// book and on the last line, and the exit code is 1.
func TestGroupUnbalanced(t *testing.T) {
	plants := groupPlants(t, "Mill", "Shed")
	plants["Mill"].change("UPDATE board_ledger SET usd = usd + 0.01 WHERE size = '2x6' AND kind = 'receipt'")
	folder, stdout, stderr, code := runGroup(t, plants)
	if code != exitData || stderr != "" || !strings.HasSuffix(stdout, "3 books of 2 plants written; DOES NOT BALANCE: Mill\n") {
		t.Errorf("exit %d\n%s%s", code, stdout, stderr)
	}
	book := openBook(t, filepath.Join(folder, "crews-shifts.xlsx"))
	for sheet, want := range map[string]string{
		"plants": "DOES NOT BALANCE: Mill. Crews and shifts for the owner, 2 plants, ", "trend": "Week by week, with limits and signals, 2 plants, ",
	} {
		title, err := book.GetCellValue(sheet, "A1")
		if err != nil || !strings.HasPrefix(title, want) {
			t.Errorf("%s begins with %q (%v)", sheet, title, err)
		}
	}
	rows, err := book.GetRows("plants")
	if err != nil || !slices.ContainsFunc(rows[:4], func(row []string) bool {
		return len(row) > 0 && strings.HasPrefix(row[0], "DOES NOT BALANCE, not to be relied on until it is settled: Mill: ")
	}) {
		t.Errorf("the first lines are %q (%v)", rows[:4], err)
	}
	if first, err := book.GetCellValue("trend", "A2"); err != nil || first != "DOES NOT BALANCE: Mill (sheet plants)." {
		t.Errorf("trend begins with %q (%v)", first, err)
	}
}

// TestGroupDamaged: a plant whose file is damaged where a sheet reads it is left out, and the
// others are written.
func TestGroupDamaged(t *testing.T) {
	plants := groupPlants(t, "Mill", "Shed")
	plants["Mill"].damageTable("main.minute_ledger")
	folder, stdout, stderr, code := runGroup(t, plants)
	want := filepath.ToSlash(plants["Mill"].dir) + ": left out of the group: a part of the file is damaged: not every sheet can be read [damaged-table]\n"
	if code != exitData || !strings.HasPrefix(stderr, want) || !strings.HasSuffix(stdout, "3 books of 1 plant written; every balance holds; LEFT OUT: Mill\n") {
		t.Errorf("exit %d\n%s%s", code, stdout, stderr)
	}
	if _, err := os.Stat(filepath.Join(folder, "job-margin.xlsx")); err != nil {
		t.Error(err)
	}
}

// damageTable spoils a block of the warehouse so that it opens and the table can't be read.
func (p *testPlant) damageTable(table string) {
	p.t.Helper()
	const headers, block = 3 * 4096, 262144 // of the file's format
	whole := readText(p.t, p.dir, warehouse.FileName)
	for at := headers + block/2; at < len(whole); at += block {
		hurt := []byte(whole)
		hurt[at] ^= 1
		p.write(warehouse.FileName, string(hurt))
		w, err := warehouse.OpenLocked(context.Background(), filepath.Join(p.dir, warehouse.FileName))
		if err != nil {
			continue
		}
		_, err = w.ReadTable(context.Background(), table)
		if closed := w.Close(); closed != nil {
			p.t.Fatal(closed)
		}
		if err != nil {
			return
		}
	}
	p.t.Fatalf("no block holds %s alone", table)
}
