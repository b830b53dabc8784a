package main

import "testing"

// TestLumberVarianceIsNoOverhead: what a count misses, what a vendor credits for boards already
// used and boards that no job took are lumber variance; boards for the shop are overhead. The
// overhead sheet and the journal agree.
func TestLumberVarianceIsNoOverhead(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity,plate_usd\nJ1,A,4,0\n",
		// A board of 8 BF at 500 is 4.00: ten go to the job, two to the shop, one to a batch that
		// nothing was cut from; of 37 left the count misses two; the credit takes a tenth off.
		"receipts": "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf,credit_usd,credited_on\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,50,500,20,2026-03-25\n",
		"lumber_usage": "used_at,job,batch,size,species,grade,length,boards,reason\n2026-03-16 06:00,J1,,2x4,SPF,No. 2,12-00-00,10,cut\n" +
			"2026-03-17 06:00,,B9,2x4,SPF,No. 2,12-00-00,1,cut\n2026-03-17 07:00,J1,,2x4,SPF,No. 2,12-00-00,2,shop\n",
		"counts":    "counted_on,size,species,grade,length,boards,usd_per_mbf,scope\n2026-03-01,2x4,SPF,No. 2,12-00-00,0,,listed\n2026-03-20,2x4,SPF,No. 2,12-00-00,35,,listed\n",
		"overheads": "month,pool,budget_usd,actual_usd\n2026-03-01,rent,,100\n",
	})
	actual := map[string]string{}
	for _, row := range p.rows("report", "overhead", "--month", "2026-03", "--format", "json", "--wages") {
		actual[asText(row["pool"])] = asText(row["actual_usd"])
	}
	if len(actual) != 3 || actual["shop"] != "8.00" || actual["rent"] != "100.00" || actual["TOTAL"] != "108.00" {
		t.Errorf("overhead %v, want 8.00 for the shop and 100.00 of rent alone", actual)
	}
	// Two boards missed and one unassigned are 12.00; 15 of 50 boards are used, 0.40 of credit each.
	sums := map[string]string{"overhead actual": "108.00", "lumber variance": "6.00"}
	for account, want := range sums {
		sum := exact(t, "0")
		for _, row := range p.rows("report", "journal", "--month", "2026-03", "--format", "json", "--wages") {
			if asText(row["account"]) != account {
				continue
			}
			if debit := asText(row["debit_usd"]); debit != "" {
				sum.Add(sum, exact(t, debit))
			}
			if credit := asText(row["credit_usd"]); credit != "" {
				sum.Sub(sum, exact(t, credit))
			}
		}
		if got := sum.FloatString(2); got != want {
			t.Errorf("%s %s, want %s", account, got, want)
		}
	}
	p.balanced()
}
