package main

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// slipFiles is a yard with a packing slip: P1 brings ten boards of 8 BF at 500, 4.00 each, P2
// ten more without a price. J1 takes the ten of P1, J2 five of P2.
var slipFiles = map[string]string{
	"jobs": "job,price_usd\nJ1,1000\nJ2,500\n",
	"receipts": "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n" +
		"2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,10,500\n2026-03-10,V1,P2,1,2x4,SPF,No. 2,12-00-00,10,\n",
	"lumber_usage": "used_at,job,size,species,grade,length,boards,reason\n" +
		"2026-03-03,J1,2x4,SPF,No. 2,12-00-00,10,cut\n2026-03-16,J2,2x4,SPF,No. 2,12-00-00,5,cut\n",
}

// slipPriced is P2 again, with its price: 600, 4.80 a board.
var slipPriced = map[string]string{
	"receipts-1": "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-10,V1,P2,1,2x4,SPF,No. 2,12-00-00,10,600\n",
}

// TestPackingSlipLaterPriced: until its price comes the last landed price of the item stands
// in, 5 x 4.00 = 20.00, and J2, the gap and the roll-forward say so. With the price J2 has
// 5 x 4.80 = 24.00. In an open month it simply has; of a closed one 4.00 is posted in April.
func TestPackingSlipLaterPriced(t *testing.T) {
	const inMarch = "SELECT coalesce(sum(usd), 0) FROM dollar_ledger WHERE job = 'J2' AND class = 'lumber' AND posted_on < DATE '2026-04-01'"
	const inAll = "SELECT coalesce(sum(usd), 0) FROM dollar_ledger WHERE job = 'J2' AND class = 'lumber'"
	for _, closed := range []bool{false, true} {
		p := newTestPlant(t, testSettings, slipFiles)
		p.balanced()
		p.holds(inAll, "20.00")
		p.holds("SELECT basis FROM steps.job_bases WHERE job = 'J2'", "lumber at a stand-in price")
		p.holds("SELECT count(*) FROM steps.job_bases WHERE job = 'J1'", "0")
		p.holds("SELECT usd FROM gaps WHERE code = 'slip-without-price'", "40.00")
		stdout, stderr, code := p.run("check")
		if code != exitFine || stderr != "" || !strings.Contains(stdout, "receipts.csv:3: receipts without a price: the item's last landed price stands in") {
			t.Errorf("check: exit %d\n%s%s", code, stdout, stderr)
		}
		march := "24.00"
		if closed {
			if _, stderr, code := p.run("close", "2026-03"); code != exitFine {
				t.Fatalf("close: exit %d\n%s", code, stderr)
			}
			march = "20.00"
		}
		p.importFiles(slipPriced)
		p.balanced()
		p.holds(inMarch, march)
		p.holds(inAll, "24.00")
		p.holds("SELECT sum(usd) FROM board_ledger", "24.00")
		p.holds("SELECT count(*) FROM steps.job_bases", "0")
		p.holds("SELECT count(*) FROM gaps", "0")
		if stdout, _, code := p.run("check"); code != exitFine || stdout != "" {
			t.Errorf("check of a plant that records all: exit %d\n%s", code, stdout)
		}
	}
}

// holds fails the test when the only cell of a SELECT is another.
func (p *testPlant) holds(text, want string) {
	p.t.Helper()
	if got := p.value(text); got != want {
		p.t.Errorf("%s: %s, want %s", text, got, want)
	}
}

// TestFrontSaysWhatIsLess: the front sheet of a plant with hours only has a row for each gap,
// with what it touches, and hours without times stay on their workday.
func TestFrontSaysWhatIsLess(t *testing.T) {
	folder := reportPlants + "/hours"
	p := newTestPlant(t, readText(t, folder, "plant.toml"), feedTexts(t, folder))
	p.holds("SELECT sum(seconds) FROM gaps WHERE code = 'hours-only' AND effect LIKE '%by logged times%'", "43200")
	p.holds("SELECT sum(seconds) FROM gaps WHERE code = 'hours-only' AND effect LIKE '%by quoted minutes%'", "18000")
	p.holds("SELECT sum(seconds) FROM gaps WHERE code = 'hours-only' AND effect LIKE '%by design board feet%'", "3601")
	p.holds("SELECT sum(rows) FROM gaps WHERE code = 'runs-without-times'", "3")
	p.holds("SELECT string_agg(DISTINCT workday - work_date, ',') FROM steps.minute_rows", "0")
	book := filepath.Join(p.dir, "crews.xlsx")
	if _, stderr, code := p.run("report", "crews-shifts", "--week", "2026-W12", "--to", book); code != exitFine {
		t.Fatalf("report: exit %d\n%s", code, stderr)
	}
	var less []string
	for _, row := range sheetRows(t, book, "front") {
		if len(row) > 4 && row[0] == "less" && row[1] == "timecards without clock times" {
			less = append(less, row[3]+" rows, "+row[4]+" min")
		}
	}
	slices.Sort(less)
	// By quoted minutes 300; by design board feet 3601 s; by logged times 720; waiting E4's 120,
	// E2's 180 and the 480 of E3, who is indirect.
	if want := []string{"1 rows, 300.0 min", "1 rows, 60.0 min", "2 rows, 720.0 min", "3 rows, 780.0 min"}; !slices.Equal(less, want) {
		t.Errorf("the front sheet says %v, want %v", less, want)
	}
}
