package main

import (
	"cmp"
	"fmt"
	"strings"
	"testing"
	"time"
)

// Published values, each through the real path: files in, ledger out. The source stands
// beside each case.

// stint is hours of one workweek at one rate.
type stint struct {
	hours int
	rate  string
}

// timecardsOf lays the stints into the week from Monday 2026-03-16, at most twelve hours a
// day in punches of at most twelve hours, each with its own rate.
func timecardsOf(employee string, stints []stint) string {
	var b strings.Builder
	start := time.Date(2026, 3, 16, 6, 0, 0, 0, time.UTC)
	left := 12
	for _, s := range stints {
		for hours := s.hours; hours > 0; {
			n := min(hours, left)
			end := start.Add(time.Duration(n) * time.Hour)
			fmt.Fprintf(&b, "%s,T1,%s,%s,%s,%s\n", employee, start.Format("2006-01-02"), start.Format("2006-01-02 15:04"), end.Format("2006-01-02 15:04"), s.rate)
			hours -= n
			left -= n
			start = end
			if left == 0 {
				start = time.Date(start.Year(), start.Month(), start.Day()+1, 6, 0, 0, 0, time.UTC)
				left = 12
			}
		}
	}
	return b.String()
}

// wageOf is a row of wages but for employee and day.
const hourlyWage = ",2026-01-01,direct,hourly,99,,,"

func TestPublishedOvertime(t *testing.T) {
	cases := []struct {
		source         string
		wage           string // "" for hourlyWage; punches carry their own rates
		stints         []stint
		otherPay       []string // kind,amount_usd
		regularRate    string
		exact, rounded string // gross with rate_rounding "none" and "cent"
	}{
		{source: "29 CFR 778.110(a)", stints: []stint{{46, "12"}}, regularRate: "12.000000", exact: "588.00", rounded: "588.00"},
		{source: "29 CFR 778.110(b), production bonus", stints: []stint{{46, "12"}}, otherPay: []string{"bonus,46"}, regularRate: "13.000000", exact: "637.00", rounded: "637.00"},
		{source: "29 CFR 778.111(a), piecework and waiting", stints: []stint{{46, "0"}, {4, "8"}}, otherPay: []string{"piecework,491"}, regularRate: "10.460000", exact: "575.30", rounded: "575.30"},
		{source: "29 CFR 778.111(a), text of 1981", stints: []stint{{46, "0"}, {4, "5"}}, otherPay: []string{"piecework,245.50"}, regularRate: "5.310000", exact: "292.05", rounded: "292.10"},
		// The two fact sheets re-price the whole week at rounded rates (648.96, 825.04: see
		// TestRepricedWeeks); straight pay is never re-priced here, so the exact figure and the
		// cent rule's stand instead.
		{source: "US Department of Labor fact sheet 54, two jobs", stints: []stint{{40, "11"}, {16, "8"}}, regularRate: "10.142857", exact: "649.14", rounded: "649.12"},
		{source: "US Department of Labor fact sheet 54, attendance bonus", stints: []stint{{56, "12"}}, otherPay: []string{"bonus,50"}, regularRate: "12.892857", exact: "825.14", rounded: "825.20"},
		{source: "University of Tennessee MTAS, two rates", stints: []stint{{40, "15"}, {8, "9"}}, regularRate: "14.000000", exact: "728.00", rounded: "728.00"},
		{source: "US Department of Labor fact sheet 56C, example A", stints: []stint{{43, "10"}}, otherPay: []string{"bonus,50"}, regularRate: "11.162791", exact: "496.74", rounded: "496.74"},
		{source: "US Department of Labor fact sheet 56C, example C", stints: []stint{{43, "10"}}, otherPay: []string{"bonus,50", "discretionary,25"}, regularRate: "11.162791", exact: "521.74", rounded: "521.74"},
		{source: "US Department of Labor fact sheet 23, salary for a long week", wage: ",2026-01-01,direct,salary,405,45,yes,", stints: []stint{{45, ""}}, regularRate: "9.000000", exact: "427.50", rounded: "427.50"},
		// Half of 21.33 is 10.67 by the cent rule.
		{source: "computed by the rule of 29 CFR 778.115", stints: []stint{{30, "20"}, {15, "24"}}, regularRate: "21.333333", exact: "1013.33", rounded: "1013.35"},
		{source: "29 CFR 778.104, at the threshold", stints: []stint{{40, "12"}}, regularRate: "12.000000", exact: "480.00", rounded: "480.00"},
		// Expenses paid back are no pay (29 CFR 778.217).
		{source: "computed: a reimbursement", stints: []stint{{46, "12"}}, otherPay: []string{"reimbursement,80"}, regularRate: "12.000000", exact: "588.00", rounded: "588.00"},
	}
	timecards, wages := "employee,station,work_date,started_at,ended_at,rate_usd\n", "employee,effective_on,role,basis,rate_usd,salary_hours,overtime,overtime_bill_rate_usd\n"
	otherPay := "employee,workweek_start,kind,amount_usd\n"
	for i, c := range cases {
		employee := fmt.Sprintf("E%02d", i)
		timecards += timecardsOf(employee, c.stints)
		wages += employee + cmp.Or(c.wage, hourlyWage) + "\n"
		for _, pay := range c.otherPay {
			otherPay += employee + ",2026-03-16," + pay + "\n"
		}
	}
	for _, rounding := range []string{"none", "cent"} {
		settings := strings.Replace(testSettings, "[pay]\n", "[pay]\nrate_rounding = \""+rounding+"\"\n", 1)
		p := newTestPlant(t, settings, map[string]string{"timecards": timecards, "wages": wages, "other_pay": otherPay})
		rows := p.query("SELECT employee, regular_rate_usd, gross_usd FROM pay_weeks ORDER BY employee")
		if len(rows) != len(cases) {
			t.Fatalf("%d pay weeks, want %d", len(rows), len(cases))
		}
		for i, c := range cases {
			want := c.exact
			if rounding == "cent" {
				want = c.rounded
			}
			if got := asText(rows[i]["regular_rate_usd"]); got != c.regularRate {
				t.Errorf("%s: regular rate %s, want %s", c.source, got, c.regularRate)
			}
			if got := asText(rows[i]["gross_usd"]); got != want {
				t.Errorf("%s, rounding %s: gross %s, want %s", c.source, rounding, got, want)
			}
		}
		p.balanced()
	}
}

// TestRepricedWeeks reproduces the two published figures that re-price the whole week at
// rates rounded to the cent, and shows why the ledger does not: rounding a rate down
// underpays the straight time too.
func TestRepricedWeeks(t *testing.T) {
	// Cents: pay that counts, hours, published gross (US Department of Labor fact sheet 54).
	for _, c := range []struct{ pay, hours, published, exact int }{
		{40*1100 + 16*800, 56, 64896, 64914},
		{56*1200 + 5000, 56, 82504, 82514},
	} {
		regular := (2*c.pay + c.hours) / (2 * c.hours) // 10.14, 12.89
		overtime := regular * 3 / 2                    // 15.21, 19.335 written as 19.34
		overtime += regular * 3 % 2
		repriced := 40*regular + (c.hours-40)*overtime
		if repriced != c.published {
			t.Errorf("re-priced %d cents, published %d", repriced, c.published)
		}
		if repriced >= c.exact {
			t.Errorf("re-pricing pays %d cents, not below the %d that are owed", repriced, c.exact)
		}
	}
}

// TestPublishedDailyOvertime holds daily thresholds and the seventh day against California
// Labor Code 510(a): time and a half past 8 hours a day, past 40 a week and for the first 8
// hours of the seventh day in a row; double time past 12 hours a day and past 8 on the
// seventh; no hour needs two premiums. Hours and pay at 10.00 computed by its words.
func TestPublishedDailyOvertime(t *testing.T) {
	settings := strings.Replace(testSettings, "[pay]\n", "[pay]\ndaily_threshold_hours = 8\ndouble_daily_threshold_hours = 12\nseventh_day = \"premium\"\n", 1)
	cases := []struct {
		name  string
		hours [7]int
		half  int // hours at time and a half
		twice int // hours at double time
		gross string
	}{
		{"a day of ten hours", [7]int{10}, 2, 0, "110.00"},
		{"a day of fourteen hours", [7]int{14}, 4, 2, "180.00"},
		{"six days of eight hours", [7]int{8, 8, 8, 8, 8, 8}, 8, 0, "520.00"},
		// Ten hours that earned a daily premium don't count towards the forty.
		{"five days of ten hours", [7]int{10, 10, 10, 10, 10}, 10, 0, "550.00"},
		{"six days of ten hours", [7]int{10, 10, 10, 10, 10, 10}, 20, 0, "700.00"},
		{"seven days of six hours", [7]int{6, 6, 6, 6, 6, 6, 6}, 6, 0, "450.00"},
		// 7 x 8: forty straight, the sixth day past forty, the seventh by itself.
		{"seven days of eight hours", [7]int{8, 8, 8, 8, 8, 8, 8}, 16, 0, "640.00"},
		{"a long seventh day", [7]int{4, 4, 4, 4, 4, 4, 10}, 8, 2, "400.00"},
		{"a week with a day off has no seventh day", [7]int{8, 8, 0, 8, 8, 0, 8}, 0, 0, "400.00"},
	}
	timecards, wages := "employee,station,started_at,ended_at\n", "employee,effective_on,role,rate_usd\n"
	for i, c := range cases {
		wages += fmt.Sprintf("E%02d,2026-01-01,direct,10\n", i)
		for day, hours := range c.hours {
			if hours > 0 {
				timecards += fmt.Sprintf("E%02d,T1,2026-03-%d 05:00,2026-03-%d %02d:00\n", i, 16+day, 16+day, 5+hours)
			}
		}
	}
	for _, rounding := range []string{"none", "cent"} {
		p := newTestPlant(t, strings.Replace(settings, "[pay]\n", "[pay]\nrate_rounding = \""+rounding+"\"\n", 1), map[string]string{"timecards": timecards, "wages": wages})
		for i, row := range p.query("SELECT (overtime_seconds - double_seconds) // 3600 AS half, double_seconds // 3600 AS twice, gross_usd FROM pay_weeks ORDER BY employee") {
			c := cases[i]
			got := fmt.Sprintf("%s at half more, %s at double, %s", asText(row["half"]), asText(row["twice"]), asText(row["gross_usd"]))
			if want := fmt.Sprintf("%d at half more, %d at double, %s", c.half, c.twice, c.gross); got != want {
				t.Errorf("%s: %s, want %s", c.name, got, want)
			}
		}
		p.balanced()
	}
}

// TestWorkweeksStandAlone: 30 hours, then 50 hours, make 10 hours of overtime
// (29 CFR 778.104).
func TestWorkweeksStandAlone(t *testing.T) {
	var b strings.Builder
	b.WriteString("employee,station,started_at,ended_at\n")
	for day := 16; day < 19; day++ {
		fmt.Fprintf(&b, "E1,T1,2026-03-%d 06:00,2026-03-%d 16:00\n", day, day)
	}
	for day := 23; day < 28; day++ {
		fmt.Fprintf(&b, "E1,T1,2026-03-%d 06:00,2026-03-%d 16:00\n", day, day)
	}
	p := newTestPlant(t, testSettings, map[string]string{"timecards": b.String(), "wages": "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,20\n"})
	if got := p.value("SELECT string_agg(overtime_seconds // 3600, ',' ORDER BY workweek_start) FROM pay_weeks"); got != "0,10" {
		t.Errorf("overtime hours %s, want 0,10", got)
	}
}

// TestPublishedBoardFeet holds the ledger's board feet against printed tables.
func TestPublishedBoardFeet(t *testing.T) {
	// engineeringtoolbox.com, board-foot table, lengths 6 to 16 ft, two decimals.
	table := []struct {
		size string
		feet [6]string
	}{
		{"2x4", [6]string{"4.00", "5.33", "6.67", "8.00", "9.33", "10.67"}},
		{"2x6", [6]string{"6.00", "8.00", "10.00", "12.00", "14.00", "16.00"}},
		{"2x8", [6]string{"8.00", "10.67", "13.33", "16.00", "18.67", "21.33"}},
		{"2x10", [6]string{"10.00", "13.33", "16.67", "20.00", "23.33", "26.67"}},
		{"2x12", [6]string{"12.00", "16.00", "20.00", "24.00", "28.00", "32.00"}},
		{"1x4", [6]string{"2.00", "2.67", "3.33", "4.00", "4.67", "5.33"}},
		{"1x6", [6]string{"3.00", "4.00", "5.00", "6.00", "7.00", "8.00"}},
		{"1x12", [6]string{"6.00", "8.00", "10.00", "12.00", "14.00", "16.00"}},
	}
	var receipts strings.Builder
	receipts.WriteString("received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n")
	line := 0
	add := func(size, length, boards string) {
		line++
		fmt.Fprintf(&receipts, "2026-03-16,V1,P1,%d,%s,SPF,No. 2,%s,%s,500\n", line, size, length, boards)
	}
	for _, row := range table {
		for i := range row.feet {
			add(row.size, fmt.Sprintf("%d-00-00", 6+2*i), "1")
		}
	}
	add("3x5", "17-00-00", "1")
	add("3x6", "17-00-00", "1")
	add("1x4", "8-00-00", "14")
	add("1/2x4", "8-00-00", "1")
	p := newTestPlant(t, testSettings, map[string]string{"receipts": receipts.String()})
	got := map[string]string{}
	for _, row := range p.query("SELECT line, round(bf, 2)::DECIMAL(12,2) AS bf FROM board_ledger ORDER BY line") {
		got[asText(row["line"])] = asText(row["bf"])
	}
	want := []string{}
	for _, row := range table {
		want = append(want, row.feet[:]...)
	}
	// 3x5 and 3x6, 17 ft, and 14 pieces 1x4, 8 ft = 37 1/3: US Army EN5155. Under one inch
	// thick counts as one: US Navy Engineering Aid Basic 6-3.
	want = append(want, "21.25", "25.50", "37.33", "2.67")
	for i, bf := range want {
		if g := got[fmt.Sprint(i+2)]; g != bf {
			t.Errorf("receipt line %d: %s board feet, want %s", i+1, g, bf)
		}
	}
}

// stockExample is receipts (day, boards, dollars per thousand) and issues (time, boards) of
// one item of which a board is a whole number of board feet.
type stockExample struct {
	receipts [][3]string
	issues   [][2]string
}

// TestPublishedStock holds first in, first out against worked examples, each on an item and a
// job of its own in one plant. 1x12 of n feet has n board feet; prices are a board foot's.
func TestPublishedStock(t *testing.T) {
	examples := []stockExample{
		// OpenStax, Principles of Accounting, perpetual stock: 150 at 21, sell 120, buy 225 at 27,
		// sell 180, buy 210 at 33.
		{[][3]string{{"2026-03-02", "150", "21000"}, {"2026-03-09", "225", "27000"}, {"2026-03-23", "210", "33000"}},
			[][2]string{{"2026-03-03 08:00", "120"}, {"2026-03-10 08:00", "180"}}},
		// Price change during a job, computed: 400 x .60, then 600 x .60 + 200 x .75.
		{[][3]string{{"2026-03-02", "1000", "300"}, {"2026-03-09", "1000", "375"}},
			[][2]string{{"2026-03-03 08:00", "400"}, {"2026-03-10 08:00", "800"}}},
		// Issued before received, computed: 10 + 20 at 1.00; the receipt makes the 20 dearer by 2.00.
		{[][3]string{{"2026-03-02", "10", "333.3334"}, {"2026-03-09", "50", "1000"}},
			[][2]string{{"2026-03-03 08:00", "30"}}},
	}
	jobs := "job,price_usd\n"
	in := "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n"
	out := "used_at,job,size,species,grade,length,boards,reason\n"
	for i, example := range examples {
		jobs += fmt.Sprintf("J%d,10000\n", i)
		for k, r := range example.receipts {
			in += fmt.Sprintf("%s,V1,P%d,%d,1x12,SPF,No. 2,%d-00-00,%s,%s\n", r[0], k, i, i+1, r[1], r[2])
		}
		for _, u := range example.issues {
			out += fmt.Sprintf("%s,J%d,1x12,SPF,No. 2,%d-00-00,%s,cut\n", u[0], i, i+1, u[1])
		}
	}
	p := newTestPlant(t, testSettings, map[string]string{"jobs": jobs, "receipts": in, "lumber_usage": out})
	p.balanced()
	lumber := "SELECT string_agg(usd, ' ' ORDER BY posted_on) FROM (SELECT posted_on, sum(usd) AS usd FROM dollar_ledger WHERE class = 'lumber' AND job = '%s' GROUP BY posted_on)"
	stock := "SELECT sum(usd) AS usd FROM board_ledger WHERE length_16ths = %d * 192"
	for i, want := range []struct{ lumber, stock string }{
		{"2520.00 4680.00", "8955.00"}, // cost of sales 7,200, ending 8,955
		{"240.00 510.00", "600.00"},
		{"30.00 40.00", "90.00"},
	} {
		if got := p.value(fmt.Sprintf(lumber, fmt.Sprintf("J%d", i))); got != want.lumber {
			t.Errorf("example %d: lumber %s, want %s", i, got, want.lumber)
		}
		if got := p.value(fmt.Sprintf(stock, i+1)); got != want.stock {
			t.Errorf("example %d: stock %s, want %s", i, got, want.stock)
		}
	}
}
