package main

import (
	"strings"
	"testing"
)

// What a careful practitioner expects of boards, edge case by edge case, worked out beside
// its assertion.

const averageCosting = "[lumber]\ncosting = \"average\"\n"

// withAverage is the test plant at the moving average.
func withAverage() string {
	return strings.Replace(testSettings, "[[station]]", averageCosting+"[[station]]", 1)
}

// TestPublishedStockAtTheAverage holds the moving average against the examples that
// TestPublishedStock holds first in, first out against.
func TestPublishedStockAtTheAverage(t *testing.T) {
	p := newTestPlant(t, withAverage(), map[string]string{
		"jobs": "job,price_usd\nJ0,10000\nJ1,10000\nJ2,10000\n",
		"receipts": "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n" +
			"2026-03-02,V1,P0,0,1x12,SPF,No. 2,1-00-00,150,21000\n2026-03-09,V1,P1,0,1x12,SPF,No. 2,1-00-00,225,27000\n2026-03-23,V1,P2,0,1x12,SPF,No. 2,1-00-00,210,33000\n" +
			"2026-03-02,V1,P0,1,1x12,SPF,No. 2,2-00-00,1000,300\n2026-03-09,V1,P1,1,1x12,SPF,No. 2,2-00-00,1000,375\n" +
			"2026-03-02,V1,P0,2,1x12,SPF,No. 2,3-00-00,10,333.3334\n2026-03-09,V1,P1,2,1x12,SPF,No. 2,3-00-00,50,1000\n",
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n" +
			"2026-03-03 08:00,J0,1x12,SPF,No. 2,1-00-00,120,cut\n2026-03-10 08:00,J0,1x12,SPF,No. 2,1-00-00,180,cut\n" +
			"2026-03-03 08:00,J1,1x12,SPF,No. 2,2-00-00,400,cut\n2026-03-10 08:00,J1,1x12,SPF,No. 2,2-00-00,800,cut\n" +
			"2026-03-03 08:00,J2,1x12,SPF,No. 2,3-00-00,30,cut\n",
	})
	for _, c := range []struct{ source, job, lumber, stock string }{
		// Published 7,253 and 8,902; exact 7,252.941176 and 8,902.058824.
		{"OpenStax, Principles of Accounting, moving average", "J0", "7252.94", "8902.06"},
		// 600 x .60 and 1000 x .75 make 1,110 for 1,600: 800 cost 555, and 555 stay.
		{"computed: price change during a job", "J1", "795.00", "555.00"},
		// Ten at 1.00 and twenty not there at the last price; the receipt makes these 2.00 dearer.
		{"computed: issued before received", "J2", "70.00", "90.00"},
	} {
		length := map[string]string{"J0": "192", "J1": "384", "J2": "576"}[c.job]
		p.oneCell(c.source+", cost of sales", "SELECT sum(usd) AS usd FROM dollar_ledger WHERE class = 'lumber' AND job = '"+c.job+"'", c.lumber)
		p.oneCell(c.source+", ending stock", "SELECT sum(usd) AS usd FROM board_ledger WHERE length_16ths = "+length, c.stock)
	}
	p.balanced()
}

// TestReturnAtTheAverage: boards come back at the cents posted for them, and move the
// average from then on.
func TestReturnAtTheAverage(t *testing.T) {
	p := newTestPlant(t, withAverage(), map[string]string{
		"jobs": "job,price_usd\nJ1,10000\nJ2,10000\n",
		"receipts": "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n" +
			"2026-03-02,V1,P0,0,1x12,SPF,No. 2,1-00-00,10,1000\n2026-03-04,V1,P1,0,1x12,SPF,No. 2,1-00-00,10,3000\n",
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n" +
			"2026-03-03 08:00,J1,1x12,SPF,No. 2,1-00-00,4,cut\n2026-03-05 08:00,J1,1x12,SPF,No. 2,1-00-00,-4,return\n2026-03-06 08:00,J2,1x12,SPF,No. 2,1-00-00,10,cut\n",
	})
	// 6 at 1.00 and 10 at 3.00 are 36.00; four come back at 1.00: 40.00 for 20, 2.00 a board.
	p.oneCell("jobs", "SELECT string_agg(job || ' ' || usd, ', ' ORDER BY job) FROM (SELECT job, sum(usd) AS usd FROM dollar_ledger WHERE class = 'lumber' GROUP BY job)", "J1 0.00, J2 20.00")
	p.oneCell("stock", "SELECT sum(boards) || ' ' || sum(usd) AS t FROM board_ledger", "10 20.00")
	p.balanced()
}

// TestCounts: the plant's first count is its opening stock, later ones move the difference
// from the book; a full one says of what it doesn't list that it is not there.
func TestCounts(t *testing.T) {
	for _, settings := range []string{testSettings, withAverage()} {
		p := newTestPlant(t, settings, map[string]string{
			"jobs": "job,price_usd\nJ1,10000\n",
			"counts": "counted_on,size,species,grade,length,boards,usd_per_mbf,scope\n" +
				"2026-03-02,1x12,SPF,No. 2,1-00-00,10,1000,listed\n2026-03-02,1x12,SPF,No. 2,2-00-00,4,1000,listed\n" +
				"2026-03-10,1x12,SPF,No. 2,1-00-00,11,,listed\n" + // the book has 9: two are found
				"2026-03-20,1x12,SPF,No. 2,1-00-00,8,,full\n", // the book has 11; nothing of 2 ft is left
			// The receipt of the opening day comes after the count, the usage of a count's day before it.
			"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P0,1,1x12,SPF,No. 2,1-00-00,5,2000\n",
			"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n2026-03-10 08:00,J1,1x12,SPF,No. 2,1-00-00,6,cut\n",
		})
		p.oneCell("boards on hand", "SELECT string_agg(length_16ths // 192 || ' ft ' || n, ', ' ORDER BY length_16ths) FROM (SELECT length_16ths, sum(boards) AS n FROM board_ledger GROUP BY ALL)", "1 ft 8, 2 ft 0")
		p.oneCell("counted", "SELECT string_agg(moved_on || ' ' || length_16ths // 192 || ' ' || n, ', ' ORDER BY moved_on, length_16ths) FROM (SELECT moved_on, length_16ths, sum(boards) AS n FROM board_ledger WHERE kind = 'count' GROUP BY ALL)",
			"2026-03-10 1 2, 2026-03-20 1 -3, 2026-03-20 2 -4")
		p.balanced()
		if strings.Contains(settings, "average") {
			continue
		}
		// The two found are worth the last landed price, 2.00 each; losses take the oldest:
		// 3 x 1.00 and 4 boards of 2 ft at 2.00. 3.00 + 8.00 - 4.00 = 7.00 to the pool.
		p.oneCell("pool", "SELECT sum(usd) AS usd FROM dollar_ledger WHERE pool = 'count'", "7.00")
	}
}

// TestVendorCredit: a credit cheapens the boards of its line that are still on hand; what is
// for boards already used is no job's, and no negative usage.
func TestVendorCredit(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":         "job,price_usd\nJ1,10000\nJ2,10000\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf,credit_usd,credited_on\n2026-03-02,V1,P0,1,1x12,SPF,No. 2,1-00-00,10,10000,20,2026-03-05\n",
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n2026-03-03 08:00,J1,1x12,SPF,No. 2,1-00-00,4,cut\n2026-03-06 08:00,J2,1x12,SPF,No. 2,1-00-00,3,cut\n",
	})
	// Ten at 10.00; four are used: 8.00 of the credit are theirs, 12.00 make six cost 8.00 each.
	p.oneCell("lumber", "SELECT string_agg(coalesce(job, pool) || ' ' || usd, ', ' ORDER BY job, pool) FROM (SELECT job, pool, sum(usd) AS usd FROM dollar_ledger WHERE class = 'lumber' GROUP BY ALL)", "J1 40.00, J2 24.00, lumber_credit -8.00")
	p.oneCell("stock", "SELECT sum(boards) || ' ' || sum(usd) AS t FROM board_ledger", "3 24.00")
	p.balanced()
}

// TestCorrections: a reversal and the right row stand at the cost of the row that they
// correct, whatever boards cost since, and between two jobs nothing is left over.
func TestCorrections(t *testing.T) {
	for _, settings := range []string{testSettings, withAverage()} {
		p := newTestPlant(t, settings, map[string]string{
			"jobs": "job,price_usd\nJ1,10000\nJ2,10000\n",
			"receipts": "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n" +
				"2026-03-02,V1,P0,1,1x12,SPF,No. 2,1-00-00,10,1000\n2026-03-09,V1,P1,1,1x12,SPF,No. 2,1-00-00,10,5000\n",
			"lumber_usage": "record,corrects,used_at,job,size,species,grade,length,boards,reason\n" +
				"U1,,2026-03-03 08:00,J1,1x12,SPF,No. 2,1-00-00,10,cut\n" +
				"U2,U1,2026-03-10 08:00,J1,1x12,SPF,No. 2,1-00-00,-10,cut\nU3,U1,2026-03-10 08:01,J2,1x12,SPF,No. 2,1-00-00,8,cut\n" +
				"U4,U9,2026-03-11 08:00,J2,1x12,SPF,No. 2,1-00-00,-1,cut\n" + // no such record
				"U5,U3,2026-03-12 08:00,J1,1x12,SPF,No. 2,1-00-00,-1,cut\n", // takes J1 below nothing
		})
		// Ten boards at 1.00 move from J1 to J2 but for two, which come back at 1.00.
		p.oneCell("by the 10th", "SELECT string_agg(job || ' ' || usd, ', ' ORDER BY job) FROM (SELECT job, sum(usd) AS usd FROM dollar_ledger WHERE class = 'lumber' AND posted_on <= DATE '2026-03-10' GROUP BY job)", "J1 0.00, J2 8.00")
		if got := p.exception("correction", "5"); !strings.Contains(got, "no row has that record") {
			t.Errorf("unknown record: %q", got)
		}
		if got := p.exception("below-nothing", "6"); !strings.Contains(got, "job J1 with -1 boards") {
			t.Errorf("below nothing: %q", got)
		}
		p.balanced()
	}
}

// TestPackingSlipWithoutAPrice: the last landed price stands in, and the priced line takes
// its place when it comes; with none, the quoting price; with neither, the job is incomplete.
func TestPackingSlipWithoutAPrice(t *testing.T) {
	files := map[string]string{
		"jobs":          "job,price_usd,shipped_on\nJ1,10000,2026-03-12\nJ2,10000,2026-03-12\n",
		"lumber_prices": "effective_on,size,species,grade,length,usd_per_mbf\n2026-01-01,1x12,SPF,No. 1,,4000\n",
		"receipts": "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf,freight_usd\n" +
			"2026-03-02,V1,P0,1,1x12,SPF,No. 2,1-00-00,10,1000,\n2026-03-09,V1,P1,1,1x12,SPF,No. 2,1-00-00,10,,5.00\n2026-03-09,V1,P1,2,1x12,SPF,No. 1,1-00-00,10,,\n2026-03-09,V1,P1,3,1x12,SPF,No. 3,1-00-00,10,,\n",
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n2026-03-10 08:00,J1,1x12,SPF,No. 2,1-00-00,20,cut\n2026-03-10 08:00,J1,1x12,SPF,No. 1,1-00-00,10,cut\n2026-03-10 08:00,J2,1x12,SPF,No. 3,1-00-00,10,cut\n",
	}
	p := newTestPlant(t, testSettings, files)
	// 10.00 + 10 at the last 1.00 + freight 5.00; ten at the quoting 4.00; ten at nothing known.
	lumber := "SELECT string_agg(job || ' ' || usd, ', ' ORDER BY job) FROM (SELECT job, sum(usd) AS usd FROM dollar_ledger WHERE class = 'lumber' GROUP BY job)"
	p.oneCell("before", lumber, "J1 65.00, J2 0.00")
	for _, row := range p.rows("report", "margin_by_job", "--week", "2026-W11", "--format", "json") {
		if got := strings.Contains(asText(row["missing"]), "lumber without a price"); got != (asText(row["job"]) == "J2") {
			t.Errorf("%v: missing %v", row["job"], row["missing"])
		}
	}
	rows := p.rows("report", "received_not_invoiced", "--week", "2026-W11", "--format", "json")
	if len(rows) != 4 || asText(rows[1]["accrued_usd"]) != "15.00" || asText(rows[1]["days"]) != "6" {
		t.Errorf("received, not invoiced: %v", rows)
	}
	p.importFiles(map[string]string{"receipts-2": "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf,freight_usd\n2026-03-09,V1,P1,1,1x12,SPF,No. 2,1-00-00,10,1500,5.00\n"})
	p.oneCell("after", lumber, "J1 70.00, J2 0.00")
	p.balanced()
}

// TestIssuedWithNothingOnHand: no landed price is known, so the quoting price stands in until
// the receipt comes, which trues it up to the job on its own day.
func TestIssuedWithNothingOnHand(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":          "job,price_usd\nJ1,10000\n",
		"lumber_prices": "effective_on,size,species,grade,length,usd_per_mbf\n2026-01-01,1x12,SPF,No. 2,,4000\n2026-01-01,1x12,SPF,No. 2,1-00-00,3000\n",
		"receipts":      "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-09,V1,P0,1,1x12,SPF,No. 2,1-00-00,10,2500\n",
		"lumber_usage":  "used_at,job,size,species,grade,length,boards,reason\n2026-03-03 08:00,J1,1x12,SPF,No. 2,1-00-00,4,cut\n",
	})
	p.oneCell("issue and true-up", "SELECT string_agg(posted_on || ' ' || usd, ', ' ORDER BY posted_on) FROM dollar_ledger WHERE class = 'lumber'", "2026-03-03 12.00, 2026-03-09 -2.00")
	p.balanced()
}

// TestGradesAndSizes: a higher grade is dollars given away; a lower one, an unlisted one and
// another size are questions for the truss designer, never a saving.
func TestGradesAndSizes(t *testing.T) {
	settings := testSettings + "[[grades]]\nspecies = \"SPF\"\norder = [\"No. 1\", \"No. 2\"]\n"
	p := newTestPlant(t, settings, map[string]string{
		"jobs":          "job,price_usd\nJ1,10000\n",
		"trusses":       "job,truss,quantity\nJ1,A,10\nJ1,B,10\n",
		"cut_pieces":    "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,P,2x4,SPF,No. 2,8-00-00,1\nJ1,B,P,2x4,SPF,No. 1,8-00-00,1\n",
		"completions":   "station,job,truss,crew,shift,finished_at,quantity\nS1,J1,A,SAW,day,2026-03-16 07:00,10\nS1,J1,B,SAW,day,2026-03-16 08:00,10\n",
		"lumber_prices": "effective_on,size,species,grade,length,usd_per_mbf\n2026-01-01,2x4,SPF,No. 1,,800\n2026-01-01,2x4,SPF,No. 2,,500\n",
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason,for_grade\n" +
			"2026-03-16 06:00,J1,2x4,SPF,No. 1,12-00-00,5,cut,No. 2\n" + // 40 BF x 300 a thousand
			"2026-03-16 06:01,J1,2x4,SPF,No. 2,12-00-00,5,cut,No. 1\n2026-03-16 06:02,J1,2x4,SPF,Stud,12-00-00,1,cut,No. 2\n2026-03-16 06:03,J1,2x6,SPF,No. 2,12-00-00,1,cut,\n",
	})
	rows := p.rows("report", "grade_substitution", "--week", "2026-W12", "--format", "json")
	got := []string{}
	for _, row := range rows {
		got = append(got, strings.Join([]string{asText(row["size"]), asText(row["used_grade"]), asText(row["specified"]), asText(row["given_away_usd"]), strings.Fields(asText(row["action"]))[0], asText(row["trusses"])}, "|"))
	}
	want := "2x4|No. 2|No. 1||STOP|J1 B, 2x4|Stud|No. 2||STOP|J1 A, 2x6|No. 2|||STOP|J1 A, J1 B, 2x4|No. 1|No. 2|12.00|a|J1 A"
	if strings.Join(got, ", ") != want {
		t.Errorf("%s\nwant %s", strings.Join(got, ", "), want)
	}
	p.oneCell("stop and ask", "SELECT count(*) AS n FROM exceptions WHERE topic = 'ask the truss designer'", "3")
}
