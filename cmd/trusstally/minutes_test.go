package main

import (
	"fmt"
	"strings"
	"testing"
)

// What a careful practitioner expects of minutes and pay, edge case by edge case. Each is
// worked out beside its assertion; where a rule of law decides, it is named.

// oneCell holds a one-cell query against the wanted text.
func (p *testPlant) oneCell(what, query, want string) {
	p.t.Helper()
	if got := p.value(query); got != want {
		p.t.Errorf("%s: %s, want %s", what, got, want)
	}
}

// exception returns what is said of a line of a file under a code word, and the minutes.
func (p *testPlant) exception(code, line string) string {
	p.t.Helper()
	return p.value("SELECT coalesce(string_agg(what || ' | ' || coalesce((seconds // 60)::VARCHAR, '-'), '; '), 'none') AS t FROM exceptions WHERE code = '" + code + "' AND coalesce(line, 0) = " + line)
}

// TestTwoCrewsAndTwoRatesInAWeek: each crew has its minutes; overtime is figured once over
// both (29 CFR 778.115): 30 h at 20 and 15 h at 24: straight 960.00, regular rate 21.3333,
// premium 53.33, total 1,013.33, the premium in its pool.
func TestTwoCrewsAndTwoRatesInAWeek(t *testing.T) {
	timecards := "employee,crew,shift,station,started_at,ended_at,rate_usd\n"
	for day := 16; day < 19; day++ {
		timecards += fmt.Sprintf("E1,RED,day,T1,2026-03-%d 06:00,2026-03-%d 16:00,20\n", day, day)
	}
	timecards += "E1,BLUE,day,T2,2026-03-19 06:00,2026-03-19 16:00,24\nE1,BLUE,day,T2,2026-03-20 06:00,2026-03-20 11:00,24\n"
	p := newTestPlant(t, testSettings, map[string]string{"wages": oneWage, "timecards": timecards})
	p.oneCell("hours by crew", "SELECT string_agg(crew || ' ' || h, ', ' ORDER BY crew) FROM (SELECT crew, sum(seconds) // 3600 AS h FROM minute_ledger GROUP BY crew)", "BLUE 15, RED 30")
	p.oneCell("pay", "SELECT straight_usd || ' ' || overtime_premium_usd || ' ' || gross_usd FROM pay_weeks", "960.00 53.33 1013.33")
	p.oneCell("pools", "SELECT string_agg(pool || ' ' || usd, ', ' ORDER BY pool) FROM (SELECT pool, sum(usd) AS usd FROM dollar_ledger WHERE pool IS NOT NULL GROUP BY pool)", "premium 53.33, waiting 960.00")
	p.balanced()
}

// TestHourThatTheClockRepeats: 01:30 on 2026-11-01 stands for two instants in
// America/Chicago. Until 05:00 it is 4.5 or 3.5 hours: nobody guesses. Where the person's
// punches leave one reading, it counts.
func TestHourThatTheClockRepeats(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"wages": "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\nE2,2026-01-01,direct,20\nE3,2026-01-01,direct,20\nE4,2026-01-01,direct,20\n",
		"timecards": "employee,station,work_date,started_at,ended_at\n" +
			"E1,T1,2026-10-31,2026-11-01 01:30,2026-11-01 05:00\n" + // either
			// Out at 01:40 and in at 01:20: the first is summer time, the second standard time.
			"E2,T1,2026-10-31,2026-10-31 22:00,2026-11-01 01:40\n" +
			"E2,T1,2026-10-31,2026-11-01 01:20,2026-11-01 06:00\n" +
			// In at 01:50, out at 01:10: only summer time before standard time runs forward.
			"E3,T1,2026-10-31,2026-11-01 01:50,2026-11-01 01:10\n" +
			// A sure punch from 00:30 to 02:00 leaves no room for the other.
			"E4,T1,2026-10-31,2026-11-01 00:30,2026-11-01 02:00\n" +
			"E4,T1,2026-10-31,2026-11-01 01:30,2026-11-01 03:00\n",
	})
	if got, want := p.exception("clock-change", "2"), "punch of E1: the clock repeated this hour: 210 or 270 minutes; 0 hours counted | 270"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	// E2: 22:00 to 01:40 summer time 3 h 40, then 01:20 standard time to 06:00 4 h 40. E3: 20
	// minutes. E4: 00:30 summer time to 02:00 standard time 2 h 30.
	p.oneCell("minutes", "SELECT string_agg(employee || ' ' || m, ', ' ORDER BY employee) FROM (SELECT employee, sum(seconds) // 60 AS m FROM minute_ledger GROUP BY employee)", "E2 500, E3 20, E4 150")
	p.balanced()
}

// TestSkippedHour: 02:30 on 2026-03-08 never was.
func TestSkippedHour(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"wages": oneWage, "timecards": "employee,station,work_date,started_at,ended_at\nE1,T1,2026-03-08,2026-03-08 02:30,2026-03-08 10:00\n",
	})
	if got := p.exception("clock-change", "2"); !strings.Contains(got, "skipped") || !strings.HasSuffix(got, "| -") {
		t.Errorf("%q", got)
	}
	p.oneCell("seconds", "SELECT count(*) AS n FROM minute_ledger", "0")
}

// TestJobOverTwoWeeks: each cost in its own week, and the weeks add up to the job to date.
func TestJobOverTwoWeeks(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,shipped_on,price_usd\nJ1,2026-03-25,1000\n", "trusses": "job,truss,quantity,plate_usd\nJ1,A,4,3.335\n", "wages": oneWage,
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-20 06:00,2026-03-20 12:17\nE1,RED,day,T1,2026-03-23 06:00,2026-03-23 11:05\n",
		"completions": "station,batch,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-20 06:00,2026-03-20 12:17,3\nT1,B2,J1,A,RED,day,2026-03-23 06:00,2026-03-23 11:05,1\n",
	})
	cost := "SELECT sum(usd) AS usd FROM dollar_ledger WHERE job = 'J1' AND class <> 'revenue'"
	first, second := p.value(cost+" AND posted_on < DATE '2026-03-23'"), p.value(cost+" AND posted_on >= DATE '2026-03-23'")
	// 6 h 17 min at 20, burden a quarter, overhead 10 an hour, three trusses of plates; the
	// second week 5 h 5 min and one. 125.67 + 31.42 + 62.83 + 10.01 = 229.93.
	if first != "229.93" {
		t.Errorf("first week %s, want 229.93", first)
	}
	total := exact(t, first)
	total.Add(total, exact(t, second))
	row := p.rows("report", "margin_by_job", "--week", "2026-W13", "--format", "json")[0]
	if got := exact(t, asText(row["cost_usd"])); got.Cmp(total) != 0 {
		t.Errorf("weeks add up to %s, the job to %s", total.FloatString(2), got.FloatString(2))
	}
	// No revenue in the first week, so no margin there.
	if rows := p.rows("report", "margin_by_job", "--week", "2026-W12", "--format", "json"); len(rows) != 0 {
		t.Errorf("the job is among those shipped in a week in which it was open: %v", rows)
	}
	p.balanced()
}

// TestRemakeCountsAgainstTheFirstCrew: the truss that BLUE makes again stays out of both
// crews' good output, and is RED's remade truss.
func TestRemakeCountsAgainstTheFirstCrew(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,kind,quantity\nJ1,A,common,4\n",
		"wages":     "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\nE2,2026-01-01,direct,20\n",
		"timecards": "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00\nE2,BLUE,day,T2,2026-03-17 06:00,2026-03-17 10:00\n",
		"completions": "station,batch,job,truss,crew,shift,build_started_at,finished_at,quantity,remake\n" +
			"T1,B1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 10:00,4,\nT2,B9,J1,A,BLUE,day,2026-03-17 06:00,2026-03-17 10:00,1,normal\n",
	})
	rows := p.rows("report", "labour_per_truss", "--week", "2026-W12", "--format", "json")
	if len(rows) != 1 {
		t.Fatalf("%d rows, want RED's alone: %v", len(rows), rows)
	}
	for column, want := range map[string]string{"crew": "RED", "trusses": "4", "build_min": "240.00", "remade": "1"} {
		if got := asText(rows[0][column]); got != want {
			t.Errorf("%s: %s, want %s", column, got, want)
		}
	}
	p.oneCell("minutes on the job", "SELECT sum(seconds) // 60 AS m FROM minute_ledger WHERE job = 'J1'", "480")
}

// TestPartialBatch: seven of ten trusses are done, set-up 60, 12 a truss: the quote allows
// 60 + 84 = 144 minutes, not 180.
func TestPartialBatch(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity,quoted_setup_min,quoted_build_min\nJ1,A,10,60,12\n", "wages": oneWage,
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00\n",
		"completions": "station,batch,job,truss,crew,shift,setup_started_at,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 07:00,2026-03-16 08:30,7\n",
	})
	detail := p.rows("report", "like_for_like_detail", "--week", "2026-W12", "--format", "json")[0]
	if got := asText(detail["quoted_min"]); got != "144.00" {
		t.Errorf("quoted minutes %s, want 144.00", got)
	}
	row := p.rows("report", "labour_per_truss", "--week", "2026-W12", "--format", "json")[0]
	if got := asText(row["trusses"]); got != "7" {
		t.Errorf("good trusses %s, want 7", got)
	}
}

// TestAbandonedSetUp: no truss came of it: the minutes stay on the job and out of rates.
func TestAbandonedSetUp(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity\nJ1,A,10\n", "wages": oneWage,
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00\n",
		"completions": "station,batch,job,truss,crew,shift,setup_started_at,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 07:00,2026-03-16 07:10,0\n",
	})
	p.oneCell("minutes on the job", "SELECT sum(seconds) // 60 AS m FROM minute_ledger WHERE job = 'J1'", "70")
	row := p.rows("report", "labour_per_truss", "--week", "2026-W12", "--format", "json")[0]
	for _, column := range []string{"labour_min_per_truss", "setup_min_per_truss", "build_min_per_truss"} {
		if row[column] != nil {
			t.Errorf("%s: %v, want a blank", column, row[column])
		}
	}
	if rows := p.rows("report", "setup_and_batch", "--week", "2026-W12", "--format", "json"); len(rows) != 0 {
		t.Errorf("an abandoned set-up is a rate: %v", rows)
	}
}

// TestPunchFaults: what is odd counts nothing, is named with what it touches, and never
// guessed; what can be settled by the person's own rows is.
func TestPunchFaults(t *testing.T) {
	wages := "employee,effective_on,role,rate_usd\n"
	for i := range 10 {
		wages += fmt.Sprintf("E%d,2026-01-01,direct,20\n", i)
	}
	p := newTestPlant(t, testSettings, map[string]string{
		"wages": wages,
		"timecards": "employee,crew,shift,station,work_date,started_at,ended_at,unpaid_min,hours\n" +
			"E0,,day,T1,2026-03-16,2026-03-16 06:00,2026-03-16 14:30,30,\n" + // 2
			"E0,,day,T1,2026-03-16,2026-03-16 06:01,2026-03-16 14:29,30,\n" + // 3: twice
			"E1,,day,T1,2026-03-16,2026-03-16 06:00,,0,\n" + // 4: no end
			"E2,,day,T1,2026-03-16,2026-03-16 06:00,,30,8\n" + // 5: no end, but a corrected total
			"E3,,day,T1,2026-03-16,2026-03-16 06:00,2026-03-16 23:00,0,\n" + // 6: seventeen hours
			"E4,,day,T1,2026-03-16,2026-03-16 06:00,2026-03-16 10:00,30,\n" + // 7: automatic lunch
			"E4,,day,T1,2026-03-16,2026-03-16 10:30,2026-03-16 14:30,0,\n" + // 8: and punched
			"E5,,day,T1,2026-03-16,2026-03-16 06:00,2026-03-16 14:30,30,\n" + // 9: automatic lunch alone
			"E6,,day,T1,2026-03-16,2026-03-16 14:00,2026-03-16 06:00,0,\n" + // 10: backwards
			"E7,,day,T1,2026-03-16,2026-03-16 06:00,2026-03-16 10:00,0,\n" + // 11
			"E7,,day,T1,2026-03-16,2026-03-16 09:00,2026-03-16 12:00,0,\n" + // 12: overlaps an hour
			"E8,,day,T1,2026-03-16,2026-03-16 06:00,,0,\n" + // 13: the clock took one punch-in
			"E8,,day,T1,2026-03-16,2026-03-16 06:01,2026-03-16 14:00,0,\n" + // 14: for two
			"X9,,day,T1,2026-03-16,2026-03-16 06:00,2026-03-16 08:00,0,\n", // 15: no wage
	})
	p.oneCell("paid minutes", "SELECT string_agg(employee || ' ' || m, ', ' ORDER BY employee) FROM (SELECT employee, sum(seconds) // 60 AS m FROM minute_ledger GROUP BY employee)",
		"E0 480, E2 480, E4 480, E5 480, E7 360, E8 479, X9 120")
	for _, c := range []struct{ code, line, want string }{
		{"double-punch", "3", "punch of E0: a double punch: the first of the two counts; 0 hours counted | 478"},
		{"missing-punch", "4", "punch of E1: missing punch-out; 0 hours counted | -"},
		{"corrected-total", "5", "punch of E2 has one end; its corrected total of hours says where the other is | 480"},
		{"long-punch", "6", "punch of E3: longer than 16 hours; 0 hours counted | 1020"},
		{"lunch-twice", "7", "lunch of E4 was punched and would come off once more; the automatic deduction is left out | 30"},
		{"lunch-twice", "9", "none"},
		{"odd-punch", "10", "punch of E6: punch-out not after punch-in; 0 hours counted | -"},
		{"overlapping-punches", "12", "punches of E7 overlap; the later counts from the end of the earlier | 60"},
		{"double-punch", "13", "punch of E8: a double punch: the first of the two counts; 0 hours counted | -"},
		{"no-wage", "15", "no wage of X9 in force on this day; the time costs nothing yet | 120"},
	} {
		if got := p.exception(c.code, c.line); got != c.want {
			t.Errorf("line %s: %q, want %q", c.line, got, c.want)
		}
	}
	// Dollars are one person's pay: in the accountant's sheet alone.
	touched := map[string]string{}
	for _, row := range p.rows("report", "punches_to_settle", "--week", "2026-W12", "--wages", "--format", "json") {
		touched[asText(row["line"])] = asText(row["touched_usd"])
	}
	for line, want := range map[string]string{"3": "159.33", "4": "", "6": "340.00", "7": "10.00", "12": "20.00", "15": ""} {
		if touched[line] != want {
			t.Errorf("line %s touches %q dollars, want %q", line, touched[line], want)
		}
	}
	p.oneCell("dollars on exceptions", "SELECT count(*) AS n FROM exceptions WHERE topic = 'settle before payroll' AND usd IS NOT NULL", "0")
	p.balanced()
}

// TestPunchRounding: punches are paid to the nearest five minutes, tenth or quarter of an
// hour; the sheet says what that adds to each crew's time (29 CFR 785.48(b)).
func TestPunchRounding(t *testing.T) {
	for _, c := range []struct{ step, paid, bias string }{
		// 06:07 to 14:38 is 511 minutes: to fives 06:05-14:40, tenths 06:06-14:36 (14:38 is nearer
		// 14:36 than 14:42), quarters 06:00-14:45 (06:07 is nearer 06:00 than 06:15).
		{"0", "511", "0.00"}, {"5", "515", "4.00"}, {"6", "510", "-1.00"}, {"15", "525", "14.00"},
	} {
		p := newTestPlant(t, strings.Replace(testSettings, "[pay]\n", "[pay]\npunch_rounding_min = "+c.step+"\n", 1), map[string]string{
			"wages": oneWage, "timecards": "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:07,2026-03-16 14:38\n",
		})
		p.oneCell("paid minutes by "+c.step, "SELECT sum(seconds) // 60 AS m FROM minute_ledger", c.paid)
		row := p.rows("report", "minutes_accounted", "--week", "2026-W12", "--format", "json")[0]
		if got := asText(row["rounding_min"]); got != c.bias {
			t.Errorf("by %s: bias of RED %s, want %s", c.step, got, c.bias)
		}
		p.balanced()
	}
}

// TestSalariedLead: hours at the table are the crew's people-minutes; the job costs hours at
// the salary's hourly worth, and what the salary pays beyond is rate variance.
func TestSalariedLead(t *testing.T) {
	wages := "employee,effective_on,role,basis,rate_usd,salary_hours,overtime\nE1,2026-01-01,lead,salary,1000,40,no\nE2,2026-01-01,lead,salary,1000,40,yes\nE3,2026-01-01,lead,salary,1000,40,no\n"
	timecards := "employee,crew,shift,station,started_at,ended_at\n"
	for day := 16; day < 21; day++ {
		for _, employee := range []string{"E1", "E2"} { // 45 hours
			timecards += fmt.Sprintf("%s,RED,day,T1,2026-03-%d 06:00,2026-03-%d 15:00\n", employee, day, day)
		}
	}
	timecards += "E3,RED,day,T2,2026-03-16 06:00,2026-03-16 14:00\n" // 8 hours
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity\nJ1,A,4\n", "wages": wages, "timecards": timecards,
		"completions": "station,batch,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 10:00,4\n",
	})
	// An hour is worth 25.00. E1 applies 45 x 25 = 1,125 and is paid 1,000; E2's five hours past
	// forty earn 25 and half of it; E3 is paid 1,000 for 8 hours at the table.
	p.oneCell("pay", "SELECT string_agg(employee || ' ' || straight_usd || ' ' || overtime_premium_usd || ' ' || rate_variance_usd || ' ' || gross_usd, ', ' ORDER BY employee) FROM pay_weeks",
		"E1 1125.00 0.00 -125.00 1000.00, E2 1125.00 62.50 0.00 1187.50, E3 200.00 0.00 800.00 1000.00")
	p.oneCell("people-minutes on the job", "SELECT sum(seconds) // 60 AS m FROM minute_ledger WHERE job = 'J1'", "480")
	p.oneCell("labour on the job", "SELECT sum(usd) AS usd FROM dollar_ledger WHERE class = 'direct_labour'", "200.00")
	p.oneCell("rate variance pool", "SELECT sum(usd) AS usd FROM dollar_ledger WHERE pool = 'rate_variance'", "675.00")
	p.balanced()
}

// TestAgency: hours at the bill rate, past the threshold at the overtime bill rate; no
// burden of ours; apart from payroll.
func TestAgency(t *testing.T) {
	timecards := "employee,crew,shift,station,started_at,ended_at\n"
	for day := 16; day < 20; day++ { // 44 hours
		timecards += fmt.Sprintf("A1,RED,day,T1,2026-03-%d 06:00,2026-03-%d 17:00\n", day, day)
	}
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity\nJ1,A,4\n",
		"wages":       "employee,effective_on,role,basis,rate_usd,overtime_bill_rate_usd\nA1,2026-01-01,direct,agency,30,41\n",
		"timecards":   timecards,
		"completions": "station,batch,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 10:00,4\n",
		"payroll":     "source,from,until,gross_usd\nAG1,2026-03-16,2026-03-23,1364.00\n",
	})
	p.oneCell("pay", "SELECT straight_usd || ' ' || overtime_premium_usd || ' ' || gross_usd FROM pay_weeks", "1320.00 44.00 1364.00")
	p.oneCell("burden", "SELECT coalesce(sum(usd), 0) AS usd FROM dollar_ledger WHERE class = 'burden'", "0.00")
	row := p.rows("report", "payroll_bridge", "--week", "2026-W12", "--wages", "--format", "json")[0]
	if asText(row["source"]) != "agency" || asText(row["remainder"]) != "ties out" {
		t.Errorf("bridge: %v, %v", row["source"], row["remainder"])
	}
	p.balanced()
}

// TestIndirectPeople: the yard goes to its pool; on a table's runs the same person's time is
// direct; a person whom nobody places is named and spread nowhere.
func TestIndirectPeople(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity\nJ1,A,4\n",
		"wages": "employee,effective_on,role,rate_usd\nY1,2026-01-01,indirect,20\nE1,2026-01-01,direct,20\n",
		"timecards": "employee,crew,shift,station,started_at,ended_at\n" +
			"Y1,,day,Y1,2026-03-16 06:00,2026-03-16 10:00\nY1,,day,T1,2026-03-16 10:00,2026-03-16 12:00\nE1,,day,,2026-03-16 06:00,2026-03-16 08:00\n",
		"completions": "station,batch,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-16 10:00,2026-03-16 11:00,4\n",
	})
	p.oneCell("uses", "SELECT string_agg(employee || ' ' || use || ' ' || m, ', ' ORDER BY employee, use) FROM (SELECT employee, use, sum(seconds) // 60 AS m FROM minute_ledger GROUP BY ALL)",
		"E1 waiting 120, Y1 build 60, Y1 indirect 300")
	if got := p.exception("no-station", "4"); got != "time of E1 at no known station | 120" {
		t.Errorf("%q", got)
	}
	p.balanced()
}

// TestPaidHoliday: 32 hours worked and 8 of holiday are 40 paid and no overtime; leave is in
// no rate (29 CFR 778.218 and .219).
func TestPaidHoliday(t *testing.T) {
	timecards := "employee,crew,shift,station,work_date,started_at,ended_at,pay_code,hours\n"
	for day := 16; day < 20; day++ {
		timecards += fmt.Sprintf("E1,RED,day,T1,2026-03-%d,2026-03-%d 06:00,2026-03-%d 14:00,worked,\n", day, day, day)
	}
	timecards += "E1,RED,day,,2026-03-20,,,holiday,8\nE1,RED,day,,2026-03-21,,,leave,4\n"
	p := newTestPlant(t, testSettings, map[string]string{"wages": oneWage, "timecards": timecards})
	p.oneCell("pay", "SELECT worked_seconds // 3600 || ' ' || overtime_seconds || ' ' || straight_usd || ' ' || leave_usd || ' ' || gross_usd FROM pay_weeks", "32 0 640.00 240.00 880.00")
	row := p.rows("report", "minutes_accounted", "--week", "2026-W12", "--format", "json")[0]
	if got := asText(row["not_worked_min"]); got != "720.00" {
		t.Errorf("paid and not worked %s, want 720.00", got)
	}
	p.balanced()
}

// TestBackDatedRaise: 0.10 an hour paid back is 0.15 an overtime hour (29 CFR 778.303). It is
// booked when it is paid; the job that the time was on carries its part.
func TestBackDatedRaise(t *testing.T) {
	timecards := "employee,crew,shift,station,started_at,ended_at\n"
	for day := 16; day < 21; day++ { // 50 hours
		timecards += fmt.Sprintf("E1,RED,day,T1,2026-03-%d 06:00,2026-03-%d 16:00\n", day, day)
	}
	timecards += "E1,RED,day,T1,2026-03-30 06:00,2026-03-30 10:00\n"
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity\nJ1,A,4\n",
		"wages":       "employee,effective_on,role,rate_usd,paid_from\nE1,2026-01-01,direct,10,\nE1,2026-03-16,direct,10.10,2026-03-30\n",
		"timecards":   timecards,
		"completions": "station,batch,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 16:00,4\n",
	})
	// Paid then: 50 x 10 + 10 x 5 = 550. Owed: 50 x 10.10 + 10 x 5.05 = 555.50. The week of the
	// 30th pays 4 x 10.10 and 5.50 of retro: 5.00 straight, 0.50 premium.
	p.oneCell("pay", "SELECT string_agg(workweek_start || ' ' || gross_usd || ' ' || retro_usd, ', ' ORDER BY workweek_start) FROM pay_weeks", "2026-03-16 550.00 0.00, 2026-03-30 45.90 5.50")
	// Ten hours were on the job: 1.00 and a quarter of burden; four days and the premium are the pool's.
	p.oneCell("postings", "SELECT string_agg(class || ' ' || coalesce(job, pool) || ' ' || usd, ', ' ORDER BY class, job) FROM (SELECT class, job, pool, sum(usd) AS usd FROM dollar_ledger WHERE posted_on = DATE '2026-03-30' AND occurred_on < posted_on GROUP BY ALL)",
		"burden J1 0.25, direct_labour J1 1.00, retro retro 4.50")
	p.oneCell("the week as first reported", "SELECT sum(usd) AS usd FROM dollar_ledger WHERE posted_on < DATE '2026-03-23' AND class IN ('direct_labour', 'waiting', 'overtime_premium')", "550.00")
	p.balanced()
}

// TestRaiseInMidWeek: 4 hours at 10 and 4 at 12, from the Wednesday on.
func TestRaiseInMidWeek(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"wages":     "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,10\nE1,2026-03-18,direct,12\n",
		"timecards": "employee,station,started_at,ended_at\nE1,T1,2026-03-17 06:00,2026-03-17 10:00\nE1,T1,2026-03-18 06:00,2026-03-18 10:00\n",
	})
	p.oneCell("pay", "SELECT straight_usd || ' ' || regular_rate_usd FROM pay_weeks", "88.00 11.000000")
}

// TestBonusOverTwoWeeks: 100.00 earned over 40 and 60 hours, paid a week later: the second
// week's share is 60.00, an hour's 1.00, and half of it for 20 overtime hours 10.00 more
// (29 CFR 778.209), paid with the bonus.
func TestBonusOverTwoWeeks(t *testing.T) {
	timecards := "employee,station,started_at,ended_at\n"
	for day := 2; day < 7; day++ {
		timecards += fmt.Sprintf("E1,T1,2026-03-%02d 06:00,2026-03-%02d 14:00\nE1,T1,2026-03-%02d 06:00,2026-03-%02d 18:00\n", day, day, day+7, day+7)
	}
	for _, rounding := range []string{"none", "cent"} {
		p := newTestPlant(t, strings.Replace(testSettings, "[pay]\n", "[pay]\nrate_rounding = \""+rounding+"\"\n", 1), map[string]string{
			"wages": oneWage, "timecards": timecards,
			"other_pay": "employee,workweek_start,kind,amount_usd,earned_from,earned_until\nE1,2026-03-16,bonus,100,2026-03-02,2026-03-16\n",
		})
		p.oneCell("pay, rounding "+rounding, "SELECT string_agg(straight_usd || ' ' || overtime_premium_usd || ' ' || bonus_usd, ', ' ORDER BY workweek_start) FROM pay_weeks", "800.00 0.00 0.00, 1200.00 200.00 0.00, 0.00 10.00 100.00")
		p.balanced()
	}
}

// TestRunsOutsidePunches: a run is logged for longer than its crew was clocked in. Nothing is
// stretched: the minutes are those of the punches, and the run is named.
func TestRunsOutsidePunches(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity\nJ1,A,4\n", "wages": oneWage,
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 08:00\nE1,RED,day,T1,2026-03-16 08:30,2026-03-16 10:00\n",
		"completions": "station,batch,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-16 05:30,2026-03-16 11:00,4\n",
	})
	if got, want := p.exception("outside-punches", "2"), "runs of crew RED at T1 are logged for 90 minutes before its first punch or after its last | -"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	p.oneCell("minutes on the run", "SELECT sum(seconds) // 60 AS m FROM minute_ledger WHERE job = 'J1'", "210")
}

// TestWeekOverTheMonthsEnd: what is worked by the month's end in a week that ends after it
// is to accrue: hours times rate through the cut-off.
func TestWeekOverTheMonthsEnd(t *testing.T) {
	timecards := "employee,station,started_at,ended_at\n"
	for _, day := range []string{"2026-03-30", "2026-03-31", "2026-04-01", "2026-04-02"} {
		timecards += fmt.Sprintf("E1,T1,%s 06:00,%s 14:00\n", day, day)
	}
	p := newTestPlant(t, testSettings, map[string]string{"wages": oneWage, "timecards": timecards})
	row := p.rows("report", "payroll_bridge", "--month", "2026-03", "--wages", "--format", "json")[0]
	for column, want := range map[string]string{"gross_usd": "640.00", "in_period_usd": "320.00", "outside_usd": "320.00", "accrued_usd": "320.00"} {
		if got := asText(row[column]); got != want {
			t.Errorf("March: %s %s, want %s", column, got, want)
		}
	}
	// In April the week ends: nothing is left to accrue, and the two months add up to the week.
	row = p.rows("report", "payroll_bridge", "--month", "2026-04", "--wages", "--format", "json")[0]
	for column, want := range map[string]string{"in_period_usd": "320.00", "accrued_usd": "0.00"} {
		if got := asText(row[column]); got != want {
			t.Errorf("April: %s %s, want %s", column, got, want)
		}
	}
}

// TestStoppages: while a station stands its people stand, whatever run is open; the run keeps
// the rest. Two stoppages at one time count once, for the reason that came first.
func TestStoppages(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity\nJ1,A,4\n",
		"wages":       "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\nE2,2026-01-01,indirect,20\n",
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00\nE2,RED,day,T1,2026-03-16 06:00,2026-03-16 08:00\n",
		"completions": "station,batch,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 09:00,4\n",
		"stoppages":   "station,started_at,ended_at,reason\nT1,2026-03-16 07:00,2026-03-16 07:30,no lumber\nT1,2026-03-16 07:20,2026-03-16 07:45,saw down\nT1,2026-03-16 09:30,2026-03-16 11:00,saw down\nT2,2026-03-16 06:00,2026-03-16 10:00,no lumber\n",
	})
	p.oneCell("uses", "SELECT string_agg(use || coalesce(' ' || reason, '') || ' ' || m, ', ' ORDER BY use, reason) FROM (SELECT use, reason, sum(seconds) // 60 AS m FROM minute_ledger GROUP BY ALL)",
		"build 210, stoppage no lumber 60, stoppage saw down 60, waiting 30")
	row := p.rows("report", "minutes_accounted", "--week", "2026-W12", "--format", "json")[0]
	if got := asText(row["stopped_for"]); got != "no lumber 60.0, saw down 60.0" {
		t.Errorf("stopped for %s", got)
	}
	p.oneCell("pool", "SELECT sum(usd) AS usd FROM dollar_ledger WHERE pool = 'stoppage'", "40.00")
	p.balanced()
}
