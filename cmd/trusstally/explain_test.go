package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
)

// explained runs explain and returns what it prints.
func (p *testPlant) explained(arguments ...string) string {
	p.t.Helper()
	stdout, stderr, code := p.run(append([]string{"explain"}, arguments...)...)
	if code != exitFine || stderr != "" {
		p.t.Fatalf("explain %v: exit %d\n%s", arguments, code, stderr)
	}
	return stdout
}

func (p *testPlant) explainsAs(want string, arguments ...string) {
	p.t.Helper()
	if diff := cmp.Diff(want, p.explained(arguments...)); diff != "" {
		p.t.Errorf("explain %v (-want +got):\n%s", arguments, diff)
	}
}

// TestExplainHandPlant: eight boards at 4.40; 4 trusses at 7.125; E1 works 3600 s of set-up
// and 5400 s of build, E2 1800 s and 5400 s, at an overhead of 10 an hour. The invoice of
// the sale is billing, and in no margin.
func TestExplainHandPlant(t *testing.T) {
	p := handPlant(t, testSettings)
	job := `J1 for C1, shipped 2026-03-18
  revenue         950.00
    1000.00  2026-03-18  jobs.csv:2
             | J1,C1,2026-03-18,1000.00,200,30,100
     -50.00  2026-03-19  invoices.csv:3
             | I2,J1,2026-03-19,-50,credit
  lumber           35.20
    35.20  2026-03-16  lumber_usage.csv:2
           | 2026-03-16 06:00,J1,2x4,SPF,No. 2,12-00-00,8,cut
        35.20  8 boards cut, 2x4 SPF No. 2 12-00-00; layer of receipts.csv:2
               | 2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,100,500,40
  plates           28.50
    28.50  2026-03-16  completions.csv:2
           | T1,J1,A,RED,day,2026-03-16 06:30,2026-03-16 07:30,2026-03-16 09:00,4
        28.50  4 trusses A; at 7.1250 a truss, of trusses.csv:2
               | J1,A,common,4,1,7.125
  other_material   10.10
    10.10  2026-03-18  job_costs.csv:3
           | D2,J1,2026-03-18,hardware,10.10
  labour          122.50
    direct_labour     98.00
    burden            24.50
    overtime_premium   0.00
    add --wages to see the rows
  delivery         60.00
    60.00  2026-03-18  job_costs.csv:2
           | D1,J1,2026-03-18,delivery,60
  other             5.00
    repair  5.00
      5.00  2026-03-18  job_costs.csv:4
            | D3,J1,2026-03-18,repair,5
    other   0.00
  overhead         45.00
    25.00  2026-03-16  timecards.csv:2
           | •••,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00
        10.00  3600 s of setup, A at T1
        15.00  5400 s of build, A at T1
    20.00  2026-03-16  timecards.csv:3
           | •••,RED,day,T1,2026-03-16 07:00,2026-03-16 10:00
         5.00  1800 s of setup, A at T1
        15.00  5400 s of build, A at T1
  cost            306.30
  margin          643.70
`
	p.explainsAs(job, "J1")
	p.explainsAs("2026-W12, 2026-03-16 until 2026-03-23: margin of complete jobs  643.70\n  J1  643.70\n\n"+
		strings.Replace(job, "2026-03-18\n", "2026-03-18, until 2026-03-23\n", 1), "--week", "2026-W12")
	p.explainsAs("2026-W13, 2026-03-23 until 2026-03-30: margin of complete jobs  blank: no job is complete\n", "--week", "2026-W13")
	// Before the credit, and before the job had shipped.
	p.explainsAs("J1 for C1, shipped 2026-03-18, until 2026-03-19\n  revenue  1000.00\n    1000.00  2026-03-18  jobs.csv:2\n             | J1,C1,2026-03-18,1000.00,200,30,100\n",
		"J1", "--class", "revenue", "--until", "2026-03-19")
	p.explainsAs("J1 for C1, shipped 2026-03-18, until 2026-03-18\n  revenue  0.00\n", "J1", "--class", "revenue", "--until", "2026-03-18")
	// 98.00 and 24.50, at 20 and 24 an hour and a quarter of that.
	p.explainsAs(`J1 for C1, shipped 2026-03-18
  labour  122.50
    direct_labour     98.00
      50.00  2026-03-16  timecards.csv:2
             | E1,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00
          20.00  E1: 3600 s of setup, A at T1; at the rate of wages.csv:2
                 | E1,2026-01-01,direct,20
          30.00  E1: 5400 s of build, A at T1; at the rate of wages.csv:2
      48.00  2026-03-16  timecards.csv:3
             | E2,RED,day,T1,2026-03-16 07:00,2026-03-16 10:00
          12.00  E2: 1800 s of setup, A at T1; at the rate of wages.csv:3
                 | E2,2026-01-01,direct,24
          36.00  E2: 5400 s of build, A at T1; at the rate of wages.csv:3
    burden            24.50
      12.50  2026-03-16  timecards.csv:2
          5.00  E1: 3600 s of setup, A at T1
          7.50  E1: 5400 s of build, A at T1
      12.00  2026-03-16  timecards.csv:3
          3.00  E2: 1800 s of setup, A at T1
          9.00  E2: 5400 s of build, A at T1
    overtime_premium   0.00
`, "J1", "--class", "labour", "--wages")
}

func TestExplainJSON(t *testing.T) {
	p := handPlant(t, testSettings)
	want := `{"job":"J1","customer":"C1","shipped_on":"2026-03-18","until":null,"missing":null,"revenue_usd":950.00,"cost_usd":306.30,"margin_usd":643.70,"wages_hidden":true,
"figures":[{"figure":"lumber","usd":35.20,"classes":[{"class":"lumber","usd":35.20,"wages_hidden":false,"postings":[
{"posted_on":"2026-03-16","original_on":"2026-03-16","occurred_on":"2026-03-16","usd":35.20,"remake":null,
"source":{"feed":"lumber_usage","file":"lumber_usage.csv","line":2,"place":"lumber_usage.csv:2","text":"2026-03-16 06:00,J1,2x4,SPF,No. 2,12-00-00,8,cut"},
"parts":[{"usd":35.20,"what":"8 boards cut, 2x4 SPF No. 2 12-00-00","priced_as":"layer of",
"priced_by":{"feed":"receipts","file":"receipts.csv","line":2,"place":"receipts.csv:2","text":"2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,100,500,40"},
"detail":{"kind":"cut","boards":-8,"size":"2x4","species":"SPF","grade":"No. 2","length":"12-00-00","boards_usd":35.20}}]}]}]}]}`
	var wanted any
	decode(t, want, &wanted)
	for _, flags := range [][]string{{"--format", "json"}, {"--json"}} {
		var got any
		decode(t, p.explained(append([]string{"J1", "--class", "lumber"}, flags...)...), &got)
		if diff := cmp.Diff(wanted, got); diff != "" {
			t.Errorf("%v (-want +got):\n%s", flags, diff)
		}
	}
	var week map[string]any
	decode(t, p.explained("--week", "2026-W12", "--wages", "--json"), &week)
	if week["usd"] != json.Number("643.70") {
		t.Errorf("the week's margin is %v", week["usd"])
	}
	addsUp(t, week["jobs"].([]any)[0].(map[string]any), true)
}

func decode(t *testing.T, text string, into any) {
	t.Helper()
	decoder := json.NewDecoder(strings.NewReader(text))
	decoder.UseNumber()
	if err := decoder.Decode(into); err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
}

// TestExplainHidesWages: without --wages no rate, no employee and no dollars of one of them.
func TestExplainHidesWages(t *testing.T) {
	p := handPlant(t, testSettings)
	p.importFiles(map[string]string{"timecards-1": "employee,crew,shift,station,started_at,ended_at,rate_usd,Bonus note\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00,33.33,wk 77\n"})
	for _, format := range []string{"text", "json"} {
		hidden, shown := p.explained("J1", "--format", format), p.explained("J1", "--format", format, "--wages")
		for _, secret := range []string{"E1", "E2", "33.33", "wk 77", "83.32"} { // 3 h at 33.33, less 16.67 for the half hour before the run
			if strings.Contains(hidden, secret) {
				t.Errorf("%s: %q is shown without --wages", format, secret)
			}
			if !strings.Contains(shown, secret) {
				t.Errorf("%s: %q is not shown with --wages", format, secret)
			}
		}
		if row := "•••,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00,•••,•••"; !strings.Contains(hidden, row) {
			t.Errorf("%s: the punch does not stand as %s", format, row)
		}
		if strings.Contains(shown, "•••") || !strings.Contains(shown, "at the punch's own rate") {
			t.Errorf("%s: with --wages something is hidden", format)
		}
	}
	for _, class := range []string{"labour", "direct_labour", "burden", "overtime_premium"} {
		for _, of := range [][]string{{"J1"}, {"--week", "2026-W12"}} {
			_, stderr, code := p.run(append([]string{"explain", "--class", class}, of...)...)
			if code != exitUsage || !strings.Contains(stderr, "[wages-hidden]") {
				t.Errorf("%s: exit %d\n%s", class, code, stderr)
			}
		}
	}
	if got := p.explained("J1", "--class", "overhead_applied"); !strings.Contains(got, "overhead_applied  45.00\n") {
		t.Errorf("overhead_applied:\n%s", got)
	}
}

// TestExplainWorkbook: a row of a sheet has the sheet in its name, and its cells as the feed
// reads them. 46099 is 2026-03-18, shown as a date.
func TestExplainWorkbook(t *testing.T) {
	p := handPlant(t, testSettings)
	book := excelize.NewFile()
	date, err := book.NewStyle(&excelize.Style{NumFmt: 14})
	if err != nil {
		t.Fatal(err)
	}
	cells := map[string]any{"A1": "document", "B1": "job", "C1": "incurred_on", "D1": "kind", "E1": "amount_usd", "F1": "Remark",
		"A3": "D9", "B3": "J1", "C3": 46099, "D3": "hardware", "E3": 12.5, "F3": "brackets, \"heavy\""}
	for cell, value := range cells {
		if err := book.SetCellValue("Sheet1", cell, value); err != nil {
			t.Fatal(err)
		}
	}
	if err := book.SetCellStyle("Sheet1", "C3", "C3", date); err != nil {
		t.Fatal(err)
	}
	if err := book.SetSheetName("Sheet1", "March costs"); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(p.dir, "job_costs-march.XLSX")
	file := filepath.Join(p.dir, "made.xlsx")
	if err := book.SaveAs(file); err != nil {
		t.Fatal(err)
	}
	p.write(filepath.Base(path), readText(t, p.dir, "made.xlsx"))
	if _, stderr, code := p.run("import", path); code != exitFine {
		t.Fatalf("import: exit %d\n%s", code, stderr)
	}
	p.explainsAs(`J1 for C1, shipped 2026-03-18
  other_material  22.60
    10.10  2026-03-18  job_costs.csv:3
           | D2,J1,2026-03-18,hardware,10.10
    12.50  2026-03-18  job_costs-march.XLSX!March costs!3
           | D9,J1,2026-03-18,hardware,12.5,"brackets, ""heavy"""
`, "J1", "--class", "other_material")
}

// TestExplainDoesNotAddUp: a level that differs from the one above is a fault of ours, told
// and never shown as a tree.
func TestExplainDoesNotAddUp(t *testing.T) {
	for _, c := range []struct{ spoil, told string }{
		{"UPDATE dollar_ledger SET usd = usd + 0.01 WHERE class = 'plates'", "explain: plates of job J1 is 28.50, and what is below adds up to 28.51"},
		{"UPDATE steps.lumber_postings SET cents = cents + 1", "posting of 2026-03-16 from lumber_usage.csv:2 is 35.20, and what is below adds up to 35.21"},
		{"UPDATE steps.job_days SET labour_usd = labour_usd + 0.01 WHERE labour_usd <> 0", "explain: labour of job J1 is 122.51, and what is below adds up to 122.50"},
		{"DELETE FROM minute_ledger WHERE use = 'setup' AND employee = 'E2'", "timecards.csv:3 is 20.00, and what is below adds up to 15.00"},
		{"UPDATE dollar_ledger SET class = 'storage' WHERE class = 'delivery'", "a class that sql/explain/classes.sql does not know"},
	} {
		p := handPlant(t, testSettings)
		p.change(c.spoil)
		stdout, stderr, code := p.run("explain", "J1")
		if code != exitOurs || stdout != "" || !strings.Contains(stderr, c.told) {
			t.Errorf("%s: exit %d\n%s%s", c.spoil, code, stdout, stderr)
		}
	}
}
