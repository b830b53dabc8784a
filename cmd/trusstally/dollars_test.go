package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What an accountant expects of dollars, worked out beside its assertion; published examples
// with their source.

// terms are the non-zero terms of the bridge of a period.
func (p *testPlant) terms(week string) map[string]string {
	p.t.Helper()
	terms := map[string]string{}
	for _, row := range p.rows("report", "margin_bridge", "--week", week, "--format", "json") {
		if usd := asText(row["effect_usd"]); usd != "0.00" {
			terms[asText(row["term"])] = usd
		}
	}
	return terms
}

// TestPublishedVariances: OpenStax, Principles of Accounting, price, quantity, rate and time
// variances of standard cost. A pound of material is a board foot of 1x12, one foot long.
func TestPublishedVariances(t *testing.T) {
	settings := strings.Replace(strings.Replace(testSettings, "burden_pct = 0.25\n", "", 1), "usd_per_labour_hour = 10", "usd_per_labour_hour = 0", 1)
	for _, c := range []struct {
		name, part, board, boards, cost string
		want                            map[string]string
	}{
		// 20 lb at 6 instead of 7: price 20 favourable; at 9: 40 unfavourable.
		{"price, favourable", "20-00-00", "20-00-00", "1", "6000", map[string]string{"lumber price": "20.00"}},
		{"price, unfavourable", "20-00-00", "20-00-00", "1", "9000", map[string]string{"lumber price": "-40.00"}},
		// 0.25 lb at 7 should do; 0.50 were used at 9: price 1.00, quantity 1.75 unfavourable.
		{"price and quantity", "0-03-00", "0-06-00", "1", "9000", map[string]string{"lumber price": "-1.00", "lumber usage": "-1.75"}},
	} {
		quoted := map[string]string{"20-00-00": "140", "0-03-00": "1.75"}[c.part]
		p := newTestPlant(t, settings, map[string]string{
			"jobs":          "job,ordered_on,shipped_on,price_usd,quoted_lumber_usd,quoted_plate_usd,quoted_labour_usd,quoted_labour_min,quoted_overhead_usd\nJ1,2026-03-01,2026-03-18,1000," + quoted + ",0,0.80,6,0\n",
			"trusses":       "job,truss,quantity,plate_usd,quoted_setup_min,quoted_build_min\nJ1,A,1,0,0,6\n",
			"cut_pieces":    "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,P,1x12,SPF,No. 2," + c.part + ",1\n",
			"lumber_prices": "effective_on,size,species,grade,length,usd_per_mbf\n2026-01-01,1x12,SPF,No. 2,,7000\n",
			"receipts":      "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,1x12,SPF,No. 2," + c.board + ",10," + c.cost + "\n",
			"lumber_usage":  "used_at,job,size,species,grade,length,boards,reason\n2026-03-16 06:00,J1,1x12,SPF,No. 2," + c.board + "," + c.boards + ",cut\n",
			// 0.10 h at 8 should do; 0.20 were worked at 9.50: rate 0.30, time 0.80 unfavourable.
			"wages":       "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,9.50\n",
			"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 06:12\n",
			"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 06:12,1\n",
		})
		got := p.terms("2026-W12")
		c.want["build"], c.want["labour rate"] = "-0.80", "-0.30"
		for term, want := range c.want {
			if got[term] != want {
				t.Errorf("%s: %s %s, want %s", c.name, term, got[term], want)
			}
		}
		if len(got) != len(c.want)+2 { // and the two margins
			t.Errorf("%s: terms %v, want %v alone", c.name, got, c.want)
		}
		p.balanced()
	}
}

// TestPublishedJobOrder: OpenStax, Principles of Accounting, a job of a month: materials 700,
// labour 66, overhead at 2.50 a labour dollar (25 an hour at a wage of 10) 165: 931 in all.
func TestPublishedJobOrder(t *testing.T) {
	settings := strings.Replace(strings.Replace(testSettings, "burden_pct = 0.25\n", "", 1), "usd_per_labour_hour = 10", "usd_per_labour_hour = 25", 1)
	p := newTestPlant(t, settings, map[string]string{
		"jobs": "job,price_usd\nJ1,2000\n", "trusses": "job,truss,quantity\nJ1,A,1\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,1x12,SPF,No. 2,7-00-00,1,100000\n",
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n2026-03-16 06:00,J1,1x12,SPF,No. 2,7-00-00,1,cut\n",
		"wages":        "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,10\n",
		"timecards":    "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 12:36\n",
		"completions":  "station,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 12:36,1\n",
	})
	row := p.rows("report", "open_jobs", "--week", "2026-W12", "--format", "json")[0]
	for column, want := range map[string]string{"lumber_usd": "700.00", "labour_usd": "66.00", "cost_usd": "931.00"} {
		if got := asText(row[column]); got != want {
			t.Errorf("%s %s, want %s", column, got, want)
		}
	}
	p.balanced()
}

// TestPublishedInventoryFlow: OpenStax, Principles of Accounting: work in process 1,000 +
// 2,681 - 1,025 = 2,656 manufactured; 1,531 + 2,656 - 1,725 = 2,462 cost of goods sold.
func TestPublishedInventoryFlow(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		// F stood finished, W was begun; W is finished and N begun in the month. F leaves whole, and
		// 931 of W's 2,656 trusses.
		"jobs":        "job,price_usd,shipped_on\nF,5000,2026-03-20\nW,5000,\nN,5000,\n",
		"trusses":     "job,truss,quantity\nF,A,10\nW,A,2656\nN,A,10\n",
		"opening_wip": "on,job,class,amount_usd,trusses_built\n2026-02-28,F,other_material,1531,10\n2026-02-28,W,other_material,1000,\n",
		"job_costs":   "document,job,incurred_on,kind,amount_usd\nD1,W,2026-03-05,other_material,1656\nD2,N,2026-03-06,other_material,1025\n",
		"completions": "station,job,truss,crew,shift,shift_date,quantity\nT1,W,A,RED,day,2026-03-10,2656\n",
		"deliveries":  "delivered_on,load,job,truss,quantity\n2026-03-25,L1,W,A,931\n",
	})
	total := map[string]string{}
	for _, column := range []string{"wip_opening_usd", "added_usd", "finished_usd", "wip_closing_usd", "fg_opening_usd", "fg_in_usd", "sold_usd", "fg_closing_usd"} {
		sum := exact(t, "0")
		for _, row := range p.rows("report", "wip_rollforward", "--month", "2026-03", "--format", "json", "--wages") {
			sum.Add(sum, exact(t, asText(row[column])))
		}
		total[column] = sum.FloatString(2)
	}
	for column, want := range map[string]string{
		"wip_opening_usd": "1000.00", "added_usd": "2681.00", "finished_usd": "-2656.00", "wip_closing_usd": "1025.00",
		"fg_opening_usd": "1531.00", "fg_in_usd": "2656.00", "sold_usd": "-2462.00", "fg_closing_usd": "1725.00",
	} {
		if total[column] != want {
			t.Errorf("%s %s, want %s", column, total[column], want)
		}
	}
	p.balanced()
}

// TestPublishedUnderApplied: OpenStax, Principles of Accounting: overhead actual 256,500,
// applied 250,000 (25 hours at 10,000): 6,500 under-applied.
func TestPublishedUnderApplied(t *testing.T) {
	settings := strings.Replace(strings.Replace(testSettings, "burden_pct = 0.25\n", "", 1), "usd_per_labour_hour = 10", "usd_per_labour_hour = 10000", 1)
	p := newTestPlant(t, settings, map[string]string{
		"jobs": "job,price_usd\nJ1,2000\n", "trusses": "job,truss,quantity\nJ1,A,1\n",
		"overheads":   "month,pool,budget_usd,actual_usd\n2026-03-01,rent,260000,256500\n",
		"wages":       "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,10\nE2,2026-01-01,direct,10\n",
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 18:30\nE2,RED,day,T1,2026-03-16 06:00,2026-03-16 18:30\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 18:30,1\n",
	})
	under := map[string]string{}
	for _, row := range p.rows("report", "overhead", "--month", "2026-03", "--format", "json", "--wages") {
		under[asText(row["part"])+" "+asText(row["pool"])] = asText(row["under_usd"])
		// At 26 hours the budget would be applied in full.
		if asText(row["pool"]) == "applied" && asText(row["part"]) == "overhead" && (asText(row["normal_hours"]) != "26.0000" || asText(row["actual_hours"]) != "25.0000") {
			t.Errorf("capacity %v of %v", row["actual_hours"], row["normal_hours"])
		}
	}
	// A pool alone is neither under- nor over-applied.
	if want := map[string]string{"overhead rent": "", "overhead applied": "", "overhead TOTAL": "6500.00", "burden applied": "", "burden TOTAL": "0.00"}; !cmp.Equal(want, under) {
		t.Errorf("under-applied %v, want %v", under, want)
	}
	if _, stderr, code := p.run("run", "--week", "2026-W14"); code != exitFine {
		t.Fatalf("run: exit %d\n%s", code, stderr)
	}
	said := ""
	for _, row := range sheetRows(t, filepath.Join(p.dir, "books", "2026-03", "month-end.xlsx"), "front") {
		if len(row) > 2 && row[1] == "overhead" && row[0] == "finding" {
			said = row[2]
		}
	}
	if want := "overhead applied 250,000.00 of 256,500.00 actual: 6,500.00 are on no job"; said != want {
		t.Errorf("the front sheet says %q, want %q", said, want)
	}
	p.balanced()
}

// TestRevenueByLoads: revenue follows the design board feet of the loads, cents by the running
// total; the last load makes it whole. A truss that isn't named takes all that is left.
func TestRevenueByLoads(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":       "job,price_usd\nJ1,1000\n",
		"trusses":    "job,truss,quantity,design_bf\nJ1,A,2,10\nJ1,B,1,10\n",
		"deliveries": "delivered_on,load,job,truss,quantity\n2026-03-10,L1,J1,A,1\n2026-03-12,L2,J1,,\n",
		"invoices":   "invoice,job,invoiced_on,amount_usd,kind\nI1,J1,2026-03-05,400,deposit\n",
	})
	p.oneCell("revenue", "SELECT string_agg(posted_on || ' ' || usd, ', ' ORDER BY posted_on) FROM dollar_ledger WHERE class = 'revenue'", "2026-03-10 333.33, 2026-03-12 666.67")
	row := p.rows("report", "wip_rollforward", "--from", "2026-03-01", "--until", "2026-03-11", "--format", "json", "--wages")[0]
	for column, want := range map[string]string{"billed_usd": "400.00", "earned_usd": "333.33", "deposits_usd": "66.67", "unbilled_usd": "0.00"} {
		if got := asText(row[column]); got != want {
			t.Errorf("after one load: %s %s, want %s", column, got, want)
		}
	}
	// The first load leaves one truss of three and a third of the price behind it.
	if row := p.rows("report", "open_jobs", "--from", "2026-03-09", "--until", "2026-03-11", "--format", "json")[0]; asText(row["delivered"]) != "1" || asText(row["earned_usd"]) != "333.33" {
		t.Errorf("after one load: %v delivered, %v earned", row["delivered"], row["earned_usd"])
	}
	if row := p.rows("report", "on_time_backlog", "--from", "2026-03-09", "--until", "2026-03-11", "--format", "json")[0]; asText(row["state"]) != "part shipped" {
		t.Errorf("after one load the job is %v", row["state"])
	}
	if got := asText(p.rows("report", "margin_by_job", "--week", "2026-W11", "--format", "json")[0]["shipped_on"]); got != "2026-03-12" {
		t.Errorf("left on %s, want 2026-03-12", got)
	}
	p.balanced()
}

// TestRevenueOverTime: by cost to date over what the job is expected to cost (26 CFR
// 1.460-4(b)(2)): 100 of 400 earn a quarter of the price, 500 all of it before it ships; a job
// without a quote waits until it does.
func TestRevenueOverTime(t *testing.T) {
	p := newTestPlant(t, testSettings+"[revenue]\nrecognise = \"over_time\"\n", map[string]string{
		"jobs": "job,price_usd,shipped_on,quoted_lumber_usd,quoted_plate_usd,quoted_labour_usd,quoted_overhead_usd\nJ1,1000,2026-03-20,400,0,0,0\nJ2,1000,2026-03-20,,,,\n",
		"job_costs": "document,job,incurred_on,kind,amount_usd\nD1,J1,2026-03-05,plate,100\nD2,J1,2026-03-06,plate,100\nD3,J1,2026-03-07,plate,300\nD4,J1,2026-03-25,repair,50\n" +
			"D5,J2,2026-03-05,plate,100\n",
	})
	p.oneCell("revenue", "SELECT string_agg(job || ' ' || posted_on || ' ' || usd, ', ' ORDER BY job, posted_on) FROM dollar_ledger WHERE class = 'revenue'",
		"J1 2026-03-05 250.00, J1 2026-03-06 250.00, J1 2026-03-07 500.00, J2 2026-03-20 1000.00")
	p.balanced()
}

// TestCancelledJob: closed after cutting, its fee is its revenue and nothing stays in work in
// process. It never counts as shipped, on time or finished, and the bridge has one term for it.
func TestCancelledJob(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd,promised_on,shipped_on,closed_on,quoted_lumber_usd,quoted_plate_usd,quoted_labour_usd,quoted_overhead_usd\n" +
			"J1,1000,2026-03-20,,2026-03-18,400,100,200,100\nJ2,50,2026-03-20,2026-03-18,,,,,\n",
		"trusses":   "job,truss,quantity\nJ1,A,4\n",
		"invoices":  "invoice,job,invoiced_on,amount_usd,kind\nI1,J1,2026-03-18,185,sale\n",
		"job_costs": "document,job,incurred_on,kind,amount_usd\nD1,J1,2026-03-10,hardware,300\n",
	})
	row := p.rows("report", "cost_of_goods_sold", "--month", "2026-03", "--format", "json", "--wages")[0]
	for column, want := range map[string]string{"kind": "cancelled", "revenue_usd": "185.00", "sold_usd": "300.00", "margin_usd": "-115.00"} {
		if got := asText(row[column]); got != want {
			t.Errorf("%s %s, want %s", column, got, want)
		}
	}
	// A margin of 185 - 300, quoted 1000 - 800: the bridge falls by 315 in its one term.
	terms := p.terms("2026-W12")
	for term, want := range map[string]string{"quoted margin, as first given": "200.00", "price": "", "closed without shipping": "-315.00", "actual margin": "-115.00"} {
		if terms[term] != want {
			t.Errorf("%s %s, want %s", term, terms[term], want)
		}
	}
	for sheet, wants := range map[string]map[string]string{
		"margin_by_job":   {"status": "complete", "margin_usd": "-115.00", "missing": "closed without shipping: 0 of 4 trusses built"},
		"on_time_backlog": {"state": "closed unshipped", "late_days": ""},
		"wip_rollforward": {"added_usd": "300.00", "finished_usd": "0.00", "closed_usd": "-300.00", "wip_closing_usd": "0.00", "fg_in_usd": "0.00", "sold_usd": "0.00"},
	} {
		for _, row := range p.rows("report", sheet, "--from", "2026-03-01", "--until", "2026-04-01", "--format", "json", "--wages") {
			for column, want := range wants {
				if got := asText(row[column]); asText(row["job"]) == "J1" && got != want {
					t.Errorf("%s: %s %s, want %s", sheet, column, got, want)
				}
			}
		}
	}
	summary := p.rows("report", "margin_summary", "--week", "2026-W12", "--format", "json")[0]
	if asText(summary["jobs"]) != "1" || asText(summary["closed"]) != "1" {
		t.Errorf("%v jobs shipped and %v were closed", summary["jobs"], summary["closed"])
	}
	for _, row := range p.rows("report", "journal", "--month", "2026-03", "--format", "json", "--wages") {
		if memo := asText(row["memo"]); memo == "trusses finished" {
			t.Errorf("the journal finishes trusses: %v", row)
		}
	}
	p.oneCell("work in process", "SELECT coalesce(sum(wip_cents + finished_cents), 0)::BIGINT AS c FROM job_stock(DATE '2026-04-01')", "0")
	p.balanced()
}

// TestCustomerRemake: a truss made again at the customer's cause stays a cost of the job, in
// its own column, until the back-charge is invoiced.
func TestCustomerRemake(t *testing.T) {
	files := map[string]string{
		"jobs": "job,price_usd,shipped_on\nJ1,1000,2026-03-18\n", "trusses": "job,truss,quantity,plate_usd\nJ1,A,1,0\n", "wages": oneWage,
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 09:00\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity,remake\nT1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 07:00,1,\nT1,J1,A,RED,day,2026-03-16 07:00,2026-03-16 09:00,1,customer\n",
	}
	p := newTestPlant(t, testSettings, files)
	row := func() map[string]any {
		return p.rows("report", "cost_of_goods_sold", "--month", "2026-03", "--format", "json", "--wages")[0]
	}
	// Two hours at 20 and a quarter of burden.
	if got := row(); asText(got["remake_customer_usd"]) != "50.00" || asText(got["labour_usd"]) != "75.00" || asText(got["revenue_usd"]) != "1000.00" {
		t.Errorf("before the back-charge: %v", got)
	}
	p.importFiles(map[string]string{"invoices-1": "invoice,job,invoiced_on,amount_usd,kind\nI1,J1,2026-03-20,50,scrap\n"})
	if got := asText(row()["revenue_usd"]); got != "1050.00" {
		t.Errorf("once it is invoiced: revenue %s, want 1050.00", got)
	}
}

// TestFrozenQuote: what changes in a quote after it was first imported is a change order.
func TestFrozenQuote(t *testing.T) {
	header := "job,price_usd,shipped_on,quoted_lumber_usd,quoted_plate_usd,quoted_labour_usd,quoted_overhead_usd\n"
	p := newTestPlant(t, testSettings, map[string]string{"jobs-1": header + "J1,1000,,300,100,200,100\n", "trusses": "job,truss,quantity,plate_usd\nJ1,A,1,0\n", "wages": oneWage,
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 07:00\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 07:00,1\n",
		"receipts":    "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,100,500\n", "lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n2026-03-16,J1,2x4,SPF,No. 2,12-00-00,1,cut\n"})
	p.importFiles(map[string]string{"jobs-2": header + "J1,1200,2026-03-18,350,100,200,100\n"})
	terms := p.terms("2026-W12")
	// 300 of margin become 450; no quoting price and no quoted minutes, so lumber and labour are
	// not split: 350 - 4.00, and 200 less an hour at 20 with a quarter of burden.
	for term, want := range map[string]string{"quoted margin, as first given": "300.00", "change orders": "150.00", "lumber, not split": "346.00", "labour, not split": "175.00", "overhead": "90.00", "plates": "100.00", "actual margin": "1161.00"} {
		if terms[term] != want {
			t.Errorf("%s %s, want %s", term, terms[term], want)
		}
	}
	p.balanced()
}
