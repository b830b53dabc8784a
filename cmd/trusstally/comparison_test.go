package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"trusstally/fixtures"
)

// simpsonPlant has two crews of one person each at a table of their own, each run one truss
// without a set-up to record. RED takes 8 minutes for a simple and 30 for a complex truss and
// builds 1 to 4 of them a day; BLUE takes 9 and 33 and builds 4 to 1 (a computed trap: as
// they stand RED takes 25.6 minutes a truss and BLUE 13.8).
func simpsonPlant(t *testing.T, days int) *testPlant {
	t.Helper()
	var cards, log strings.Builder
	cards.WriteString("employee,crew,shift,station,started_at,ended_at\n")
	log.WriteString("station,batch,job,truss,crew,shift,build_started_at,finished_at,quantity\n")
	batch := 0
	for day := range days {
		date := fmt.Sprintf("2026-03-%02d", 2+day)
		for _, crew := range []struct {
			name, table, person string
			minutes, trusses    [2]int // simple, complex
		}{
			{"RED", "T1", "E1", [2]int{8, 30}, [2]int{1, 4}},
			{"BLUE", "T2", "E2", [2]int{9, 33}, [2]int{4, 1}},
		} {
			at := 6 * 60
			clock := func() string { return fmt.Sprintf("%s %02d:%02d", date, at/60, at%60) }
			begin := clock()
			for kind, mark := range []string{"A", "B"} {
				for range crew.trusses[kind] {
					batch++
					from := clock()
					at += crew.minutes[kind]
					fmt.Fprintf(&log, "%s,B%d,J1,%s,%s,day,%s,%s,1\n", crew.table, batch, mark, crew.name, from, clock())
				}
			}
			fmt.Fprintf(&cards, "%s,%s,day,%s,%s,%s\n", crew.person, crew.name, crew.table, begin, clock())
		}
	}
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,10000\n", "trusses": "job,truss,kind,quantity,design_bf\nJ1,A,simple,60,40\nJ1,B,complex,60,40\n",
		"wages":     "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\nE2,2026-01-01,direct,20\n",
		"timecards": cards.String(), "completions": log.String(),
	})
	p.balanced()
	return p
}

// TestSimpsonsTrap: BLUE looks 46 % faster than RED and is 10.5 % slower, from the files to
// the sheet.
func TestSimpsonsTrap(t *testing.T) {
	p := simpsonPlant(t, 12)
	for _, row := range p.rows("report", "like_for_like", "--from", "2026-03-01", "--until", "2026-03-30", "--format", "json") {
		if asText(row["scope"]) != "crew" {
			continue
		}
		want := map[string]map[string]string{
			"RED":  {"raw_min": "25.6000", "like_min": "19.0000", "others_min": "21.0000", "difference_pct": "-0.095238", "covered_pct": "1.000000", "shifts": "12", "finding": "different"},
			"BLUE": {"raw_min": "13.8000", "like_min": "21.0000", "others_min": "19.0000", "difference_pct": "0.105263", "covered_pct": "1.000000", "shifts": "12", "finding": "different"},
		}[asText(row["name"])]
		for column, value := range want {
			if got := asText(row[column]); got != value {
				t.Errorf("%s of %s: %s, want %s", column, asText(row["name"]), got, value)
			}
		}
	}
	classes := p.rows("report", "truss_classes", "--from", "2026-03-01", "--until", "2026-03-30", "--format", "json")
	if len(classes) != 4 {
		t.Fatalf("%d rows of classes, want 2 classes x 2 crews", len(classes))
	}
	for _, row := range classes {
		if got := asText(row["mix_pct"]); got != "0.500000" {
			t.Errorf("share of mix %s, want a half", got)
		}
	}
}

// TestTooFewShifts: five days say nothing, and say so.
func TestTooFewShifts(t *testing.T) {
	p := simpsonPlant(t, 5)
	for _, row := range p.rows("report", "like_for_like", "--from", "2026-03-01", "--until", "2026-03-30", "--format", "json") {
		if got := asText(row["finding"]); !strings.HasPrefix(got, "not enough data (n = ") && got != "nothing to compare with" {
			t.Errorf("%s %s: %s", asText(row["scope"]), asText(row["name"]), got)
		}
	}
}

// demoComparisons holds the demo plant's comparisons against what was planted: GREEN takes
// 12 % longer than RED and is given the easy trusses; T2-LASER shortens set-ups, T1-CARTS
// does nothing.
func demoComparisons(t *testing.T, p *testPlant, truth fixtures.Truth) {
	number := func(row map[string]any, column string) float64 {
		value, _ := exact(t, asText(row[column])).Float64()
		return value
	}
	pace := map[string]float64{}
	for _, crew := range truth.Crews {
		if crew.MinutesThousandths > 0 {
			pace[crew.Crew] = float64(crew.MinutesThousandths)
		}
	}
	found := false
	for _, row := range p.rows("report", "like_for_like", "--week", "2026-W46", "--format", "json") {
		if asText(row["scope"]) != "crew" || asText(row["name"]) != "GREEN" {
			continue
		}
		found = true
		if number(row, "raw_min") >= number(row, "raw_others_min") {
			t.Errorf("as it stands GREEN takes %s minutes and the others %s: the mix no longer hides it", asText(row["raw_min"]), asText(row["raw_others_min"]))
		}
		if asText(row["finding"]) != "different" {
			t.Errorf("GREEN: %s", asText(row["finding"]))
		}
		// The others built about as much each.
		planted := pace["GREEN"]/((pace["RED"]+pace["BLUE"])/2) - 1
		if low, high := number(row, "low_pct"), number(row, "high_pct"); planted < low || planted > high || low <= 0 {
			t.Errorf("GREEN takes %.4f more, the interval is %.4f to %.4f", planted, low, high)
		}
	}
	if !found {
		t.Error("GREEN is not compared")
	}
	for _, row := range p.rows("report", "change_study", "--week", "2026-W46", "--format", "json") {
		name := asText(row["change"]) + ", " + asText(row["measure"])
		switch {
		case asText(row["change"]) == truth.Carts.Code:
			if asText(row["finding"]) != "not shown" {
				t.Errorf("%s: %s", name, asText(row["finding"]))
			}
		case asText(row["measure"]) == "set-up":
			planted := float64(truth.Laser.SetupThousandths)/1000 - 1
			if low, high := number(row, "low_pct"), number(row, "high_pct"); asText(row["finding"]) != "found" || planted < low || planted > high {
				t.Errorf("%s: %s, planted %.3f, interval %.4f to %.4f", name, asText(row["finding"]), planted, low, high)
			}
			if number(row, "payback") <= 0 || number(row, "year_low_usd") > number(row, "year_usd") || number(row, "year_usd") > number(row, "year_high_usd") {
				t.Errorf("%s: payback %s, dollars a year %s of %s to %s", name, asText(row["payback"]), asText(row["year_usd"]), asText(row["year_low_usd"]), asText(row["year_high_usd"]))
			}
		case asText(row["measure"]) == "build" && asText(row["finding"]) == "found":
			t.Errorf("%s was found, and the change did nothing to it", name)
		}
	}
	front := sheetRows(t, filepath.Join(p.dir, "books", "2026-W46", "crews-shifts.xlsx"), "front")
	said := fmt.Sprint(front)
	for _, words := range []string{"GREEN took ", "set-up takes ", "no effect is shown"} {
		if !strings.Contains(said, words) {
			t.Errorf("the front sheet of the owner's book doesn't say %q", words)
		}
	}
}

// TestWhatIf: two recorded set-ups of one person, 60 and 10 minutes on the clock. In 20
// minutes the first would have taken 40 less, the second stays. One week; 52 like it:
// 2,080 minutes; at 20.00 an hour and a quarter of burden 866.67 dollars. 1,733.34 pays
// back in 2 years (1,733.34 / 866.67).
func TestWhatIf(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs": "job,price_usd\nJ1,1000\n", "trusses": "job,truss,quantity\nJ1,A,10\n",
		"wages":       "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\nE2,2026-01-01,direct,20\nE3,2026-01-01,direct,20\n",
		"timecards":   "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 10:00\nE2,RED,day,T1,2026-03-17 06:00,2026-03-17 10:00\nE3,RED,day,T1,2026-03-18 06:00,2026-03-18 10:00\n",
		"completions": "station,batch,job,truss,crew,shift,setup_started_at,build_started_at,finished_at,quantity\nT1,B1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 07:00,2026-03-16 10:00,2\nT1,B2,J1,A,RED,day,2026-03-17 06:00,2026-03-17 06:10,2026-03-17 10:00,2\nT1,B3,J1,A,RED,day,,2026-03-18 06:00,2026-03-18 08:00,2\n",
		"stoppages":   "station,started_at,ended_at,reason\nT1,2026-03-18 09:00,2026-03-18 09:30,no lumber\n",
	})
	rows := p.rows("report", "what_if", "--week", "2026-W12", "--set", "setup_min=20", "--set", "batch_size=6", "--set", "stoppage=no lumber", "--set", "stoppage_less_pct=0.5", "--cost", "1733.34", "--format", "json")
	if len(rows) != 3 {
		t.Fatalf("%d rows, want 3", len(rows))
	}
	for i, want := range []map[string]string{
		{"units": "2", "now_min": "70.00", "saved_min": "40.00", "year_min": "2080.00", "year_usd": "866.67", "payback": "2.0000"},
		// 6 trusses of the mark: one set-up instead of two, half of their 70 minutes.
		{"units": "2", "saved_min": "35.00", "year_min": "1820.00"},
		{"units": "1", "now_min": "30.00", "saved_min": "15.00", "year_min": "780.00", "year_usd": "325.00"},
	} {
		for column, value := range want {
			if got := asText(rows[i][column]); got != value {
				t.Errorf("%s of %s: %s, want %s", column, asText(rows[i]["assumption"]), got, value)
			}
		}
	}
}
