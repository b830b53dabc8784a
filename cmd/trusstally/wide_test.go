package main

import (
	"fmt"
	"math/big"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// wideFiles are the files of a plant with one crew, one week, no history and so many jobs:
// names of 200 characters among them, prices of a cent and of ten digits, credits.
func wideFiles(jobs int) (map[string]string, *big.Rat) {
	long := strings.Repeat("Q", 195)
	named := func(name string, i, every int) string {
		if i%every == 0 {
			return name + long
		}
		return name
	}
	files := map[string]*strings.Builder{}
	line := func(feed, format string, values ...any) {
		if files[feed] == nil {
			files[feed] = &strings.Builder{}
		}
		fmt.Fprintf(files[feed], format+"\n", values...)
	}
	line("jobs", "job,customer,price_usd,shipped_on")
	line("trusses", "job,truss,kind,quantity,plate_usd,design_bf")
	line("completions", "station,job,truss,crew,shift,finished_at,quantity")
	line("lumber_usage", "used_at,job,size,species,grade,length,boards,reason")
	line("invoices", "invoice,line,job,invoiced_on,amount_usd,kind")
	revenue := new(big.Rat)
	for i := range jobs {
		job, truss, day := named(fmt.Sprintf("J%04d", i), i, 50), named("A", i, 70), 9+i%5
		price := []string{"100", "9999999999.99", "0.01", "250"}[i%4]
		amount, _ := new(big.Rat).SetString(price)
		revenue.Add(revenue, amount)
		line("jobs", "%s,%s,%s,2026-11-%02d", job, named(fmt.Sprintf("C%03d", i%700), i, 90), price, day)
		line("trusses", "%s,%s,common,1,1.00,7", job, truss)
		minute := i / 5 % 480
		line("completions", "T1,%s,%s,RED,day,2026-11-%02d %02d:%02d,1", job, truss, day, 6+minute/60, minute%60)
		line("lumber_usage", "2026-11-%02d 06:%02d,%s,2x4,SPF,No. 2,12-00-00,1,cut", day, i%60, job)
		if i%10 == 0 {
			line("invoices", "I%d,1,%s,2026-11-12,-5.00,credit", i, job)
			revenue.Sub(revenue, big.NewRat(5, 1))
		}
	}
	line("timecards", "employee,crew,shift,station,started_at,ended_at")
	line("wages", "employee,effective_on,role,rate_usd")
	for employee := range 4 {
		line("wages", "E%d,2026-01-01,direct,20", employee)
		for day := 9; day < 14; day++ {
			line("timecards", "E%d,RED,day,T1,2026-11-%02d 06:00,2026-11-%02d 14:30", employee, day, day)
		}
	}
	line("receipts", "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf")
	line("receipts", "2026-11-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,%d,500", jobs+100)
	texts := map[string]string{}
	for feed, text := range files {
		texts[feed] = text.String()
	}
	return texts, revenue
}

// TestWideAndLong: 5,000 jobs in a first week without history, with names of 200 characters
// and sums of fourteen digits. Every book is written, balances, adds up to the cent and keeps
// to what a spreadsheet cell, row and column can hold.
func TestWideAndLong(t *testing.T) {
	files, revenue := wideFiles(5000)
	p := newTestPlant(t, testSettings, files)
	if stdout, stderr, code := p.run("run", "--week", "2026-W46"); code != exitFine {
		t.Fatalf("run: exit %d\n%s%s", code, stdout, stderr)
	}
	jobs, sum := 0, new(big.Rat)
	for _, row := range p.rows("report", "margin_by_job", "--week", "2026-W46", "--format", "json") {
		jobs++
		sum.Add(sum, exact(t, asText(row["revenue_usd"])))
	}
	if jobs != 5000 || sum.Cmp(revenue) != 0 {
		t.Errorf("%d jobs with revenue %s, want 5000 with %s", jobs, sum.FloatString(2), revenue.FloatString(2))
	}
	books, err := filepath.Glob(filepath.Join(p.dir, "books", "2026-*", "*.xlsx"))
	if err != nil || len(books) != 4 {
		t.Fatalf("books: %v (%v)", books, err)
	}
	for _, path := range books {
		file, err := excelize.OpenFile(path)
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		for _, sheet := range file.GetSheetList() {
			keepsToTheGrid(t, file, filepath.Base(path), sheet)
		}
		file.Close()
	}
	p.balanced()
}

// keepsToTheGrid holds a sheet against what spreadsheet programs take and a reader can follow:
// texts of 32,767 characters, rows 409 points high, columns 255 wide, here 60.
func keepsToTheGrid(t *testing.T, file *excelize.File, book, sheet string) {
	t.Helper()
	rows, err := file.GetRows(sheet)
	if err != nil {
		t.Errorf("%s, %s: %v", book, sheet, err)
		return
	}
	widest := 0
	for number, cells := range rows {
		widest = max(widest, len(cells))
		for _, cell := range cells {
			if len([]rune(cell)) > 32767 {
				t.Errorf("%s, %s, row %d: a text of %d characters", book, sheet, number+1, len([]rune(cell)))
			}
		}
		if number%500 == 0 || number < 40 {
			if height, err := file.GetRowHeight(sheet, number+1); err != nil || height > 409 {
				t.Errorf("%s, %s, row %d: %v points high (%v)", book, sheet, number+1, height, err)
			}
		}
	}
	for column := range widest {
		name, err := excelize.ColumnNumberToName(column + 1)
		if err != nil {
			t.Fatal(err)
		}
		if width, err := file.GetColWidth(sheet, name); err != nil || width > 60 {
			t.Errorf("%s, %s: column %s is %v wide (%v)", book, sheet, name, width, err)
		}
	}
}
