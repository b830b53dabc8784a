package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/problem"
	"trusstally/reports"
	"trusstally/sql/warehouse"
)

// TestProblems brings about the problems that no script can, and compares their text with
// testdata/problems, one file for each code word. help errors shows these texts.
func TestProblems(t *testing.T) {
	plant := newTestPlant(t, testSettings, nil)
	for _, c := range []struct {
		code  string
		bring func() error
	}{
		{"internal", func() error { return errors.New("unexpected end of a shelf") }},
		{"file-in-use", func() error { // what makes these is tried in .ci/windows
			return problem.List{notReplaced("books/2026-W46/job-margin.xlsx", nil), inboxFileInUse("timecards-2026-W46.csv", nil), anyFileInUse("what-if.xlsx", nil)}
		}},
		{"file-changed", func() error {
			return copyFile(filepath.Join(plant.dir, "copy.csv"), plant.write("jobs-2026-03.csv", "job,price_usd\nJ1,100\n"), "the hash of what was read")
		}},
		{"unknown-key", func() error { return sheetError(strings.Replace(ownSheet, "reader:", "raeder:", 1)) }},
		{"missing-key", func() error { return sheetError(strings.Replace(ownSheet, "-- sort:   job\n", "", 1)) }},
		{"bad-param", func() error {
			return sheetError(strings.Replace(ownSheet, "until DATE   day after the last", "until", 1))
		}},
		{"bad-column", func() error { return sheetError(strings.Replace(ownSheet, "| usd |", "| dollars |", 1)) }},
		{"bad-chart", func() error {
			return sheetError("-- chart:  pie | Prices | job | price_usd | Price | price of each job\n" + ownSheet)
		}},
		{"bad-link", func() error { return sheetError("-- link:   job | open_jobs\n" + ownSheet) }},
		{"bad-emphasis", func() error { return sheetError("-- emphasis: price_usd | red\n" + ownSheet) }},
		{"unknown-param", func() error {
			return plant.sheetRunError(strings.Replace(ownSheet, "-- param:  until DATE", "-- param:  untill DATE", 1))
		}},
		{"column-mismatch", func() error { return plant.sheetRunError(strings.Replace(ownSheet, "AS price_usd", "AS price", 1)) }},
	} {
		t.Run(c.code, func(t *testing.T) {
			var got bytes.Buffer
			p := &program{stderr: &got}
			p.explain(p.rootCommand(), c.bring())
			compareProblem(t, c.code, got.String())
		})
	}
	t.Run("row-too-long", func(t *testing.T) {
		file := plant.write("timecards-2026-03.csv", "employee,work_date,pay_code\nE1,2026-03-16,"+strings.Repeat("worked ", 50_000)+"\n")
		_, stderr, _ := plant.run("import", file)
		compareProblem(t, "row-too-long", stderr)
	})
}

// TestUnbalanced: a month can't be closed while a balance doesn't balance.
func TestUnbalanced(t *testing.T) {
	plant := handPlant(t, testSettings)
	plant.change("UPDATE minute_ledger SET seconds = seconds + 1 WHERE use = 'setup'")
	_, stderr, code := plant.run("close", "2026-03")
	if code != exitData {
		t.Errorf("exit %d, want %d", code, exitData)
	}
	compareProblem(t, "unbalanced", stderr)
}

// TestCheckProblems compares what check prints with testdata/problems. The warnings come
// of two mistakes in the files; a balance has to be spoiled in the warehouse.
func TestCheckProblems(t *testing.T) {
	week := filepath.Join(reportPlants, "week")
	feeds := feedTexts(t, week) // E3's punch of Tuesday has no end
	feeds["invoices"] += "I9,J9,2026-03-20,100,sale\n"
	plant := newTestPlant(t, readText(t, week, "plant.toml"), feeds)
	w, err := warehouse.Open(context.Background(), filepath.Join(plant.dir, warehouse.FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	cases := []struct{ check, spoil string }{
		{"10_lines_add_up", "UPDATE imports SET blank = blank + 1 WHERE feed = 'wages'"},
		{"20_days_reach", "DELETE FROM days WHERE day >= DATE '2026-03-17'"},
		{"30_seconds_balance", "UPDATE minute_ledger SET seconds = seconds + 1 WHERE employee = 'E4'"},
		{"31_people_once", "INSERT INTO steps.punches SELECT * FROM steps.punches WHERE employee = 'E4'"},
		{"40_pay_posted", "UPDATE steps.labour_postings SET cents = cents + 1 WHERE class = 'indirect'"},
		{"50_boards_balance", "UPDATE board_ledger SET usd = usd + 0.01 WHERE size = '2x6' AND kind = 'receipt'"},
		{"51_yield_balances", "UPDATE steps.yields SET offcut = offcut + 1 WHERE unit = 'B7'"},
		{"52_parts_credited", "UPDATE steps.yields SET parts = parts + 1, offcut = offcut - 1 WHERE unit = 'B7'"},
		{"53_backflush_taken", "INSERT INTO steps.backflush_parts SELECT DATE '2026-03-16', 'J1', '2x6', 'SYP', 'No. 1', 3840, 2949120, 1, false"},
		{"60_dollars_balance", "UPDATE dollar_ledger SET usd = usd + 0.01 WHERE job = 'J2' AND class = 'lumber'"},
		{"61_rows_reach_ledgers", "DELETE FROM board_ledger WHERE size = '2x6' AND kind = 'receipt'"},
		{"62_jobs_foot", "DELETE FROM steps.job_days WHERE job = 'J2' AND lumber_usd <> 0"},
		{"63_bridge_adds_up", "UPDATE steps.job_days SET lumber_usd = lumber_usd + 0.01 WHERE job = 'J1' AND lumber_usd > 50"},
		{"64_journal_balances", "UPDATE board_ledger SET usd = usd - 0.01 WHERE size = '2x6' AND kind = 'cut'"},
		{"65_left_jobs_sold", "DELETE FROM steps.delivered WHERE job = 'J1'; DELETE FROM steps.left_days WHERE job = 'J1'"},
		{"66_overhead_ties", "UPDATE dollar_ledger SET class = 'idle' WHERE class = 'waiting'"},
		{"70_unknown_names", ""},
		{"71_settle_before_payroll", ""},
		{"80_gaps", "INSERT INTO gaps VALUES ('slip-without-price', 'receipts without a price', 'the item''s last landed price stands in', DATE '2026-03-16', 1, NULL, 48.00, 'receipts.csv', 5)"},
	}
	if len(cases) != len(warehouse.CheckNames()) {
		t.Errorf("%d checks have a case, of %d", len(cases), len(warehouse.CheckNames()))
	}
	for _, c := range cases {
		t.Run(c.check, func(t *testing.T) {
			var list problem.List
			findings := findingsWhen(t, w, c.spoil)
			for _, finding := range findings {
				if finding.Check == c.check {
					list = append(list, findingProblem(finding, settleHint(findings)))
				}
			}
			var got bytes.Buffer
			list.Print(&got, false)
			compareProblem(t, codeOfCheck(c.check), got.String())
		})
	}
}

// findingsWhen returns what the checks find once a statement has spoiled the warehouse, and
// mends it.
func findingsWhen(t *testing.T, w *warehouse.Warehouse, spoil string) []warehouse.Finding {
	t.Helper()
	if spoil != "" {
		for _, statement := range []string{"BEGIN", spoil} {
			if _, err := w.DB.Exec(statement); err != nil {
				t.Fatal(err)
			}
		}
		defer w.DB.Exec("ROLLBACK")
	}
	findings, err := w.Check(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return findings
}

// compareProblem holds a text against the golden of its code word.
func compareProblem(t *testing.T, code, got string) {
	t.Helper()
	file := filepath.Join("testdata", "problems", code+".txt")
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", file, diff)
	}
	if !strings.Contains(got, "["+code+"]") {
		t.Errorf("[%s] is not printed", code)
	}
}

// ownSheet is a sheet as a plant may write one.
const ownSheet = `-- sheet:  prices
-- title:  Prices
-- reader: general manager
-- grain:  one row per job
-- param:  until DATE   day after the last
-- column: job       | Job   | text | -   | job number
-- column: price_usd | Price | usd | sum | price sold at
-- sort:   job
SELECT job, price_usd AS price_usd FROM jobs WHERE ordered_on IS NULL OR ordered_on < $until::DATE ORDER BY job;
`

func sheetError(text string) error {
	_, err := reports.ParseDefinition("reports/prices.sql", text)
	return err
}

// sheetRunError runs the sheet over a plant with one job.
func (p *testPlant) sheetRunError(text string) error {
	p.t.Helper()
	p.importFiles(map[string]string{"jobs": "job,price_usd\nJ1,100\n"})
	definition, err := reports.ParseDefinition("reports/prices.sql", text)
	if err != nil {
		p.t.Fatal(err)
	}
	w, err := warehouse.OpenLocked(context.Background(), filepath.Join(p.dir, warehouse.FileName))
	if err != nil {
		p.t.Fatal(err)
	}
	defer w.Close()
	period, err := reports.Week("2026-W12", 1)
	if err != nil {
		p.t.Fatal(err)
	}
	return definition.WriteCSV(context.Background(), io.Discard, w, period)
}
