package main

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// A plant in which two people have pay that nothing else comes to: E9 has 77.77 an hour,
// 66.61 on one day and a bonus of 5151.51, E8 a salary of 8313.31 a week. Every book, sheet,
// command and message is looked through for these, and for whatever they come to: by job,
// station, day, week, with overtime, with burden, in dollars and in cents.

// markedSettings puts the sheets of a plant's own beside the built-in ones.
const markedSettings = testSettings + "[reports]\nwages = [\"pay_listed\"]\n"

// markedFiles are the feeds. On every job others work beside E9, but on the days named.
func markedFiles() map[string]string {
	punches := "employee,crew,shift,station,started_at,ended_at,rate_usd\n"
	for _, day := range []string{"09", "10", "11", "12", "13", "16", "17"} {
		for _, employee := range []string{"E1", "E2", "E3", "E9"} {
			rate := ""
			if employee == "E9" && day == "17" {
				rate = "66.61"
			}
			punches += fmt.Sprintf("%s,RED,day,T1,2026-03-%s 06:00,2026-03-%s 15:%d,%s\n", employee, day, day, 10+len(punches)%17, rate)
		}
		punches += fmt.Sprintf("E8,OFFICE,day,Y1,2026-03-%s 06:00,2026-03-%s 14:00,\n", day, day)
	}
	// On the 18th E9 is alone at T2 on J2, where the station also stands still; on the 19th
	// only waits.
	punches += "E9,SOLO,night,T2,2026-03-18 06:00,2026-03-18 13:10,\nE9,SOLO,night,T2,2026-03-19 06:00,2026-03-19 09:20,\n"
	return map[string]string{
		"jobs":       "job,customer,ordered_on,shipped_on,price_usd,quoted_lumber_usd,quoted_plate_usd,quoted_labour_usd,quoted_labour_min\nJ1,C1,2026-03-01,2026-03-16,90000,200,30,9000,4000\nJ2,C2,2026-03-01,2026-03-18,40000,200,30,900,1000\nJ3,C3,2026-03-01,,20000,100,10,500,600\n",
		"trusses":    "job,truss,kind,quantity,plies,plate_usd,quoted_setup_min,quoted_build_min\nJ1,A,common,40,1,7.125,30,20\nJ2,B,common,8,1,7.125,30,20\nJ3,C,common,8,1,7.125,30,20\n",
		"cut_pieces": "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,TC,2x4,SPF,No. 2,10-00-00,2\nJ2,B,TC,2x4,SPF,No. 2,10-00-00,2\nJ3,C,TC,2x4,SPF,No. 2,10-00-00,2\n",
		"wages":      "employee,effective_on,role,basis,rate_usd,salary_hours,overtime\nE1,2026-01-01,direct,,20.10,,\nE2,2026-01-01,direct,,21.20,,\nE3,2026-01-01,direct,,22.30,,\nE9,2026-01-01,direct,,77.77,,\nE8,2026-01-01,indirect,salary,8313.31,40,no\n",
		"timecards":  punches,
		"other_pay":  "employee,workweek_start,kind,amount_usd\nE9,2026-03-09,bonus,5151.51\n",
		"payroll":    "source,from,until,gross_usd,department\npayroll,2026-03-09,2026-03-16,24680.13,all\n",
		"completions": "station,job,truss,crew,shift,setup_started_at,build_started_at,finished_at,quantity\n" +
			"T1,J1,A,RED,day,2026-03-09 06:30,2026-03-09 07:30,2026-03-09 14:40,8\nT1,J1,A,RED,day,2026-03-10 06:10,2026-03-10 06:30,2026-03-10 14:40,8\nT1,J1,A,RED,day,2026-03-11 06:10,2026-03-11 06:30,2026-03-11 14:40,8\n" +
			"T1,J1,A,RED,day,2026-03-12 06:10,2026-03-12 06:30,2026-03-12 14:40,8\nT1,J1,A,RED,day,2026-03-13 06:10,2026-03-13 06:30,2026-03-13 14:40,8\n" +
			"T1,J2,B,RED,day,2026-03-16 06:10,2026-03-16 06:30,2026-03-16 14:40,4\nT1,J3,C,RED,day,2026-03-17 06:10,2026-03-17 06:30,2026-03-17 14:40,4\nT2,J2,B,SOLO,night,2026-03-18 06:20,2026-03-18 07:00,2026-03-18 11:50,4\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf,freight_usd\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,900,500,40\n",
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n2026-03-09 06:00,J1,2x4,SPF,No. 2,12-00-00,91,cut\n2026-03-16 06:00,J2,2x4,SPF,No. 2,12-00-00,20,cut\n2026-03-17 06:00,J3,2x4,SPF,No. 2,12-00-00,20,cut\n",
		"invoices":     "invoice,job,invoiced_on,amount_usd,kind\nI1,J1,2026-03-16,90000,sale\nI2,J2,2026-03-18,40000,sale\n",
		"overheads":    "month,pool,budget_usd,actual_usd\n2026-03-01,rent,1000,1100\n",
		"stoppages":    "station,started_at,ended_at,reason\nT2,2026-03-18 12:00,2026-03-18 12:40,saw blade\n",
		"incidents":    "record,occurred_at,shift_date,station,crew,shift,recordable,days_away,days_restricted\nX1,2026-03-18 08:00,2026-03-18,T2,SOLO,night,yes,1,0\n",
	}
}

// spoiltFiles have a mistake in the cell of the marked pay, and one beside it.
var spoiltFiles = map[string]string{
	"wages-1":     "employee,effective_on,role,rate_usd,overtime_bill_rate_usd\nE9,2026-04-01,direct,77.77x,\nE9,2026-04-32,direct,77.77,\nE9,2026-04-02,chief,77.77,\nE9,2026-04-03,direct,77.77777,\nE9,2026-04-04,direct,1,77.77,77.77\n",
	"other_pay-1": "employee,workweek_start,kind,amount_usd\nE9,2026-03-16,bonus,5151.51.5\nE9,2026-03-16,gift,5151.51\n",
	"payroll-1":   "source,from,until,gross_usd\npayroll,2026-03-16,2026-03-23,24680.13 USD\n",
	"timecards-1": "employee,crew,shift,station,started_at,ended_at,rate_usd\nE9,RED,day,T1,2026-03-20 06:00,2026-03-20 07:00,66.61abc\nE9,RED,day,T9,2026-03-21 06:00,2026-03-21 07:00,66.61\n",
}

// secrets returns every figure that is the pay of E8 or E9 or can be turned into it: what
// the files say, and all that the steps of the ledgers make of it, by whatever they are
// grouped. Figures of less than four digits could be anything and are left out.
func (p *testPlant) secrets() *regexp.Regexp {
	p.t.Helper()
	cents := map[string]bool{"7777": true, "6661": true, "515151": true, "831331": true, "2468013": true, "20783": true} // 20783: the salary's hour
	for _, query := range []string{
		`SELECT DISTINCT sum(cents)::BIGINT AS x FROM steps.labour_postings WHERE employee IN ('E8', 'E9') AND class <> 'overhead_applied' GROUP BY CUBE (employee, job, posted_on, workweek_start, class) HAVING count(DISTINCT employee) = 1`,
		`SELECT DISTINCT sum(cents)::BIGINT AS x FROM steps.labour_postings WHERE employee IN ('E8', 'E9') AND class NOT IN ('burden', 'overhead_applied') GROUP BY CUBE (employee, job, posted_on, workweek_start) HAVING count(DISTINCT employee) = 1`,
		`SELECT DISTINCT sum(cents)::BIGINT AS x FROM steps.labour_postings WHERE employee IN ('E8', 'E9') AND class <> 'overhead_applied' GROUP BY CUBE (employee, job, posted_on, workweek_start) HAVING count(DISTINCT employee) = 1`,
		`SELECT DISTINCT cents AS x FROM steps.labour_postings WHERE employee IN ('E8', 'E9') AND class <> 'overhead_applied'`,
		`SELECT cents AS x FROM steps.premium_postings WHERE employee IN ('E8', 'E9')`,
		`SELECT cents AS x FROM steps.other_pay_postings WHERE employee IN ('E8', 'E9')`,
		`SELECT usd_to_cents(unnest([straight_usd, overtime_premium_usd, gross_usd, gross_usd - overtime_premium_usd, regular_rate_usd::DECIMAL(18,2)])) AS x FROM pay_weeks WHERE employee IN ('E8', 'E9')`,
	} {
		for _, row := range p.query(query) {
			if x := strings.TrimPrefix(asText(row["x"]), "-"); len(x) >= 4 {
				cents[x] = true
			}
		}
	}
	var forms []string
	for x := range cents {
		dollars := x[:len(x)-2]
		grouped := dollars
		if len(dollars) > 3 {
			grouped = dollars[:len(dollars)-3] + ",?" + dollars[len(dollars)-3:]
		}
		forms = append(forms, x, grouped+`\.`+strings.TrimRight(x[len(x)-2:], "0")+"0*")
	}
	slices.Sort(forms)
	if len(forms) < 80 {
		p.t.Fatalf("only %d figures are looked for", len(forms))
	}
	return regexp.MustCompile(`(?:^|[^0-9.])(` + strings.Join(forms, "|") + `)(?:[^0-9]|$)`)
}

// unzipped is the text of a file: of a workbook all its parts, without what programs draw
// with, whose measures could be any figures.
func unzipped(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if filepath.Ext(name) != ".xlsx" {
		return string(data)
	}
	book, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	for _, part := range book.File {
		if strings.Contains(part.Name, "drawings/drawing") || strings.HasSuffix(part.Name, "styles.xml") || strings.Contains(part.Name, "theme") {
			continue
		}
		file, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(file)
		if err != nil {
			t.Fatal(err)
		}
		text.Write(content)
	}
	return text.String()
}

// markedPlant is the plant with its files read in the weekly run, and the sheets of its own.
func markedPlant(t *testing.T) (*testPlant, string) {
	p := newTestPlant(t, markedSettings, nil)
	for _, folder := range []string{"inbox", "reports"} {
		if err := os.Mkdir(filepath.Join(p.dir, folder), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for name, text := range markedFiles() {
		p.write("inbox/"+name+".csv", text)
	}
	column := "-- column: "
	for name, sql := range map[string]string{
		"pay_listed": column + "gross_usd | Gross | usd | sum | pay\n-- sort: gross\nSELECT gross_usd::DECIMAL(14,2) AS gross_usd FROM pay_weeks ORDER BY gross_usd\n",
		"pay_stolen": column + "gross_usd | Gross | usd | sum | pay\n-- sort: gross\nSELECT gross_usd::DECIMAL(14,2) AS gross_usd FROM pay_weeks ORDER BY gross_usd\n",
		"our_dollars": column + "job | Job | text | - | job\n" + column + "class | Class | text | - | class\n" + column + "cost_usd | Cost | usd | sum | cost\n-- book: job-margin\n-- sort: job, class\n" +
			"SELECT job::VARCHAR AS job, class::VARCHAR AS class, usd::DECIMAL(14,2) AS cost_usd FROM dollar_ledger ORDER BY job, class, cost_usd, posted_on\n",
	} {
		p.write("reports/"+name+".sql", "-- sheet: "+name+"\n-- title: T\n-- reader: owner\n-- grain: one row\n"+sql)
	}
	stdout, stderr, code := p.run("run", "--week", "2026-W12")
	if code != exitData || !strings.Contains(stderr, "[wages-hidden]") || !strings.Contains(stdout, "every balance holds") {
		t.Fatalf("run: exit %d\n%s%s", code, stdout, stderr)
	}
	return p, stdout + stderr
}

// TestMarkedWages runs every command, sheet and book, and finds the marked pay nowhere but
// where it may stand.
func TestMarkedWages(t *testing.T) {
	p, said := markedPlant(t)
	secrets := p.secrets()
	look := func(where, text string) {
		t.Helper()
		for _, found := range secrets.FindAllStringSubmatchIndex(text, 3) {
			t.Errorf("%s shows %s:\n…%s…", where, text[found[2]:found[3]], text[max(0, found[0]-150):min(len(text), found[1]+60)])
		}
	}
	look("run", said)
	command := func(arguments ...string) string {
		t.Helper()
		stdout, stderr, _ := p.run(arguments...)
		look(strings.Join(arguments, " "), stdout+stderr)
		return stdout + stderr
	}
	// What a reader may select, and what not.
	var selects []string
	for _, table := range p.query("SELECT DISTINCT CASE WHEN schema_name = 'main' THEN '' ELSE schema_name || '.' END || table_name AS x FROM duckdb_columns() WHERE NOT internal ORDER BY 1") {
		selects = append(selects, "SELECT * FROM "+asText(table["x"])+" ORDER BY ALL")
	}
	for _, function := range []string{"job_position", "job_forecast", "job_bridge", "share_delivered", "job_stock", "left_jobs", "job_basis"} {
		selects = append(selects, "SELECT * FROM "+function+"(DATE '2026-03-23') ORDER BY ALL")
	}
	for _, by := range []string{"posted_on", "posted_on, job", "class", "pool, posted_on", "job, class, posted_on", "occurred_on, class", "import_id, line", "remake, feed"} {
		selects = append(selects, "SELECT "+by+", sum(usd) AS usd FROM dollar_ledger GROUP BY "+by+" ORDER BY ALL")
	}
	p.selected(selects, look)
	command("query", "SELECT * FROM dollar_ledger ORDER BY ALL", "--format", "json")
	if refused := command("query", "SELECT * FROM wages"); !strings.Contains(refused, "[wages-hidden]") {
		t.Errorf("wages are answered with\n%s", refused)
	}
	// Every sheet and book, in each form; what holds wages answers with a refusal.
	books, err := reports.Books(warehouse.ReportFiles())
	if err != nil {
		t.Fatal(err)
	}
	refused := 0
	for _, book := range books {
		var names []string
		for _, sheet := range book.Asked {
			names = append(names, sheet.Sheet)
		}
		periods := [][]string{{"--week", "2026-W12"}}
		if book.Monthly { // its sheets one by one, some of which are nobody's pay
			for _, sheet := range book.Sheets {
				names = append(names, sheet.Sheet)
			}
		} else {
			periods = append(periods, []string{"--month", "2026-03"}, []string{"--from", "2026-03-18", "--until", "2026-03-19"})
		}
		for _, name := range append(names, book.Name) {
			for _, period := range periods {
				if strings.Contains(command(append([]string{"report", name, "--format", "json"}, period...)...), "[wages-hidden]") {
					refused++
				}
			}
		}
	}
	if refused < 5 { // the book, payroll_bridge, punches_to_settle, overhead and journal
		t.Errorf("%d reports were refused", refused)
	}
	for _, name := range []string{"pay_listed", "pay_stolen", "our_dollars"} {
		command("report", name, "--week", "2026-W12", "--format", "csv")
	}
	// Everything else.
	for _, arguments := range [][]string{
		{"check"}, {"check", "--json"}, {"list"}, {"list", "--feeds"}, {"list", "--tables"}, {"imports"}, {"imports", "--json"}, {"help", "errors"},
		{"explain", "J1"}, {"explain", "J2"}, {"explain", "J2", "--format", "json"}, {"explain", "--week", "2026-W12"}, {"explain", "J2", "--class", "overhead_applied"},
		{"explain", "J2", "--class", "labour"}, {"explain", "J2", "--verbose"},
	} {
		command(arguments...)
	}
	// The books of a group that the plant is in, which stand outside of its folder.
	to := t.TempDir()
	command("group", p.dir, "--to", to, "--week", "2026-W12")
	command("group", p.dir, "--to", to, "--week", "2026-W12", "--json")
	ofGroup, err := filepath.Glob(filepath.Join(to, "2026-W12", "*.xlsx"))
	if err != nil || len(ofGroup) != 3 {
		t.Errorf("a group has %d books (%v)", len(ofGroup), err)
	}
	for _, path := range ofGroup {
		look(filepath.Base(path)+" of a group", unzipped(t, path))
	}
	var spoilt []string
	for name, text := range spoiltFiles {
		spoilt = append(spoilt, p.write(name+".csv", text))
		command("import", spoilt[len(spoilt)-1], "--propose")
	}
	command(append([]string{"import", "--dry-run", "--verbose"}, spoilt...)...)
	if refused := command(append([]string{"import", "--verbose", "--accept-removals"}, spoilt...)...); strings.Count(refused, "•••") < 8 {
		t.Errorf("pay was not refused as it should be:\n%s", refused)
	}
	for _, path := range spoilt { // they are the plant's, not the program's
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
	}
	command("query", "SELECT * FROM rejects ORDER BY ALL")
	command("report", "exceptions", "--month", "2026-03", "--format", "json")
	command("run", "--week", "2026-W12", "--verbose")
	if closed := command("close", "2026-03", "--verbose"); !strings.Contains(closed, "2026-03 closed") {
		t.Errorf("close: %s", closed)
	}
	command("query", "SELECT * FROM closed_job_stock ORDER BY ALL")
	command("close", "--undo")
	command("undo", "1", "--dry-run")
	p.lookThroughFiles(look)
}

// selected runs SELECTs as query does for a reader without --wages.
func (p *testPlant) selected(selects []string, look func(where, text string)) {
	p.t.Helper()
	p.release()
	ctx := context.Background()
	w, err := warehouse.OpenForQuery(ctx, filepath.Join(p.dir, warehouse.FileName), false, warehouse.Limits{MemoryMiB: 1024})
	if err != nil {
		p.t.Fatal(err)
	}
	defer w.Close()
	answered := 0
	for _, text := range selects {
		var out bytes.Buffer
		err := w.Guard(ctx, text, false)
		if err == nil {
			if err = reports.QueryCSV(ctx, &out, w, text); err == nil {
				answered++
			}
		}
		look(text, fmt.Sprint(out.String(), err))
	}
	if answered < 100 {
		p.t.Errorf("%d of %d were answered", answered, len(selects))
	}
}

// lookThroughFiles looks through every file of the plant's folder that others may read, and
// finds that those which hold pay are their owner's alone.
func (p *testPlant) lookThroughFiles(look func(where, text string)) {
	p.t.Helper()
	private, open := 0, 0
	err := filepath.WalkDir(p.dir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		name, err := filepath.Rel(p.dir, path)
		if err != nil {
			return err
		}
		info, err := entry.Info()
		if err != nil {
			return err
		}
		name = filepath.ToSlash(name)
		folder, _, _ := strings.Cut(name, "/")
		mayHold := folder == "archive" || folder == "rejects" || strings.HasPrefix(name, warehouse.FileName) || strings.HasSuffix(name, "/month-end.xlsx") || strings.HasSuffix(name, "/plant.xlsx")
		switch {
		case mayHold && info.Mode().Perm() != 0o600:
			p.t.Errorf("%s has mode %o", name, info.Mode().Perm())
		case mayHold:
			private++
		default:
			open++
			look(name, unzipped(p.t, path))
		}
		return nil
	})
	if err != nil {
		p.t.Fatal(err)
	}
	if private < 20 || open < 6 {
		p.t.Errorf("%d private files and %d open ones", private, open)
	}
}
