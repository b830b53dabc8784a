package main

import (
	"strings"
	"testing"
)

// A small plant by hand: one job of four trusses, built by two people on Monday 2026-03-16.
// Everything below is worked out on paper beside the assertion.
func handPlant(t *testing.T, settings string) *testPlant {
	return newTestPlant(t, settings, map[string]string{
		"jobs":    "job,customer,shipped_on,price_usd,quoted_lumber_usd,quoted_plate_usd,quoted_labour_usd\nJ1,C1,2026-03-18,1000.00,200,30,100\n",
		"trusses": "job,truss,kind,quantity,plies,plate_usd\nJ1,A,common,4,1,7.125\n",
		// 2 x 10 ft of 2x4 a truss: 2 x 6 2/3 = 13 1/3 BF; four trusses 53 1/3 BF.
		"cut_pieces":  "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,TC,2x4,SPF,No. 2,10-00-00,2\n",
		"wages":       "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\nE2,2026-01-01,direct,24\n",
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00\nE2,RED,day,T1,2026-03-16 07:00,2026-03-16 10:00\n",
		"completions": "station,job,truss,crew,shift,setup_started_at,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16 06:30,2026-03-16 07:30,2026-03-16 09:00,4\n",
		"receipts":    "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf,freight_usd\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,100,500,40\n",
		// Eight 12-ft boards: 8 BF each, 64 BF; 100 boards cost 400 + 40 = 4.40 a board.
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n2026-03-16 06:00,J1,2x4,SPF,No. 2,12-00-00,8,cut\n",
		"invoices":     "invoice,job,invoiced_on,amount_usd,kind\nI1,J1,2026-03-18,1000,sale\nI2,J1,2026-03-19,-50,credit\n",
		"job_costs":    "document,job,incurred_on,kind,amount_usd\nD1,J1,2026-03-18,delivery,60\nD2,J1,2026-03-18,hardware,10.10\nD3,J1,2026-03-18,repair,5\n",
	})
}

func TestHandPlantMargin(t *testing.T) {
	p := handPlant(t, testSettings)
	p.balanced()
	rows := p.rows("report", "margin_by_job", "--week", "2026-W12", "--format", "json")
	if len(rows) != 1 {
		t.Fatalf("%d rows, want 1", len(rows))
	}
	// Set-up 06:30-07:30: E1 60 min, E2 30; build 07:30-09:00: 90 each. E1 2.5 h, E2 2 h.
	// Labour 2.5 x 20 + 2 x 24 = 98.00, burden 24.50, overhead 4.5 h x 10 = 45.00.
	want := map[string]string{
		"job": "J1", "status": "complete", "price_usd": "1000.00", "revenue_usd": "950.00",
		"lumber_usd": "35.20", "plates_usd": "28.50", "other_material_usd": "10.10", "labour_usd": "122.50",
		"delivery_usd": "60.00", "other_usd": "5.00", "overhead_usd": "45.00", "cost_usd": "306.30", "margin_usd": "643.70",
		"margin_pct": "0.677579", "quoted_margin_usd": "670.00",
		// The quote leaves overhead out: 643.70 + 45.00 - 670.00.
		"variance_usd": "18.70",
	}
	for column, value := range want {
		if got := asText(rows[0][column]); got != value {
			t.Errorf("%s: %s, want %s", column, got, value)
		}
	}
}

func TestHandPlantLabourAndYield(t *testing.T) {
	p := handPlant(t, testSettings)
	labour := p.rows("report", "labour_per_truss", "--week", "2026-W12", "--format", "json")
	if len(labour) != 1 {
		t.Fatalf("%d rows, want 1", len(labour))
	}
	for column, value := range map[string]string{
		"crew": "RED", "shift": "day", "station": "T1", "trusses": "4", "setup_min": "90.00", "build_min": "180.00",
		"labour_min_per_truss": "67.500000", "setup_min_per_truss": "22.500000", "build_min_per_truss": "45.000000",
		"finished_bf": "53.3333", "bf_per_labour_hour": "11.851844",
	} {
		if got := asText(labour[0][column]); got != value {
			t.Errorf("%s: %s, want %s", column, got, value)
		}
	}
	minutes := p.rows("report", "minutes_accounted", "--week", "2026-W12", "--format", "json")
	// Paid 4 + 3 h = 420; waiting 06:00-06:30 E1 30, 09:00-10:00 both 120.
	for column, value := range map[string]string{"paid_min": "420.00", "setup_min": "90.00", "build_min": "180.00", "waiting_min": "150.00"} {
		if got := asText(minutes[0][column]); got != value {
			t.Errorf("%s: %s, want %s", column, got, value)
		}
	}
	feet := p.rows("report", "board_feet_by_grade", "--week", "2026-W12", "--format", "json")
	for column, value := range map[string]string{
		"size": "2x4", "grade": "No. 2", "issued_bf": "64.0000", "returned_bf": "0.0000", "finished_bf": "53.3333", "waste_bf": "10.6667",
		"waste_pct": "0.166667", "lumber_usd": "35.20",
	} {
		if got := asText(feet[0][column]); got != value {
			t.Errorf("%s: %s, want %s", column, got, value)
		}
	}
	waste := p.rows("report", "waste", "--week", "2026-W12", "--format", "json")
	// Kerf: 8 parts x 1/8 in x 8 sq in = 8 cu in = 0.0556 BF; offcut the rest of 10.6667.
	for column, value := range map[string]string{"unit": "J1", "trusses_by": "table", "kerf_trim_bf": "0.0556", "offcut_bf": "10.6111", "unexplained_bf": "0.0000", "waste_usd": "5.87"} {
		if got := asText(waste[0][column]); got != value {
			t.Errorf("%s: %s, want %s", column, got, value)
		}
	}
}

// TestUnpaidLunch: half an hour comes off evenly over the punch, and not off a punch that
// is too short for a meal.
func TestUnpaidLunch(t *testing.T) {
	p := handPlant(t, testSettings)
	p.importFiles(map[string]string{"timecards-1": "employee,crew,shift,station,started_at,ended_at,unpaid_min\nE1,RED,day,T1,2026-03-17 06:00,2026-03-17 14:30,30\nE2,RED,day,T1,2026-03-17 06:00,2026-03-17 08:00,30\n"})
	if got := p.value("SELECT string_agg(s, ' ' ORDER BY employee) FROM (SELECT employee, sum(seconds) // 60 AS s FROM minute_ledger WHERE work_date = DATE '2026-03-17' GROUP BY employee)"); got != "480 90" {
		t.Errorf("paid minutes %s, want 480 90", got)
	}
	p.write("plant.toml", strings.Replace(testSettings, "[pay]\n", "[pay]\nmeal_after_hours = 5\n", 1))
	if _, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
		t.Fatalf("run: exit %d\n%s", code, stderr)
	}
	if got := p.value("SELECT string_agg(s, ' ' ORDER BY employee) FROM (SELECT employee, sum(seconds) // 60 AS s FROM minute_ledger WHERE work_date = DATE '2026-03-17' GROUP BY employee)"); got != "480 120" {
		t.Errorf("paid minutes with meal_after_hours %s, want 480 120", got)
	}
}

// TestNightShifts: real elapsed time over midnight and over the clock changes of 2026 in
// America/Chicago (published: 7, 8 and 9 hours from 22:00 to 06:00), posted by calendar
// day, reported by the date on which the shift began, overtime by the workweek.
func TestNightShifts(t *testing.T) {
	cases := []struct{ name, from, to, hours, byDay, byWeek string }{
		{"clock goes forward", "2026-03-07 22:00", "2026-03-08 06:00", "7", "2026-03-07 2, 2026-03-08 5", "2026-03-02 7"},
		{"clock goes back", "2026-10-31 22:00", "2026-11-01 06:00", "9", "2026-10-31 2, 2026-11-01 7", "2026-10-26 9"},
		{"over the workweek's start", "2026-03-15 22:00", "2026-03-16 06:00", "8", "2026-03-15 2, 2026-03-16 6", "2026-03-09 2, 2026-03-16 6"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := newTestPlant(t, testSettings, map[string]string{
				"wages":     "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\n",
				"timecards": "employee,crew,shift,station,started_at,ended_at\nE1,RED,night,T1," + c.from + "," + c.to + "\n",
			})
			if got := p.value("SELECT sum(seconds) // 3600 AS hours FROM minute_ledger WHERE work_date = DATE '" + c.from[:10] + "'"); got != c.hours {
				t.Errorf("%s hours on the shift date, want %s", got, c.hours)
			}
			if got := p.value("SELECT string_agg(d || ' ' || h, ', ' ORDER BY d) FROM (SELECT posted_on AS d, (sum(usd) / 20)::BIGINT AS h FROM dollar_ledger WHERE class = 'waiting' GROUP BY posted_on)"); got != c.byDay {
				t.Errorf("posted %s, want %s", got, c.byDay)
			}
			if got := p.value("SELECT string_agg(workweek_start || ' ' || worked_seconds // 3600, ', ' ORDER BY workweek_start) FROM pay_weeks"); got != c.byWeek {
				t.Errorf("workweeks %s, want %s", got, c.byWeek)
			}
			p.balanced()
		})
	}
}

// TestRunsOpenTogether share the people at the station equally, and a person without a
// station follows the crew.
func TestRunsOpenTogether(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":      "job,price_usd\nJ1,1000\nJ2,1000\n",
		"trusses":   "job,truss,quantity\nJ1,A,4\nJ2,B,4\n",
		"wages":     "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\nE2,2026-01-01,indirect,20\n",
		"timecards": "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,,2026-03-16 06:00,2026-03-16 10:00\nE2,,day,T1,2026-03-16 06:00,2026-03-16 10:00\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\n" +
			"T1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 08:00,4\nT1,J2,B,RED,day,2026-03-16 07:00,2026-03-16 09:00,4\n",
	})
	// 06-07 J1 alone, 07-08 shared, 08-09 J2 alone: 90 minutes each for each of two people.
	// Afterwards E1 waits where the crew's last run was; E2's role makes it indirect.
	got := p.value("SELECT string_agg(e || ' ' || coalesce(j, u) || ' ' || m, ', ' ORDER BY e, j NULLS LAST) FROM (SELECT employee AS e, job AS j, use AS u, sum(seconds) // 60 AS m FROM minute_ledger GROUP BY ALL)")
	want := "E1 J1 90, E1 J2 90, E1 waiting 60, E2 J1 90, E2 J2 90, E2 indirect 60"
	if got != want {
		t.Errorf("minutes %s, want %s", got, want)
	}
	// No set-up was recorded: blank, never 0.
	rows := p.rows("report", "labour_per_truss", "--week", "2026-W12", "--format", "json")
	if got := asText(rows[0]["setup_min_per_truss"]); got != "" {
		t.Errorf("set-up per truss %s, want blank", got)
	}
	p.balanced()
}

// TestIncompleteJobs: what is missing blanks the margin and is named; a blank is no zero.
func TestIncompleteJobs(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":       "job,shipped_on,price_usd\nBARE,2026-03-18,500\nNOWOOD,2026-03-18,500\nFEW,2026-03-18,500\nIDLE,2026-03-18,500\nNOPLATE,2026-03-18,500\n",
		"trusses":    "job,truss,quantity,plate_usd\nNOWOOD,A,1,5\nFEW,A,1,5\nIDLE,A,1,5\nNOPLATE,A,1,\n",
		"cut_pieces": "job,truss,piece,size,species,grade,length,pieces_per_ply\nNOWOOD,A,P,2x4,SPF,No. 2,10-00-00,1\nFEW,A,P,2x4,SPF,No. 2,10-00-00,2\nIDLE,A,P,2x4,SPF,No. 2,10-00-00,1\nNOPLATE,A,P,2x4,SPF,No. 2,10-00-00,1\n",
		"wages":      "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\n",
		"timecards":  "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 12:00\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\n" +
			"T1,NOWOOD,A,RED,day,2026-03-16 06:00,2026-03-16 07:00,1\nT1,FEW,A,RED,day,2026-03-16 07:00,2026-03-16 08:00,1\n" +
			"T1,IDLE,A,RED,day,2026-03-17 06:00,2026-03-17 07:00,1\nT1,NOPLATE,A,RED,day,2026-03-16 09:00,2026-03-16 10:00,1\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,100,500\n",
		"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n2026-03-16,FEW,2x4,SPF,No. 2,12-00-00,1,cut\n2026-03-16,IDLE,2x4,SPF,No. 2,12-00-00,1,cut\n2026-03-16,NOPLATE,2x4,SPF,No. 2,12-00-00,1,cut\n",
	})
	want := map[string]string{
		"BARE": "nothing logged as cut or built; no quote", "NOWOOD": "no boards logged; no quote", "FEW": "fewer boards than the parts need; no quote",
		"IDLE": "1 run without people-minutes; no quote", "NOPLATE": "no plate cost; no quote",
	}
	rows := p.rows("report", "margin_by_job", "--week", "2026-W12", "--format", "json")
	if len(rows) != len(want) {
		t.Errorf("%d rows, want %d", len(rows), len(want))
	}
	for _, row := range rows {
		job := asText(row["job"])
		if row["margin_usd"] != nil || row["margin_pct"] != nil || asText(row["status"]) != "incomplete" {
			t.Errorf("%s: margin %v, status %v; want a blank and incomplete", job, row["margin_usd"], row["status"])
		}
		if got := asText(row["missing"]); got != want[job] {
			t.Errorf("%s: missing %q, want %q", job, got, want[job])
		}
	}
	p.balanced()
}

// TestTwoPlyGirderAndRemake: plies double the pieces and never the trusses; a remake's
// minutes are on the job and out of the crew's rate.
func TestTwoPlyGirderAndRemake(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":       "job,shipped_on,price_usd\nJ1,2026-03-18,500\n",
		"trusses":    "job,truss,quantity,plies,plate_usd\nJ1,G,1,2,5\n",
		"cut_pieces": "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,G,P,2x4,SPF,No. 2,12-00-00,1\n",
		"wages":      "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\n",
		"timecards":  "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 09:00\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity,remake\n" +
			"T1,J1,G,RED,day,2026-03-16 06:00,2026-03-16 07:00,1,\nT1,J1,G,RED,day,2026-03-16 07:00,2026-03-16 09:00,1,abnormal\n",
	})
	rows := p.rows("report", "labour_per_truss", "--week", "2026-W12", "--format", "json")
	for column, value := range map[string]string{"trusses": "1", "build_min": "60.00", "remade": "1", "finished_bf": "16.0000"} {
		if got := asText(rows[0][column]); got != value {
			t.Errorf("%s: %s, want %s", column, got, value)
		}
	}
	if got := p.value("SELECT sum(seconds) // 60 AS m FROM minute_ledger WHERE job = 'J1'"); got != "180" {
		t.Errorf("%s minutes on the job, want 180", got)
	}
	if got := p.value("SELECT sum(usd) AS usd FROM dollar_ledger WHERE class = 'plates'"); got != "5.00" {
		t.Errorf("plates %s, want 5.00: a remake has no second standard plate cost", got)
	}
}

// TestBoardsWithoutAJob are allotted over the parts cut of the batch, by design board feet.
func TestBoardsWithoutAJob(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":       "job,price_usd\nJ1,500\nJ2,500\n",
		"trusses":    "job,truss,quantity\nJ1,A,1\nJ2,A,1\n",
		"cut_pieces": "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,P,2x4,SPF,No. 2,8-00-00,1\nJ2,A,P,2x4,SPF,No. 2,4-00-00,1\n",
		"completions": "station,batch,job,truss,crew,shift,shift_date,finished_at,quantity\n" +
			"S1,B1,J1,A,SAW,day,2026-03-16,2026-03-16 07:00,1\nS1,B1,J2,A,SAW,day,2026-03-16,2026-03-16 07:30,1\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,3,1000\n",
		"lumber_usage": "used_at,batch,station,size,species,grade,length,boards,reason\n2026-03-16,B1,,2x4,SPF,No. 2,12-00-00,1,cut\n2026-03-16,,S1,2x4,SPF,No. 2,12-00-00,1,cut\n2026-03-16,,S1,2x4,SPF,No. 2,12-00-00,1,shop\n",
	})
	// A board costs 8.00: two thirds to J1, one third to J2, cents by largest remainder.
	got := p.value("SELECT string_agg(coalesce(j, pl) || ' ' || u, ', ' ORDER BY j NULLS LAST, u) FROM (SELECT job AS j, pool AS pl, usd AS u FROM dollar_ledger WHERE class = 'lumber')")
	if want := "J1 5.33, J1 5.33, J2 2.67, J2 2.67, shop 8.00"; got != want {
		t.Errorf("lumber %s, want %s", got, want)
	}
	p.balanced()
}

// TestReturnedRemnant: a 16-ft board at 8.00 of which 6 ft come back credits 3.00, and the
// yield's base is 10 ft (trade case: remnants at the parent's cost by length).
func TestReturnedRemnant(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":         "job,price_usd\nJ1,500\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,16-00-00,1,750\n",
		"lumber_usage": "used_at,job,size,species,grade,length,from_length,boards,reason\n2026-03-16 06:00,J1,2x4,SPF,No. 2,16-00-00,,1,cut\n2026-03-16 07:00,J1,2x4,SPF,No. 2,6-00-00,16-00-00,-1,return\n",
	})
	if got := p.value("SELECT sum(usd) AS usd FROM dollar_ledger WHERE class = 'lumber'"); got != "5.00" {
		t.Errorf("lumber %s, want 8.00 - 3.00 = 5.00", got)
	}
	if got := p.value("SELECT sum(boards) || ' x ' || any_value(length_16ths) || ' at ' || sum(usd) FROM board_ledger WHERE length_16ths = 6 * 192"); got != "1 x 1152 at 3.00" {
		t.Errorf("stock %s, want 1 x 1152 at 3.00", got)
	}
	p.balanced()
}

// TestRevenue: price when shipped, credits on their own date, a closed job its invoices;
// deposits are billing and no revenue; what comes later is a prior row.
func TestRevenue(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":     "job,shipped_on,closed_on,price_usd\nOPEN,,,900\nSHIPPED,2026-03-10,,1000\nCLOSED,2026-03-10,2026-03-17,1000\n",
		"invoices": "invoice,job,invoiced_on,amount_usd,kind\nI1,OPEN,2026-03-10,300,deposit\nI2,SHIPPED,2026-03-10,1000,sale\nI3,SHIPPED,2026-03-18,-80,credit\nI4,CLOSED,2026-03-11,990,sale\nI5,CLOSED,2026-03-18,-10,credit\n",
	})
	got := p.value("SELECT string_agg(job || ' ' || posted_on || ' ' || usd, ', ' ORDER BY job, posted_on) FROM dollar_ledger WHERE class = 'revenue'")
	want := "CLOSED 2026-03-10 1000.00, CLOSED 2026-03-17 -10.00, CLOSED 2026-03-18 -10.00, SHIPPED 2026-03-10 1000.00, SHIPPED 2026-03-18 -80.00"
	if got != want {
		t.Errorf("revenue\n%s, want\n%s", got, want)
	}
	rows := p.rows("report", "margin_by_job", "--week", "2026-W12", "--format", "json")
	for _, row := range rows {
		if asText(row["status"]) != "prior" {
			t.Errorf("%v: status %v, want prior", row["job"], row["status"])
		}
	}
	if len(rows) != 2 {
		t.Errorf("%d rows, want 2", len(rows))
	}
	p.balanced()
}

// TestPremiumToTheJob: with overtime_premium = "job" the premium follows all of the
// person's run time of the workweek.
func TestPremiumToTheJob(t *testing.T) {
	files := map[string]string{
		"jobs":    "job,price_usd\nJ1,500\nJ2,500\n",
		"trusses": "job,truss,quantity\nJ1,A,1\nJ2,A,1\n",
		"wages":   "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\n",
	}
	var timecards, completions strings.Builder
	timecards.WriteString("employee,crew,shift,station,started_at,ended_at\n")
	completions.WriteString("station,job,truss,crew,shift,build_started_at,finished_at,quantity\n")
	for _, day := range []string{"16", "17", "18", "19", "20"} {
		timecards.WriteString("E1,RED,day,T1,2026-03-" + day + " 06:00,2026-03-" + day + " 15:00\n")
		job := "J1"
		if day == "20" {
			job = "J2"
		}
		completions.WriteString("T1," + job + ",A,RED,day,2026-03-" + day + " 06:00,2026-03-" + day + " 15:00,1\n")
	}
	files["timecards"], files["completions"] = timecards.String(), completions.String()
	// 45 h at 20: premium 5 h x 10 = 50; 36 h on J1, 9 h on J2.
	for setting, want := range map[string]string{"overhead": "premium 50.00", "job": "J1 40.00, J2 10.00"} {
		p := newTestPlant(t, strings.Replace(testSettings, "[pay]\n", "[pay]\novertime_premium = \""+setting+"\"\n", 1), files)
		got := p.value("SELECT string_agg(n || ' ' || u, ', ' ORDER BY n) FROM (SELECT coalesce(job, pool) AS n, sum(usd) AS u FROM dollar_ledger WHERE class = 'overtime_premium' GROUP BY ALL)")
		if got != want {
			t.Errorf("%s: %s, want %s", setting, got, want)
		}
		p.balanced()
	}
}

// TestOverlappingPunches: the later counts from the end of the earlier, never both.
func TestOverlappingPunches(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"wages":     "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\n",
		"timecards": "employee,station,started_at,ended_at\nE1,T1,2026-03-16 06:00,2026-03-16 10:00\nE1,T1,2026-03-16 09:00,2026-03-16 12:00\nE1,T1,2026-03-16 09:30,2026-03-16 11:00\n",
	})
	if got := p.value("SELECT sum(seconds) // 60 AS m FROM minute_ledger"); got != "360" {
		t.Errorf("%s minutes paid, want 360", got)
	}
	if got := p.value("SELECT count(*) FROM exceptions WHERE code = 'overlapping-punches'"); got != "2" {
		t.Errorf("%s overlaps listed, want 2", got)
	}
	p.balanced()
}

// TestPayrollBridgeOverTheWorkweek: a night shift of one person at 20.00, Sunday 22:00 to
// Monday 06:00, has 2 hours in one workweek and 6 in the next. A week's bridge lists that
// week alone, and what one shows over midnight the other shows with the opposite sign.
func TestPayrollBridgeOverTheWorkweek(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"wages":     "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\n",
		"timecards": "employee,crew,shift,station,started_at,ended_at\nE1,RED,night,T1,2026-03-15 22:00,2026-03-16 06:00\n",
	})
	for week, want := range map[string]map[string]string{
		"2026-W11": {"pay_period": "2026-W11", "gross_usd": "40.00", "in_period_usd": "40.00", "shift_dates_usd": "160.00", "over_midnight_usd": "-120.00"},
		"2026-W12": {"pay_period": "2026-W12", "gross_usd": "120.00", "in_period_usd": "120.00", "shift_dates_usd": "0.00", "over_midnight_usd": "120.00"},
	} {
		rows := p.rows("report", "payroll_bridge", "--week", week, "--wages", "--format", "json")
		if len(rows) != 1 {
			t.Fatalf("%s: %d workweeks, want 1", week, len(rows))
		}
		for column, value := range want {
			if got := asText(rows[0][column]); got != value {
				t.Errorf("%s: %s %s, want %s", week, column, got, value)
			}
		}
	}
}
