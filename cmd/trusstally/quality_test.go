package main

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"trusstally/sql/warehouse"
)

// measure returns one row of quality_and_safety for a week: counted, out of, share or rate,
// the interval's ends and the remark, with a bar between; "" when there is none.
func (p *testPlant) measure(week, measure, ofWhat, name string) string {
	p.t.Helper()
	for _, row := range p.rows("report", "quality_and_safety", "--week", week, "--format", "json") {
		if asText(row["measure"]) == measure && asText(row["of_what"]) == ofWhat && asText(row["name"]) == name {
			ratio := asText(row["share_pct"])
			if ratio == "" {
				ratio = asText(row["rate"])
			}
			return strings.Join([]string{asText(row["counted"]), asText(row["out_of"]), ratio, asText(row["rate_low"]), asText(row["rate_high"]), asText(row["remark"])}, "|")
		}
	}
	return ""
}

func (p *testPlant) wantMeasure(week, measure, ofWhat, name, want string) {
	p.t.Helper()
	if got := p.measure(week, measure, ofWhat, name); got != want {
		p.t.Errorf("%s of %s %s: %q, want %q", measure, ofWhat, name, got, want)
	}
}

// frontRow returns the row of the owner's front sheet that is about something.
func (p *testPlant) frontRow(week, item string) []string {
	p.t.Helper()
	for _, row := range sheetRows(p.t, filepath.Join(p.dir, "books", week, "crews-shifts.xlsx"), "front") {
		if len(row) > 2 && row[0] == "finding" && row[1] == item {
			return row
		}
	}
	return nil
}

// manyHours is timecards of so many rows of 8,000 hours on a shift.
func manyHours(rows int, shift string) string {
	var b strings.Builder
	for i := range rows {
		fmt.Fprintf(&b, "E%02d,%s,2026-01-05,worked,8000\n", i, shift)
	}
	return b.String()
}

// TestPublishedIncidentRate: cases x 200,000 / hours worked, leave left out (BLS and OSHA,
// how to compute a firm's incidence rate): 7 cases in 400,000 hours are 3.5. The exact 95 %
// interval of 7 cases is 2.814 to 14.423 (Garwood, Biometrika 1936;28:437-442).
func TestPublishedIncidentRate(t *testing.T) {
	incidents := "record,occurred_at,shift_date,shift,recordable\n"
	for i := range 7 {
		incidents += fmt.Sprintf("N%d,2026-02-0%d,2026-02-0%d,day,yes\n", i, i+1, i+1)
	}
	p := newTestPlant(t, testSettings, map[string]string{
		"timecards": "employee,shift,work_date,pay_code,hours\n" + manyHours(50, "day") + "E00,day,2026-01-06,holiday,8000\n",
		"incidents": incidents,
	})
	p.wantMeasure("2026-W12", "incidents", "plant", "plant", "7.00|400000.00|3.500000|1.407182|7.211338|0 days away, 0 days restricted; punches still to be settled have no hours")
	p.wantMeasure("2026-W12", "incidents", "shift", "day", "7.00|400000.00|3.500000|1.407182|7.211338|")
}

// TestShiftNeedsMoreThanTwentyThousandHours: 24,000 hours show a figure, 16,000 don't, nor
// do 20,000 to the hour. Nothing is ever shown of a crew or a station.
func TestShiftNeedsMoreThanTwentyThousandHours(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"timecards": "employee,shift,work_date,pay_code,hours\n" + manyHours(3, "day") + manyHours(2, "night") + manyHours(2, "late") + "E90,late,2026-01-05,worked,4000\n",
		"incidents": "record,occurred_at,shift_date,station,crew,shift,recordable\n" +
			"N1,2026-02-01,2026-02-01,T1,RED,day,yes\nN2,2026-02-02,2026-02-02,T1,RED,night,yes\nN3,2026-02-03,2026-02-03,,,,yes\n" +
			"N4,2025-02-03,2025-02-03,,,day,yes\n", // before any hours
	})
	p.wantMeasure("2026-W12", "incidents", "plant", "plant", "3.00|60000.00|10.000000|2.062240|29.224244|0 days away, 0 days restricted; punches still to be settled have no hours")
	const few = "no more than 20,000 hours: too few for a figure"
	p.wantMeasure("2026-W12", "incidents", "shift", "day", "1.00|24000.00|8.333333|0.210982|46.430362|")
	p.wantMeasure("2026-W12", "incidents", "shift", "night", "|16000.00||||"+few)
	p.wantMeasure("2026-W12", "incidents", "shift", "late", "|20000.00||||"+few)
	for _, row := range p.rows("report", "quality_and_safety", "--week", "2026-W12", "--format", "json") {
		if measure := asText(row["measure"]); (measure == "incidents" || measure == "reports made") && row["of_what"] != "plant" && row["of_what"] != "shift" {
			t.Errorf("%s of a %v", measure, row["of_what"])
		}
	}
}

// TestFirstPassFallsLater: the cohort of a week keeps its trusses, and a remake of a later
// week lowers its share afterwards; the crew that builds it again is not charged.
func TestFirstPassFallsLater(t *testing.T) {
	const log = "record,station,batch,job,truss,crew,shift,shift_date,build_started_at,finished_at,quantity,remake\n"
	feeds := map[string]string{
		"jobs": "job,price_usd\nJ1,100\n", "trusses": "job,truss,quantity\nJ1,A,4\n", "wages": "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\nE2,2026-01-01,direct,20\n",
		"timecards": "employee,crew,shift,station,work_date,started_at,ended_at\n" +
			"E1,RED,day,T1,2026-03-16,2026-03-16 06:00,2026-03-16 08:00\nE2,BLUE,day,T1,2026-03-24,2026-03-24 06:00,2026-03-24 08:00\n",
		"completions": log + "R1,T1,B1,J1,A,RED,day,2026-03-16,2026-03-16 06:00,2026-03-16 08:00,4,\n",
	}
	p := newTestPlant(t, testSettings, feeds)
	const unread = "no inspections were read: remakes alone"
	p.wantMeasure("2026-W12", "first pass", "crew", "RED", "4.00|4.00|1.000000|||"+unread)
	p.wantMeasure("2026-W12", "inspections", "plant", "plant", "|3.00||||no inspections were read: 0 is not known")
	p.wantMeasure("2026-W12", "incidents", "plant", "plant", "|2.00||||no incidents were read: 0 is not known")
	p.wantMeasure("2026-W12", "stoppages", "plant", "all reasons", "|120.00||||no stoppages were read: 0 is not known")

	p.importFiles(map[string]string{"completions": log + "R2,T1,B2,J1,A,BLUE,day,2026-03-24,2026-03-24 06:00,2026-03-24 08:00,1,normal\n"})
	p.wantMeasure("2026-W12", "first pass", "crew", "RED", "3.00|4.00|0.750000|||1 made again; "+unread)
	p.wantMeasure("2026-W13", "first pass", "crew", "RED", "")
	p.wantMeasure("2026-W13", "first pass", "crew", "BLUE", "")
	p.wantMeasure("2026-W12", "made again", "cause", "normal", "0.00|4.00|0.000000|||what such work brings with it")
	p.wantMeasure("2026-W13", "made again", "cause", "normal", "1.00|0.00||||what such work brings with it")
}

// TestQualityRowsThatNameNothing: unknown jobs, trusses and crews land and are named; an
// inspection of what nobody built is an exception; each inspection is in a week.
func TestQualityRowsThatNameNothing(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,100\n", "trusses": "job,truss,quantity\nJ1,A,4\n",
		"inspections": "shift_date,station,shift,job,truss,passed\n2026-03-16,T1,day,J9,A,yes\n2026-03-16,T1,day,J1,ZZ,yes\n2026-03-16,T1,day,J1,A,no\n",
		"incidents":   "record,occurred_at,shift_date,crew,recordable\nN1,2026-03-16,2026-03-16,MAUVE,near_miss\n",
	})
	w, err := warehouse.Open(context.Background(), filepath.Join(p.dir, warehouse.FileName))
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	named := func(check, spoil string) string {
		var list []string
		for _, finding := range findingsWhen(t, w, spoil) {
			if finding.Check == check {
				list = append(list, fmt.Sprintf("%s:%d %s", finding.File, finding.Line, finding.Keys))
			}
		}
		return strings.Join(list, "; ")
	}
	want := "incidents.csv:2 crew MAUVE of incident N1 is in no completion and no timecard; inspections.csv:2 job J9 of inspections is not in jobs; " +
		"inspections.csv:2 truss A of job J9 in inspections is not in trusses; inspections.csv:3 truss ZZ of job J1 in inspections is not in trusses"
	if got := named("70_unknown_names", ""); got != want {
		t.Errorf("unknown names: %s\nwant %s", got, want)
	}
	if got := named("61_rows_reach_ledgers", ""); got != "" {
		t.Errorf("rows that reach nothing: %s", got)
	}
	if got := named("61_rows_reach_ledgers", "DELETE FROM steps.inspected WHERE truss = 'ZZ'"); !strings.HasPrefix(got, "inspections.csv:3 ") {
		t.Errorf("rows that reach nothing: %q, want line 3 of inspections", got)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if got, want := p.exception("not-built", "4"), "inspection of J1 A at T1, shift day: no completion of that shift has the truss | -"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
