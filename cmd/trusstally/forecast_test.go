package main

import "testing"

// TestForecast works out by hand what an open job is heading for, class by class.
//
// Design board feet: A 4 x 10 + B 2 x 30 = 100; cut are 4 A and 1 B, so 30 of 100 are not.
// Quoted minutes: A 30 + 4 x 60, B 60 + 2 x 150: 630, 540 of them to build. Built are 3 A: one A
// and two B are left, 60 + 300 = 360. Both marks are cut: neither set-up is left.
func TestForecast(t *testing.T) {
	files := map[string]string{
		"jobs": "job,price_usd,promised_on,quoted_lumber_usd,quoted_plate_usd,quoted_labour_usd,quoted_other_usd,quoted_delivery_usd,quoted_overhead_usd\n" +
			"J1,2000,2026-03-30,400,100,600,50,80,300\nJ2,2000,2026-03-31,400,,600,50,80,300\n",
		"trusses": "job,truss,quantity,design_bf,plate_usd,quoted_setup_min,quoted_build_min\nJ1,A,4,10,5,30,60\nJ1,B,2,30,10,60,150\nJ2,A,1,10,5,30,60\n",
		"wages":   oneWage,
		"timecards": "employee,crew,shift,station,started_at,ended_at\n" +
			"E1,RED,day,T1,2026-03-16 06:00,2026-03-16 08:00\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\n" +
			"S1,J1,A,SAW,day,2026-03-16 05:00,2026-03-16 05:20,4\nS1,J1,B,SAW,day,2026-03-16 05:20,2026-03-16 05:40,1\n" +
			"T1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 08:00,3\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,100,500\n",
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n2026-03-16,J1,2x4,SPF,No. 2,12-00-00,10,cut\n",
		"job_costs":    "document,job,incurred_on,kind,amount_usd\nD1,J1,2026-03-16,hardware,70\nD2,J1,2026-03-17,repair,25\n",
	}
	p := newTestPlant(t, testSettings, files)
	p.oneCell("classes", "SELECT concat_ws(' ', lumber_cents, plates_cents, labour_cents, material_cents, delivery_cents, other_cents, overhead_cents) AS c FROM job_forecast(DATE '2026-03-23') WHERE job = 'J1'",
		// Lumber 10 boards of 8 BF at 500 = 40.00, and 400 x 30 / 100. Plates 3 x 5, and 100 x 360 / 540.
		// Labour 2 h at 20 with a quarter of burden, and 600 x 360 / 630. Hardware is over its 50, delivery
		// waits at 80, the repair was never quoted. Overhead 2 h at 10, and 300 x 360 / 630.
		"16000 8167 39286 7000 8000 2500 19143")
	rows := p.rows("report", "open_jobs", "--week", "2026-W12", "--format", "json")
	for i, wants := range []map[string]string{
		{"job": "J1", "forecast_cost_usd": "1000.96", "forecast_margin_usd": "999.04", "forecast_by": "quoted minutes"},
		{"job": "J2", "forecast_cost_usd": "", "forecast_margin_usd": "", "forecast_by": "no forecast: plates not quoted"},
	} {
		for column, want := range wants {
			if got := asText(rows[i][column]); got != want {
				t.Errorf("row %d: %s %q, want %q", i, column, got, want)
			}
		}
	}

	// Without quoted minutes trusses are counted: 3 of 6 are left.
	files["trusses"] = "job,truss,quantity,design_bf,plate_usd\nJ1,A,4,10,5\nJ1,B,2,30,10\nJ2,A,1,10,5\n"
	p = newTestPlant(t, testSettings, files)
	p.oneCell("by number", "SELECT concat_ws(' ', lumber_cents, plates_cents, labour_cents, overhead_cents) AS c FROM job_forecast(DATE '2026-03-23') WHERE job = 'J1'", "16000 6500 35000 17000")
	p.balanced()
}
