package main

import (
	"fmt"
	"strings"
	"testing"
)

// TestClosedAfterDelivery: a job of four trusses, two of them delivered the day before it was
// closed, on that day, or after it. From that day its revenue is what was invoiced, and all of
// its cost is sold: nothing stays in work in process or goes back into finished goods.
func TestClosedAfterDelivery(t *testing.T) {
	for _, c := range []struct{ name, deliveries string }{
		{"before", "2026-03-17,L1,J1,A,2\n"},
		{"on the day", "2026-03-18,L1,J1,A,2\n"},
		{"after", "2026-03-19,L1,J1,A,2\n"},
		{"the last of it after", "2026-03-17,L1,J1,A,2\n2026-03-20,L2,J1,,\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := newTestPlant(t, testSettings, map[string]string{
				"jobs": "job,price_usd,closed_on\nJ1,1000,2026-03-18\n", "trusses": "job,truss,quantity,plate_usd\nJ1,A,4,0\n", "wages": oneWage,
				"invoices":    "invoice,job,invoiced_on,amount_usd,kind\nI1,J1,2026-03-18,900,sale\n",
				"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 09:00\n",
				"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 09:00,3\n",
				"deliveries":  "delivered_on,load,job,truss,quantity\n" + c.deliveries,
				"receipts":    "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,100,500\n",
				"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n" +
					"2026-03-16,J1,2x4,SPF,No. 2,12-00-00,10,cut\n",
			})
			// Three hours at 20, a quarter of burden, 10 an hour of overhead; ten boards of 8 BF at 500.
			const cost, revenue, margin = "145.00", "900.00", "755.00"
			for _, until := range []string{"2026-03-19", "2026-03-20", "2026-03-21", "2026-04-01"} {
				period := []string{"--from", "2026-03-01", "--until", until, "--format", "json", "--wages"}
				first := func(sheet string) map[string]any {
					return p.rows(append([]string{"report", sheet}, period...)...)[0]
				}
				rolled, sold := first("wip_rollforward"), first("cost_of_goods_sold")
				for column, want := range map[string]string{"added_usd": cost, "sold_usd": "-" + cost, "wip_closing_usd": "0.00", "fg_closing_usd": "0.00", "earned_usd": revenue} {
					if got := asText(rolled[column]); got != want {
						t.Errorf("before %s: %s %s, want %s", until, column, got, want)
					}
				}
				for column, want := range map[string]string{"kind": "shipped", "revenue_usd": revenue, "sold_usd": cost, "margin_usd": margin} {
					if got := asText(sold[column]); got != want {
						t.Errorf("cost of goods sold before %s: %s %s, want %s", until, column, got, want)
					}
				}
			}
			row := p.rows("report", "margin_by_job", "--month", "2026-03", "--format", "json")[0]
			for column, want := range map[string]string{"revenue_usd": revenue, "cost_usd": cost} {
				if got := asText(row[column]); got != want {
					t.Errorf("margin by job: %s %s, want %s", column, got, want)
				}
			}
			p.balanced()
		})
	}
}

// TestLateForClosedMonth: overheads, a packing slip and a punch that come after March is closed
// leave its sheets as they were; April takes them, each under its own name.
func TestLateForClosedMonth(t *testing.T) {
	const receipts = "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,100,500\n"
	const cards = "record,employee,crew,shift,station,started_at,ended_at\nR1,E1,RED,day,T1,2026-03-16 06:00,2026-03-16 09:00\n"
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity,plate_usd\nJ1,A,4,0\n",
		"wages":       "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\nE2,2026-01-01,direct,20\n",
		"overheads-1": "month,pool,budget_usd,actual_usd\n2026-03-01,rent,100,110\n2026-03-01,burden,,20\n",
		"receipts-1":  receipts, "timecards-1": cards,
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 09:00,3\n",
	})
	csv := func(sheet, month string) string {
		stdout, stderr, code := p.run("report", sheet, "--month", month, "--format", "csv", "--wages")
		if code != 0 {
			t.Fatalf("%s: exit %d: %s", sheet, code, stderr)
		}
		return stdout
	}
	sheets := []string{"journal", "overhead", "received_not_invoiced", "wip_rollforward", "cost_of_goods_sold", "board_rollforward"}
	before := map[string]string{}
	for _, sheet := range sheets {
		before[sheet] = csv(sheet, "2026-03")
	}
	if _, stderr, code := p.run("close", "2026-03"); code != 0 {
		t.Fatalf("close: exit %d: %s", code, stderr)
	}
	p.importFiles(map[string]string{
		"overheads-2": "month,pool,budget_usd,actual_usd\n2026-03-01,rent,120,150\n2026-03-01,power,60,70\n2026-04-01,rent,100,105\n",
		"receipts-2":  receipts + "2026-03-20,V1,P2,1,2x4,SPF,No. 2,12-00-00,50,600\n",
		"timecards-2": cards + "R2,E2,RED,day,T1,2026-03-16 06:00,2026-03-16 09:00\n",
	})
	for _, sheet := range sheets {
		if got := csv(sheet, "2026-03"); got != before[sheet] {
			t.Errorf("%s of the closed month was\n%sand is\n%s", sheet, before[sheet], got)
		}
	}
	// Rent rose by 40 and power came, 110 in all; the late punch brings three hours, 60 of pay and
	// 30 applied; the slip 50 boards of 8 BF at 600.
	for sheet, lines := range map[string][]string{
		"journal": {"lumber received,payables,,,240.00,", "overhead of 2026-03,overhead actual,,110.00,,dollar ledger", "overhead of 2026-03,payables,,,110.00,dollar ledger", "overhead of the month,overhead actual,,105.00,,dollar ledger"},
		"overhead": {"overhead,rent,overheads,100.00,105.00,", "overhead,rent,overheads of 2026-03,,40.00,", "overhead,power,overheads of 2026-03,,70.00,",
			// 100 of budget at 10 an hour are 10 hours; the late punch's three are April's.
			"overhead,applied,jobs,,,30.00,,10.0000,3.0000"},
		"corrections":           {"2026-03,overhead_actual,rent,110.00,0.00,40.00,150.00,\"overheads-1.csv, overheads-2.csv\"", "2026-03,overhead_actual,power,0.00,0.00,70.00,70.00,overheads-2.csv"},
		"received_not_invoiced": {"V1,P2,1,2026-03-20,", "V1,P1,1,2026-03-02,"},
	} {
		got := csv(sheet, "2026-04")
		for _, line := range lines {
			if !strings.Contains(got, line) {
				t.Errorf("%s of April has no %q:\n%s", sheet, line, got)
			}
		}
	}
	p.balanced()
	if _, stderr, code := p.run("close", "--undo"); code != 0 {
		t.Fatalf("undo: exit %d: %s", code, stderr)
	}
	// Open again, March has them itself.
	for sheet, want := range map[string]string{"journal": "overhead of the month,overhead actual,,220.00,", "overhead": "overhead,power,overheads,60.00,70.00,", "received_not_invoiced": "V1,P2,1,2026-03-20,"} {
		if got := csv(sheet, "2026-03"); !strings.Contains(got, want) {
			t.Errorf("%s of March, open again, has no %q:\n%s", sheet, want, got)
		}
	}
	p.oneCell("what was kept", "SELECT "+strings.Join(kept("closed_positions", "closed_left_jobs", "closed_accruals", "closed_job_bases", "closed_run_days", "closed_budgets", "closed_job_stock"), " + ")+" AS c", "0")
}

// kept are scalar queries that count the rows of tables.
func kept(tables ...string) []string {
	var counts []string
	for _, table := range tables {
		counts = append(counts, fmt.Sprintf("(SELECT count(*) FROM %s)", table))
	}
	return counts
}
