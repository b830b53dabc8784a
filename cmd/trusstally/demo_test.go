package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"math/big"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"trusstally/fixtures"
	"trusstally/reports"
	"trusstally/reports/workbook/recalculation"
)

// TestDemoPlant runs README's main command and asks the sheets for the truth that the demo
// plant was made with, by sums over the feeds that share nothing with the ledgers.
func TestDemoPlant(t *testing.T) {
	inParallel(t)
	p := &testPlant{t: t, dir: filepath.Join(t.TempDir(), "demo")}
	t.Cleanup(p.release)
	var out, errs bytes.Buffer
	if code := runAt([]string{"demo", "--to", p.dir}, strings.NewReader(""), &out, &errs, testNow); code != exitFine {
		t.Fatalf("demo: exit %d\n%s", code, errs.String())
	}
	truth := fixtures.DemoPlant(demoSeed).Truth

	t.Run("refused rows are the planted ones", func(t *testing.T) {
		got := map[string]bool{}
		for _, row := range p.query("SELECT file_name || ':' || line || ' ' || code AS fault FROM rejects WHERE code <> 'with'") {
			got[asText(row["fault"])] = true
		}
		for _, fault := range truth.Faults {
			if name := fault.File + ":" + strconv.Itoa(fault.Line) + " " + fault.Code; !got[name] {
				t.Errorf("%s was not found", name)
			}
		}
		if len(got) != len(truth.Faults) {
			t.Errorf("%d faults found, %d planted", len(got), len(truth.Faults))
		}
	})

	t.Run("comparisons", func(t *testing.T) { demoComparisons(t, p, truth) })
	t.Run("pages", func(t *testing.T) { demoPages(t, p) })
	t.Run("pages on screens", func(t *testing.T) { demoPagesOnScreens(t, p) })

	t.Run("second run changes nothing", func(t *testing.T) {
		before := writtenSums(t, p.dir, "*")
		stdout, stderr, code := p.run("run", "--week", "2026-W46")
		if code != exitFine {
			t.Fatalf("run: exit %d\n%s", code, stderr)
		}
		if !strings.HasPrefix(stdout, "0 files read (0 known already): 0 new, 0 changed") {
			t.Errorf("second run: %s", stdout)
		}
		after := writtenSums(t, p.dir, "*")
		if len(before) != 4+2 || len(after) != 4+2 {
			t.Errorf("%d books and pages, then %d, want 4 and 2", len(before), len(after))
		}
		for name, sum := range before {
			if after[name] != sum {
				t.Errorf("%s has other bytes after a second run", name)
			}
		}
	})

	// What the sheets say over all thirteen weeks.
	sheets := map[string][]map[string]any{}
	for _, sheet := range []string{"margin_by_job", "board_feet_by_grade", "labour_per_truss", "waste"} {
		sheets[sheet] = p.rows("report", sheet, "--from", "2026-08-01", "--until", "2027-01-01", "--format", "json")
	}
	total := func(sheet, column string) *big.Rat {
		sum := new(big.Rat)
		for _, row := range sheets[sheet] {
			sum.Add(sum, exact(t, asText(row[column])))
		}
		return sum
	}
	byHand := func(query string) *big.Rat { return exact(t, p.value(query)) }

	t.Run("margin_by_job agrees with the feeds", func(t *testing.T) {
		// Hand queries on the feeds, for jobs that shipped.
		shipped := "(SELECT job FROM jobs WHERE shipped_on IS NOT NULL OR closed_on IS NOT NULL)"
		for column, hand := range map[string]string{
			"price_usd":          "SELECT sum(price_usd) FROM jobs WHERE job IN " + shipped,
			"delivery_usd":       "SELECT sum(amount_usd) FROM job_costs WHERE kind = 'delivery' AND job IN " + shipped,
			"other_material_usd": "SELECT sum(amount_usd) FROM job_costs WHERE kind IN ('hardware', 'other_material') AND job IN " + shipped,
			"other_usd":          "SELECT sum(amount_usd) FROM job_costs WHERE kind IN ('repair', 'backcharge', 'other') AND job IN " + shipped,
			// A closed job counts its invoices, any other its price less its credits.
			"revenue_usd": "SELECT (SELECT sum(i.amount_usd) FROM invoices AS i JOIN jobs AS j USING (job) WHERE j.closed_on IS NOT NULL) + (SELECT sum(price_usd) FROM jobs WHERE closed_on IS NULL AND shipped_on IS NOT NULL) + coalesce((SELECT sum(i.amount_usd) FROM invoices AS i JOIN jobs AS j USING (job) WHERE j.closed_on IS NULL AND j.shipped_on IS NOT NULL AND i.kind IN ('credit', 'scrap')), 0)",
			"plates_usd":  "SELECT (SELECT sum(usd) FROM (SELECT c.job, round(sum(c.quantity * t.plate_usd), 2)::DECIMAL(14,2) AS usd FROM completions AS c JOIN trusses AS t USING (job, truss) WHERE c.station LIKE 'T%' AND c.remake IS NULL AND c.job IN " + shipped + " GROUP BY c.job)) + (SELECT coalesce(sum(amount_usd), 0) FROM job_costs WHERE kind = 'plate' AND job IN " + shipped + ") + (SELECT coalesce(sum(amount_usd), 0) FROM opening_wip WHERE class = 'plates' AND job IN " + shipped + ")",
		} {
			if got, want := total("margin_by_job", column), byHand(hand); got.Cmp(want) != 0 {
				t.Errorf("%s: %s on the sheet, %s by hand", column, got.FloatString(2), want.FloatString(2))
			}
		}
	})

	t.Run("board_feet_by_grade agrees with the feeds", func(t *testing.T) {
		// Batches that have both boards and parts; boards of no batch are the shop's or shipped.
		known := "(SELECT DISTINCT c.batch FROM completions AS c JOIN cut_pieces AS p USING (job, truss) WHERE c.batch IS NOT NULL)"
		supplied := "(SELECT DISTINCT batch FROM lumber_usage WHERE batch IS NOT NULL)"
		for column, hand := range map[string]string{
			"issued_bf":   "SELECT sum(boards * split_part(size, 'x', 1)::INT * split_part(size, 'x', 2)::INT * length_16ths) / 2304 FROM lumber_usage WHERE (boards > 0 OR corrects IS NOT NULL) AND reason IN ('cut', 'recut', 'cull') AND batch IN " + known,
			"finished_bf": "SELECT sum(c.quantity * t.plies * p.pieces_per_ply * split_part(p.size, 'x', 1)::INT * split_part(p.size, 'x', 2)::INT * p.length_16ths) / 2304 FROM completions AS c JOIN trusses AS t USING (job, truss) JOIN cut_pieces AS p USING (job, truss) WHERE c.station LIKE 'S%' AND c.batch IN " + supplied,
		} {
			// Six rows of four decimals.
			difference := new(big.Rat).Sub(total("board_feet_by_grade", column), byHand(hand))
			if difference.Abs(difference).Cmp(big.NewRat(1, 100)) > 0 {
				t.Errorf("%s: off by %s board feet", column, difference.FloatString(4))
			}
		}
	})

	t.Run("labour_per_truss agrees with the feeds and the truth", func(t *testing.T) {
		hand := "SELECT sum(c.quantity) FROM completions AS c JOIN jobs USING (job) WHERE c.station LIKE 'T%' AND c.remake IS NULL"
		if got, want := total("labour_per_truss", "trusses"), byHand(hand); got.Cmp(want) != 0 {
			t.Errorf("trusses: %s on the sheet, %s by hand", got.FloatString(0), want.FloatString(0))
		}
		built := map[string]*big.Rat{}
		for _, row := range sheets["labour_per_truss"] {
			crew := asText(row["crew"])
			if built[crew] == nil {
				built[crew] = new(big.Rat)
			}
			built[crew].Add(built[crew], exact(t, asText(row["trusses"])))
		}
		planted := 0
		for _, crew := range truth.Crews {
			if crew.GoodTrusses == 0 {
				continue
			}
			planted++
			if built[crew.Crew] == nil || built[crew.Crew].Cmp(big.NewRat(int64(crew.GoodTrusses), 1)) != 0 {
				t.Errorf("%s: %v good trusses on the sheet, %d planted", crew.Crew, built[crew.Crew], crew.GoodTrusses)
			}
		}
		if planted < 3 {
			t.Errorf("%d crews built trusses", planted)
		}
		// The people-minutes of the sheet are those of the ledger's table runs, remakes and
		// runs of the unknown job left out.
		minutes := new(big.Rat).Add(total("labour_per_truss", "setup_min"), total("labour_per_truss", "build_min"))
		ledger := byHand("SELECT sum(m.seconds) FROM minute_ledger AS m JOIN jobs USING (job) WHERE m.station LIKE 'T%' AND m.use IN ('setup', 'build') AND m.remake IS NULL")
		difference := minutes.Sub(minutes, ledger.Quo(ledger, big.NewRat(60, 1)))
		if difference.Abs(difference).Cmp(big.NewRat(1, 5)) > 0 {
			t.Errorf("off by %s minutes", difference.FloatString(3))
		}
	})

	t.Run("worked seconds are the planted ones", func(t *testing.T) {
		worked := map[string]string{}
		for _, row := range p.query("SELECT employee, sum(seconds)::BIGINT AS s FROM minute_ledger WHERE use <> 'paid_not_worked' GROUP BY employee") {
			worked[asText(row["employee"])] = asText(row["s"])
		}
		for _, employee := range truth.Totals.Employees {
			if got := worked[employee.Employee]; got != strconv.Itoa(employee.WorkedSeconds) {
				t.Errorf("%s: %s seconds, %d planted", employee.Employee, got, employee.WorkedSeconds)
			}
		}
		if len(truth.Totals.Employees) < 20 {
			t.Errorf("%d employees were planted", len(truth.Totals.Employees))
		}
	})

	t.Run("the planted jobs are found", func(t *testing.T) {
		rows := map[string]map[string]any{}
		for _, row := range sheets["margin_by_job"] {
			rows[asText(row["job"])] = row
		}
		if row := rows[truth.JobAtALoss]; exact(t, asText(row["margin_usd"])).Sign() >= 0 {
			t.Errorf("%s was finished at a loss, the sheet says %v", truth.JobAtALoss, row["margin_usd"])
		}
		if row := rows[truth.JobWithoutLumber]; row["margin_usd"] != nil || asText(row["status"]) != "incomplete" {
			t.Errorf("%s has no boards, the sheet says %v, %v", truth.JobWithoutLumber, row["status"], row["margin_usd"])
		}
		if row := rows[truth.JobWithoutQuote]; row["quoted_margin_usd"] != nil || row["variance_usd"] != nil || row["margin_usd"] == nil {
			t.Errorf("%s has no quote, the sheet says %v", truth.JobWithoutQuote, row)
		}
		open := map[string]bool{}
		for _, row := range p.rows("report", "open_jobs", "--week", "2026-W46", "--format", "json") {
			open[asText(row["job"])] = true
		}
		for _, job := range append(append([]string{}, truth.OpenJobs...), truth.UnstartedJobs...) {
			if !open[job] {
				t.Errorf("%s is open and not on the sheet", job)
			}
		}
	})

	t.Run("the planted exceptions are named", func(t *testing.T) {
		if _, _, code := p.run("check"); code != exitData {
			t.Errorf("check: exit %d, want %d", code, exitData)
		}
		named := map[string]bool{}
		for _, row := range p.query("SELECT file_name, line FROM exceptions") {
			named[asText(row["file_name"])+":"+asText(row["line"])] = true
		}
		for _, planted := range []fixtures.PlantedRow{truth.MissingPunchOut, truth.UnknownCrew, truth.UnknownJob} {
			if place := planted.File + ":" + strconv.Itoa(planted.Line); !named[place] {
				t.Errorf("no exception names %s", place)
			}
		}
	})
	demoPay(t, p, truth)
	demoExplain(t, p, truth)
	demoSheets(t, p)
	t.Run("findings", func(t *testing.T) { demoFindings(t, p) })
	t.Run("accessible", func(t *testing.T) { demoAccessible(t, p) })
	demoQuality(t, p, truth)
	t.Run("the front sheet says what was refused and what it touches", func(t *testing.T) {
		front := sheetRows(t, filepath.Join(p.dir, "books", "2026-W46", "job-margin.xlsx"), "front")
		refused := map[string][]string{}
		for _, row := range front {
			if len(row) > 1 && row[0] == "missing" {
				refused[row[1]] = row
			}
		}
		lost := map[string]int{}
		for _, fault := range truth.Faults {
			lost[fault.Feed] += fault.Lost
		}
		for feed, rows := range lost {
			row := refused["rows of "+feed+" refused"]
			if len(row) < 4 || row[3] != strconv.Itoa(rows) {
				t.Errorf("%s: the front sheet says %v, %d rows were lost", feed, row, rows)
			}
		}
		// The good punch that was held back, 06:02 to 10:30, and the one cost with a bad date.
		if row := refused["rows of timecards refused"]; len(row) < 5 || row[4] != "268.0" {
			t.Errorf("minutes of refused timecards: %v", row)
		}
		if row := refused["rows of job_costs refused"]; len(row) < 6 || row[5] != "64.50" {
			t.Errorf("dollars of refused job costs: %v", row)
		}
	})

	t.Run("recalculated formulas equal their stored results", func(t *testing.T) {
		var paths []string
		for path := range bookSums(t, p.dir) {
			paths = append(paths, path)
		}
		sameRecalculated(t, paths)
	})
	p.balanced()
}

// sameRecalculated fails for every formula of the books whose stored result is not what a
// spreadsheet program makes of it.
func sameRecalculated(t *testing.T, paths []string) {
	t.Helper()
	if err := recalculation.Available(); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	books := make([][]byte, len(paths))
	for i, path := range paths {
		books[i] = []byte(readText(t, path))
	}
	recalculated, err := recalculation.RecalculateAll(context.Background(), t.TempDir(), books)
	if err != nil {
		t.Fatal(err)
	}
	formulas := 0
	for i, path := range paths {
		differences, n, err := recalculation.Compare(books[i], recalculated[i], 6)
		if err != nil {
			t.Fatal(err)
		}
		formulas += n
		for _, difference := range differences {
			t.Errorf("%s: %+v", filepath.Base(path), difference)
		}
	}
	if formulas < 100 {
		t.Errorf("%d formulas were recalculated", formulas)
	}
}

// TestFailedBalanceLeadsTheFrontSheet: a balance that doesn't balance is the first row of
// the front sheet of every book, and the run exits 1.
func TestFailedBalanceLeadsTheFrontSheet(t *testing.T) {
	p := handPlant(t, testSettings)
	p.change("UPDATE minute_ledger SET seconds = seconds + 1 WHERE job IS NOT NULL AND use = 'setup'")
	stdout, stderr, code := p.run("run", "--week", "2026-W12")
	if code != exitData || !strings.Contains(stdout, "DON'T BALANCE") || !strings.Contains(stderr, "[seconds-balance]") {
		t.Errorf("run: exit %d\n%s%s", code, stdout, stderr)
	}
	for path := range bookSums(t, p.dir) {
		rows := sheetRows(t, path, "front")
		first := ""
		for i, row := range rows {
			if len(row) > 0 && row[0] == "Topic" && i+1 < len(rows) {
				first = rows[i+1][0]
			}
		}
		if first != "DOES NOT BALANCE" {
			t.Errorf("%s: the front sheet begins with %q", filepath.Base(path), first)
		}
	}
	for _, file := range []string{reports.WeekPageFile, reports.WallPageFile} {
		page := p.page("2026-W12", file)
		page.hold(t)
		if header := textOf(page.elements("header")[0]); !strings.HasPrefix(strings.TrimSpace(header), "THE FIGURES DO NOT BALANCE") {
			t.Errorf("%s begins with %.80q", file, header)
		}
	}
	p.page("2026-W12", reports.WallPageFile).holdWall(t, []string{"J1", "C1", "RED", "E1", "E2"})
}

// TestTwoFoldersSameBytes: the same data give the same books, wherever they are.
func TestTwoFoldersSameBytes(t *testing.T) {
	var books []map[string]string
	for range 2 {
		p := handPlant(t, testSettings)
		if _, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
			t.Fatalf("run: exit %d\n%s", code, stderr)
		}
		sums := map[string]string{}
		for path, sum := range writtenSums(t, p.dir, "*") {
			sums[filepath.Base(path)] = sum
		}
		books = append(books, sums)
	}
	if diff := cmp.Diff(books[0], books[1]); diff != "" || len(books[0]) != 4+2 {
		t.Errorf("%d books and pages differ between two folders: %s", len(books[0]), diff)
	}
}

// sheetRows reads a sheet as it is shown.
func sheetRows(t *testing.T, path, sheet string) [][]string {
	t.Helper()
	book, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	rows, err := book.GetRows(sheet)
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// bookSums returns the hash of every workbook below books/.
func bookSums(t *testing.T, dir string) map[string]string {
	t.Helper()
	return writtenSums(t, dir, "*.xlsx")
}

// writtenSums returns the hash of every file below books/ whose name matches, logs left out:
// each run writes its own.
func writtenSums(t *testing.T, dir, names string) map[string]string {
	t.Helper()
	sums := map[string]string{}
	paths, err := filepath.Glob(filepath.Join(dir, "books", "*", names))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range paths {
		if filepath.Ext(path) == ".log" {
			continue
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(data)
		sums[path] = string(sum[:])
	}
	return sums
}

// exact is a decimal as a rational; a blank is 0.
func exact(t *testing.T, text string) *big.Rat {
	t.Helper()
	number := new(big.Rat)
	if text == "" {
		return number
	}
	if _, ok := number.SetString(text); !ok {
		t.Fatalf("not a number: %q", text)
	}
	return number
}
