package main

import (
	"strings"
	"testing"
)

// Faults that an independent re-computation found, each with its smallest plant.

const oneWage = "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\n"

// TestBooksWithoutAnySetUp: a crew that recorded no set-up all week still gets its books.
func TestBooksWithoutAnySetUp(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,500\n", "trusses": "job,truss,quantity\nJ1,A,2\n", "wages": oneWage,
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 14:00\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16 06:30,2026-03-16 11:00,2\n",
	})
	if _, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
		t.Fatalf("run: exit %d\n%s", code, stderr)
	}
	row := p.rows("report", "labour_per_truss", "--week", "2026-W12", "--format", "json")[0]
	if row["setup_min"] != nil || asText(row["labour_min"]) != "270.00" || asText(row["labour_min_per_truss"]) != "135.000000" {
		t.Errorf("set-up %v, labour %v, a truss %v; want blank, 270 and 135", row["setup_min"], row["labour_min"], row["labour_min_per_truss"])
	}
}

// TestReturnWithoutAPriceServesAShortage: J1 takes 14 boards of 10 at 4.00; J2 brings back 4
// of boards that never had a price. They come in at the last landed price: nothing is
// trued down, stock is 0 boards at 0.00, and 10 more boards stand at their own 40.00.
func TestReturnWithoutAPriceServesAShortage(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":         "job,price_usd\nJ1,500\nJ2,500\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,10,500\n",
		"lumber_usage": "used_at,job,size,species,grade,length,from_length,boards,reason\n2026-03-03 06:00,J1,2x4,SPF,No. 2,12-00-00,,14,cut\n2026-03-03 07:00,J2,2x4,SPF,No. 2,16-00-00,,5,cut\n2026-03-03 08:00,J2,2x4,SPF,No. 2,12-00-00,16-00-00,-4,return\n",
	})
	p.balanced()
	stock := "SELECT sum(boards) || ' at ' || sum(usd) FROM board_ledger WHERE length_16ths = 12 * 192"
	if got := p.value(stock); got != "0 at 0.00" {
		t.Errorf("stock %s, want 0 at 0.00", got)
	}
	if got := p.value("SELECT sum(usd) AS usd FROM dollar_ledger WHERE job = 'J1'"); got != "56.00" {
		t.Errorf("J1 %s, want 14 boards at 4.00", got)
	}
	p.importFiles(map[string]string{"receipts-1": "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-09,V1,P2,1,2x4,SPF,No. 2,12-00-00,10,500\n"})
	p.balanced()
	if got := p.value(stock); got != "10 at 40.00" {
		t.Errorf("stock %s, want 10 at 40.00", got)
	}
}

// TestReturnUnderAnotherTag: boards logged by batch come back under the job, and the other
// way round, at what was posted for them.
func TestReturnUnderAnotherTag(t *testing.T) {
	for name, rows := range map[string]string{
		"by batch, back by job and batch": "2026-03-16 06:00,,B1,2x4,SPF,No. 2,12-00-00,10,cut\n2026-03-16 09:00,J1,B1,2x4,SPF,No. 2,12-00-00,-4,return\n",
		"by job and batch, back by batch": "2026-03-16 06:00,J1,B1,2x4,SPF,No. 2,12-00-00,10,cut\n2026-03-16 09:00,,B1,2x4,SPF,No. 2,12-00-00,-4,return\n",
		"by batch, back by job":           "2026-03-16 06:00,,B1,2x4,SPF,No. 2,12-00-00,10,cut\n2026-03-16 09:00,J1,,2x4,SPF,No. 2,12-00-00,-4,return\n",
	} {
		p := newTestPlant(t, testSettings, map[string]string{
			"jobs": "job,price_usd\nJ1,500\n", "trusses": "job,truss,quantity\nJ1,A,1\n",
			"cut_pieces":   "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,P,2x4,SPF,No. 2,8-00-00,1\n",
			"completions":  "station,batch,job,truss,crew,shift,shift_date,finished_at,quantity\nS1,B1,J1,A,SAW,day,2026-03-16,2026-03-16 07:00,1\n",
			"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,20,500\n",
			"lumber_usage": "used_at,job,batch,size,species,grade,length,boards,reason\n" + rows,
		})
		if got := p.value("SELECT sum(usd) AS usd FROM dollar_ledger WHERE job = 'J1'"); got != "24.00" {
			t.Errorf("%s: J1 %s, want 6 boards at 4.00", name, got)
		}
		p.balanced()
	}
}

// TestOddPunchIsListed: unpaid minutes as long as the punch leave 0 hours, which somebody
// must settle: worked time is owed.
func TestOddPunchIsListed(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"wages": oneWage, "timecards": "employee,station,started_at,ended_at,unpaid_min\nE1,T1,2026-03-16 06:00,2026-03-16 06:20,30\n",
	})
	stdout, _, code := p.run("check")
	if code != exitData || !strings.Contains(stdout, "timecards.csv:2: settle before payroll: punch of E1: unpaid minutes as long as the punch") {
		t.Errorf("check: exit %d\n%s", code, stdout)
	}
}

// TestBetweenRunsPeopleStay: RED builds at T1 until 11:00 and at T2 from 20:00; one of RED's
// people clocks 06:00 to 16:00. From 11:00 on the person waits at T1 and is on no run of
// BLUE's, who build at T2 from 12:00. The next morning before RED's first run the person is
// where that run will be.
func TestBetweenRunsPeopleStay(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,500\nJ2,500\n", "trusses": "job,truss,quantity\nJ1,A,9\nJ2,B,9\n", "wages": oneWage,
		"timecards": "employee,crew,shift,started_at,ended_at\nE1,RED,day,2026-03-16 06:00,2026-03-16 16:00\nE1,RED,day,2026-03-17 05:30,2026-03-17 08:00\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\n" +
			"T1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 11:00,3\nT2,J2,B,BLUE,day,2026-03-16 12:00,2026-03-16 18:00,3\nT2,J1,A,RED,night,2026-03-16 20:00,2026-03-16 23:00,3\nT1,J1,A,RED,day,2026-03-17 06:00,2026-03-17 08:00,3\n",
	})
	got := p.value("SELECT string_agg(d || ' ' || s || ' ' || u || ' ' || m, ', ' ORDER BY d, s, u) FROM (SELECT day(work_date) AS d, station AS s, use AS u, sum(seconds) // 60 AS m FROM minute_ledger GROUP BY ALL)")
	if want := "16 T1 build 300, 16 T1 waiting 300, 17 T1 build 120, 17 T1 waiting 30"; got != want {
		t.Errorf("minutes\n%s, want\n%s", got, want)
	}
}

// TestBatchIsCutOnce: the saw logs batch B1 under J1, the table under J2. The saw's two
// trusses count and the table's don't: 2 x 5 x 8 = 80 BF from 15 boards of 8 = 120.
func TestBatchIsCutOnce(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,500\nJ2,500\n", "trusses": "job,truss,quantity\nJ1,A,2\nJ2,A,2\n",
		"cut_pieces":   "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,P,2x4,SPF,No. 2,12-00-00,5\nJ2,A,P,2x4,SPF,No. 2,12-00-00,5\n",
		"completions":  "station,batch,job,truss,crew,shift,shift_date,finished_at,quantity\nS1,B1,J1,A,SAW,day,2026-03-16,2026-03-16 07:00,2\nT1,B1,J2,A,RED,day,2026-03-16,2026-03-16 10:00,2\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,20,500\n",
		"lumber_usage": "used_at,batch,size,species,grade,length,boards,reason\n2026-03-16 06:00,B1,2x4,SPF,No. 2,12-00-00,15,cut\n",
	})
	row := p.rows("report", "waste", "--week", "2026-W12", "--format", "json")[0]
	if asText(row["trusses"]) != "2" || asText(row["finished_bf"]) != "80.0000" || asText(row["trusses_by"]) != "saw" {
		t.Errorf("%v trusses by %v, %v BF; want 2 by the saw, 80", row["trusses"], row["trusses_by"], row["finished_bf"])
	}
	p.balanced()
}

// TestUnknownNamesStayOutOfRates: a mark that trusses doesn't know, and a run on which
// somebody without a wage worked, are left out and counted.
func TestUnknownNamesStayOutOfRates(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,500\n", "trusses": "job,truss,quantity\nJ1,A,9\nJ1,B,9\n", "wages": oneWage,
		"timecards": "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 08:00\nE9,RED,day,T1,2026-03-16 08:00,2026-03-16 09:00\n",
		"completions": "station,job,truss,crew,shift,build_started_at,finished_at,quantity\n" +
			"T1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 07:00,2\nT1,J1,ZZ,RED,day,2026-03-16 07:00,2026-03-16 08:00,3\nT1,J1,B,RED,day,2026-03-16 08:00,2026-03-16 09:00,4\n",
	})
	row := p.rows("report", "labour_per_truss", "--week", "2026-W12", "--format", "json")[0]
	if asText(row["trusses"]) != "2" || asText(row["labour_min"]) != "60.00" || asText(row["left_out"]) != "7" {
		t.Errorf("%v trusses, %v minutes, %v left out; want 2, 60 and 7", row["trusses"], row["labour_min"], row["left_out"])
	}
}

// TestLossIsNoGain: a credit after shipping makes a prior row with revenue below 0, whose
// share of revenue would read as a gain: it is blank.
func TestLossIsNoGain(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":      "job,shipped_on,price_usd\nJ1,2026-03-10,1000\n",
		"invoices":  "invoice,job,invoiced_on,amount_usd,kind\nI1,J1,2026-03-18,-40,credit\n",
		"job_costs": "document,job,incurred_on,kind,amount_usd\nD1,J1,2026-03-18,repair,24\n",
	})
	row := p.rows("report", "margin_by_job", "--week", "2026-W12", "--format", "json")[0]
	if asText(row["margin_usd"]) != "-64.00" || row["margin_pct"] != nil {
		t.Errorf("margin %v, share %v; want -64.00 and blank", row["margin_usd"], row["margin_pct"])
	}
}

// TestNewProgramBuildsLedgersAnew: ledgers that another version's SQL built are stale.
func TestNewProgramBuildsLedgersAnew(t *testing.T) {
	p := handPlant(t, testSettings)
	p.change("UPDATE settings SET ledgers_sha256 = 'another version'")
	p.change("UPDATE minute_ledger SET seconds = seconds + 1")
	if _, stderr, code := p.run("run", "--week", "2026-W12"); code != exitFine {
		t.Errorf("run: exit %d\n%s", code, stderr)
	}
	p.balanced()
}
