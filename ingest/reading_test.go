package ingest

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"trusstally/ingest/problem"
)

// TestReadingValues holds what reading rules make of a file against what a person reads in
// it: each is worked out by hand.
func TestReadingValues(t *testing.T) {
	for _, c := range []struct {
		name, rules, file, text, query string
		want                           []string
	}{
		{
			"a night punch by a clock with AM and PM", "[feed.timecards]\ndate_format = \"M/D/YY\"\ntime_format = \"h:MM AM\"\n[feed.timecards.columns]\nstarted_at = { date = \"Date\", time = \"In\" }\nended_at = { date = \"Date\", time = \"Out\", after = \"started_at\" }\n",
			"timecards-1.csv", "employee,Date,In,Out\nE1,8/24/26,10:00 PM,6:15:30 am\nE2,08/24/26,12:05 AM,12:05 PM\nE3,8/24/26,6:00 AM,\n",
			"SELECT employee, started_at, ended_at, ended_utc FROM timecards ORDER BY 1",
			[]string{"E1|2026-08-24 22:00:00|2026-08-25 06:15:30|2026-08-25 11:15:30", "E2|2026-08-24 00:05:00|2026-08-24 12:05:00|2026-08-24 17:05:00", "E3|2026-08-24 06:00:00||"},
		},
		{
			"clocks of another zone show the plant's time", "[feed.stoppages]\nzone = \"America/Denver\"\n",
			"stoppages-1.csv", "station,started_at,ended_at,reason\nT1,2026-08-24 23:30,2026-08-25 00:10,jam\n",
			"SELECT started_at, started_utc, ended_at FROM stoppages", []string{"2026-08-25 00:30:00|2026-08-25 05:30:00|2026-08-25 01:10:00"},
		},
		{
			"a day without a time is the plant's day", "[feed.lumber_usage]\nzone = \"America/Denver\"\ndate_format = \"DD-MMM-YYYY\"\n",
			"lumber_usage-1.csv", "used_at,station,size,species,grade,length,boards,reason\n24-AUG-2026,T1,2x4,SPF,No. 2,12-00-00,3,cut\n",
			"SELECT used_at, used_utc FROM lumber_usage", []string{"2026-08-24|2026-08-24 05:00:00"},
		},
		{
			"prices a board, and a description in one column", "[feed.receipts.split]\nItem = \"{size} {species} {grade...} {length}\"\n[feed.receipts.units]\nusd_per_mbf = \"board\"\n",
			// 4.40 ÷ 8 bf = 0.55; 5.35 ÷ 9 1/3 bf = 0.573214…, 294 boards of it 1572.90
			"receipts-1.csv", "received_on,vendor,document,line,Item,boards,usd_per_mbf\n2026-08-17,V1,P1,1,2x4 SPF No. 2 12-00-00,100,4.40\n2026-08-17,V1,P1,2,2x4 SYP No. 2 Dense 14'0\",294,5.35\n",
			"SELECT line, size, species, grade, length_16ths, usd_per_mbf FROM receipts ORDER BY 1", []string{"1|2x4|SPF|No. 2|2304|550", "2|2x4|SYP|No. 2 Dense|2688|573.2143"},
		},
		{
			"prices a foot and a board foot", "[feed.lumber_prices.units]\nusd_per_mbf = \"foot\"\n[feed.purchase_orders.units]\nusd_per_mbf = \"bf\"\n",
			// a foot of 2x6 is a board foot; under an inch of thickness counts as one
			"lumber_prices-1.csv", "effective_on,size,species,grade,usd_per_mbf\n2026-08-17,2x6,SPF,No. 2,0.5625\n2026-08-17,3/4x4,SPF,No. 2,0.2\n",
			"SELECT size, usd_per_mbf FROM lumber_prices ORDER BY 1", []string{"2x6|562.5", "3/4x4|600"},
		},
		{
			"hours and minutes", "[feed.timecards.units]\nhours = \"h:mm\"\nunpaid_min = \"hours\"\n",
			"timecards-1.csv", "employee,work_date,hours,unpaid_min\nE1,2026-08-24,7:20,0.5\nE2,2026-08-24,8:00:01,\n",
			"SELECT employee, hours, unpaid_min FROM timecards ORDER BY 1", []string{"E1|7.3333|30", "E2|8.0003|0"},
		},
		{
			"minutes of a batch", "[feed.trusses.units]\nquoted_build_min = \"batch h:mm\"\nquoted_setup_min = \"hours\"\n",
			"trusses-1.csv", "job,truss,quantity,quoted_setup_min,quoted_build_min\nJ1,T1,12,1.25,3:36\n",
			"SELECT quoted_setup_min, quoted_build_min FROM trusses", []string{"75|18"},
		},
		{
			"packs", "[lumber.packs]\n\"2x4\" = 294\n[feed.receipts.columns]\nboards = { packs = \"Units\" }\n",
			"receipts-1.csv", "received_on,vendor,document,line,size,species,grade,length,Units\n2026-08-17,V1,P1,1,2 X 4,SPF,No. 2,12-00-00,2.5\n",
			"SELECT boards FROM receipts", []string{"735"},
		},
		{
			"codes of several columns", "[feed.receipts]\ncurrency = \"$\"\nthousands = \"'\"\n[feed.receipts.codes.SKU]\n\"24SPF2\" = { size = \"2x4\", species = \"SPF\", grade = \"No. 2\" }\n",
			"receipts-1.csv", "received_on,vendor,document,line,SKU,length,boards,usd_per_mbf\n2026-08-17,V1,P1,1,24SPF2,12-00-00,1'000,$ 545.50\n",
			"SELECT size, species, grade, boards, usd_per_mbf FROM receipts", []string{"2x4|SPF|No. 2|1000|545.5"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newTestWarehouse(t)
			w.settings = settingsWith(t, c.rules)
			receipt := w.mustLand(c.file, c.text)
			if receipt.Rejected > 0 {
				t.Fatalf("refused: %s", receipt.Problems[0].What)
			}
			if got := w.rows(c.query); !slices.Equal(got, c.want) {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// TestPayWithBracketsIsHidden: a cell of pay that can't be read under the plant's own marks is
// in no message and no reason, though it has brackets of its own.
func TestPayWithBracketsIsHidden(t *testing.T) {
	w := newTestWarehouse(t)
	w.settings = settingsWith(t, "[feed.wages]\ncurrency = \"$\"\n")
	receipt := w.mustLand("wages-1.csv", "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,$98.76 (old)\nE2,2026-01-01,direct,$20.00\n")
	if receipt.Rejected != 1 || len(receipt.Problems) != 1 {
		t.Fatalf("%d refused, %v", receipt.Rejected, receipt.Problems)
	}
	if said := receipt.Problems[0].What; strings.Contains(said, "98") || !strings.HasSuffix(said, "(•••)") {
		t.Errorf("it says %q", said)
	}
	if reasons := w.rows("SELECT reason FROM rejects"); len(reasons) != 1 || strings.Contains(reasons[0], "98") {
		t.Errorf("reasons %q", reasons)
	}
}

// TestReasonColumnIsNoRejectsFile: a plant's own column "Reject reason" does not take a
// file's totals away; those of a file of rejects/ are held against nothing.
func TestReasonColumnIsNoRejectsFile(t *testing.T) {
	w := newTestWarehouse(t)
	w.settings = settingsWith(t, "[feed.invoices]\nfooter = [\"Total*\"]\ntotals = [\"amount_usd\"]\n")
	_, err := w.land("invoices-1.csv", "invoice,job,invoiced_on,amount_usd,Reject reason\nI1,J1,2026-08-24,100,\nTotal,,,999,\n")
	var list problem.List
	if !errors.As(err, &list) || list[0].Code != CodeControlTotal {
		t.Errorf("%v, want [%s]", err, CodeControlTotal)
	}
}
