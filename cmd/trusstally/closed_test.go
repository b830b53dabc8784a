package main

import "testing"

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
				for column, want := range map[string]string{"added_usd": cost, "sold_usd": "-" + cost, "wip_closing_usd": "0.00", "fg_closing_usd": "0.00", "earned_usd": revenue} {
					if got := asText(first("wip_rollforward")[column]); got != want {
						t.Errorf("before %s: %s %s, want %s", until, column, got, want)
					}
				}
				for column, want := range map[string]string{"kind": "shipped", "revenue_usd": revenue, "sold_usd": cost, "margin_usd": margin} {
					if got := asText(first("cost_of_goods_sold")[column]); got != want {
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
