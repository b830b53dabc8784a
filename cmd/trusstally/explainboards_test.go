package main

import (
	"fmt"
	"strings"
	"testing"
)

// TestExplainAllottedBoards: a board of 8.00 cut for a batch of 8 ft for J1 and 4 ft for J2
// is allotted by 5 1/3 and 2 2/3 board feet; one that only the saw is named for, alike.
func TestExplainAllottedBoards(t *testing.T) {
	p := newTestPlant(t, testSettings, map[string]string{
		"jobs":       "job,price_usd\nJ1,500\nJ2,500\n",
		"trusses":    "job,truss,quantity\nJ1,A,1\nJ2,A,1\n",
		"cut_pieces": "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,P,2x4,SPF,No. 2,8-00-00,1\nJ2,A,P,2x4,SPF,No. 2,4-00-00,1\n",
		"completions": "station,batch,job,truss,crew,shift,shift_date,finished_at,quantity\n" +
			"S1,B1,J1,A,SAW,day,2026-03-16,2026-03-16 07:00,1\nS1,B1,J2,A,SAW,day,2026-03-16,2026-03-16 07:30,1\n",
		"receipts":     "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,3,1000\n",
		"lumber_usage": "used_at,batch,station,size,species,grade,length,boards,reason\n2026-03-16,B1,,2x4,SPF,No. 2,12-00-00,1,cut\n2026-03-16,,S1,2x4,SPF,No. 2,12-00-00,1,cut\n2026-03-16,,S1,2x4,SPF,No. 2,12-00-00,1,shop\n",
	})
	p.explainsAs(`J1
  lumber  10.66
    5.33  2026-03-16  lumber_usage.csv:2
          | 2026-03-16,B1,,2x4,SPF,No. 2,12-00-00,1,cut
        5.33  1 board cut, 2x4 SPF No. 2 12-00-00, allotted 5.3333 of 8.0000 BF of parts of B1; layer of receipts.csv:2
              | 2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,3,1000
    5.33  2026-03-16  lumber_usage.csv:3
          | 2026-03-16,,S1,2x4,SPF,No. 2,12-00-00,1,cut
        5.33  1 board cut, 2x4 SPF No. 2 12-00-00, allotted 5.3333 of 8.0000 BF of parts; layer of receipts.csv:2
`, "J1", "--class", "lumber")
	if got := p.explained("J2", "--class", "lumber"); strings.Count(got, "2.67  1 board cut, 2x4 SPF No. 2 12-00-00, allotted 2.6667 of 8.0000 BF") != 2 {
		t.Errorf("J2:\n%s", got)
	}
}

// TestExplainPrices: by which row boards are priced, in each case that the ledger knows. A
// 12-ft board has 8 BF.
func TestExplainPrices(t *testing.T) {
	const usage = "record,used_at,job,size,species,grade,length,boards,reason,corrects,from_length\n"
	const receipt = "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n"
	for _, c := range []struct {
		name, settings, receipts, usage string
		lines                           []string
	}{
		{"two layers", "", receipt + "2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,2,1000\n2026-03-03,V1,P2,1,2x4,SPF,No. 2,12-00-00,9,500\n",
			usage + "R1,2026-03-16 06:00,J1,2x4,SPF,No. 2,12-00-00,3,cut,,\n",
			[]string{"16.00  2 boards cut, 2x4 SPF No. 2 12-00-00; layer of receipts.csv:2", "4.00  1 board cut, 2x4 SPF No. 2 12-00-00; layer of receipts.csv:3"}},
		{"moving average", "[lumber]\ncosting = \"average\"\n", receipt + "2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,2,1000\n2026-03-03,V1,P2,1,2x4,SPF,No. 2,12-00-00,2,500\n",
			usage + "R1,2026-03-16 06:00,J1,2x4,SPF,No. 2,12-00-00,1,cut,,\n",
			[]string{"6.00  1 board cut, 2x4 SPF No. 2 12-00-00; at the moving average; layer of receipts.csv:2"}},
		{"return", "", receipt + "2026-03-02,V1,P1,1,2x4,SPF,No. 2,16-00-00,1,750\n",
			usage + "R1,2026-03-16 06:00,J1,2x4,SPF,No. 2,16-00-00,1,cut,,\nR2,2026-03-16 07:00,J1,2x4,SPF,No. 2,6-00-00,-1,return,,16-00-00\n",
			[]string{"8.00  1 board cut, 2x4 SPF No. 2 16-00-00; layer of receipts.csv:2", "-3.00  1 board back, 2x4 SPF No. 2 6-00-00; at the cost of lumber_usage.csv:2"}},
		{"before the receipt", "", receipt + "2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,1,1000\n2026-03-17,V1,P2,1,2x4,SPF,No. 2,12-00-00,9,1250\n",
			usage + "R1,2026-03-16 06:00,J1,2x4,SPF,No. 2,12-00-00,2,cut,,\n",
			[]string{"8.00  1 board cut, 2x4 SPF No. 2 12-00-00; layer of receipts.csv:2", "8.00  1 board cut, 2x4 SPF No. 2 12-00-00; at the last landed price, of receipts.csv:2",
				"2.00  2026-03-17, of 2026-03-16  lumber_usage.csv:2", "2.00  what boards cost that came after they were used, 2x4 SPF No. 2 12-00-00; by the layer of receipts.csv:3"}},
		{"without a price", "", receipt + "2026-03-02,V1,P1,1,2x6,SPF,No. 2,12-00-00,1,1000\n",
			usage + "R1,2026-03-16 06:00,J1,2x4,SPF,No. 2,12-00-00,2,cut,,\n", []string{"0.00  2 boards cut, 2x4 SPF No. 2 12-00-00; no price is known"}},
		{"correction", "", receipt + "2026-03-02,V1,P1,1,2x4,SPF,No. 2,12-00-00,5,1000\n2026-03-03,V1,P2,1,2x4,SPF,No. 2,12-00-00,9,500\n",
			usage + "R1,2026-03-16 06:00,J2,2x4,SPF,No. 2,12-00-00,5,cut,,\nR2,2026-03-17 06:00,J2,2x4,SPF,No. 2,12-00-00,-5,cut,R1,\nR3,2026-03-17 06:01,J1,2x4,SPF,No. 2,12-00-00,5,cut,R1,\n",
			[]string{"40.00  5 boards cut, 2x4 SPF No. 2 12-00-00; at the cost of lumber_usage.csv:2"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := newTestPlant(t, testSettings+c.settings, map[string]string{"jobs": "job,price_usd\nJ1,500\nJ2,500\n", "receipts": c.receipts, "lumber_usage": c.usage})
			got := p.explained("J1", "--class", "lumber")
			for _, line := range c.lines {
				if !strings.Contains(got, " "+line+"\n") {
					t.Errorf("no line %q:\n%s", line, got)
				}
			}
		})
	}
}

// TestExplainCaps: forty rows of a level, what the others come to, and all with --all. The
// text of a record stands as it was written, over two lines and with its quotes.
func TestExplainCaps(t *testing.T) {
	var costs strings.Builder
	costs.WriteString("document,job,incurred_on,kind,amount_usd,note\r\n")
	for i := range 43 {
		fmt.Fprintf(&costs, "D%d,J1,2026-03-16,delivery,%d.50,\"two\r\nlines of \"\"%d\"\"\"\r\n", i+1, i+1, i+1)
	}
	p := newTestPlant(t, testSettings, map[string]string{"jobs": "job,price_usd\nJ1,500\n", "job_costs": costs.String()})
	// 41.50 + 42.50 + 43.50; the last record begins on line 2 + 2 x 42.
	got := p.explained("J1", "--class", "delivery")
	if !strings.HasSuffix(got, "| lines of \"\"40\"\"\"\n    … and 3 more rows, 127.50 in all\n") || strings.Contains(got, "41.50") {
		t.Errorf("capped:\n%s", got)
	}
	last := "    43.50  2026-03-16  job_costs.csv:86\n           | D43,J1,2026-03-16,delivery,43.50,\"two\n           | lines of \"\"43\"\"\"\n"
	if got := p.explained("J1", "--class", "delivery", "--all"); !strings.HasSuffix(got, last) {
		t.Errorf("all:\n%s", got)
	}
	if got := p.explained("J1", "--json"); strings.Count(got, `"feed": "job_costs"`) != 43 {
		t.Errorf("JSON is capped:\n%s", got)
	}
}

// TestExplainClosedMonth: March is closed with 8 boards of 4.40 on J1. Two more are logged
// late, and the delivery of 60.00 turns out to be 72.00: 8.80 and 12.00 are posted in April.
// What is below a posting of March says what was not known then.
func TestExplainClosedMonth(t *testing.T) {
	p := handPlant(t, testSettings)
	if _, stderr, code := p.run("close", "2026-03"); code != exitFine {
		t.Fatalf("close: exit %d\n%s", code, stderr)
	}
	p.importFiles(map[string]string{
		"lumber_usage-1": "used_at,job,size,species,grade,length,boards,reason\n2026-03-16 06:00,J1,2x4,SPF,No. 2,12-00-00,8,cut\n2026-03-17 06:00,J1,2x4,SPF,No. 2,12-00-00,2,cut\n",
		"job_costs-1":    "document,job,incurred_on,kind,amount_usd\nD1,J1,2026-03-18,delivery,72\n",
	})
	for until, want := range map[string]string{
		"2026-04-01": "  delivery  60.00\n    60.00  2026-03-18  job_costs.csv:2\n           | D1,J1,2026-03-18,delivery,60\n",
		"2026-05-01": `  delivery  72.00
     60.00  2026-03-18  job_costs.csv:2
            | D1,J1,2026-03-18,delivery,60
    -60.00  2026-04-01, correcting 2026-03-18  job_costs.csv:2
     72.00  2026-04-01, correcting 2026-03-18  job_costs-1.csv:2
            | D1,J1,2026-03-18,delivery,72
`,
	} {
		p.explainsAs("J1 for C1, shipped 2026-03-18, until "+until+"\n"+want, "J1", "--class", "delivery", "--until", until)
	}
	for _, until := range []string{"2026-03-17", "2026-04-01", "2026-05-01"} {
		var job map[string]any
		decode(t, p.explained("J1", "--until", until, "--json", "--wages"), &job)
		addsUp(t, job, true)
	}
	if got := p.explained("J1", "--class", "lumber"); !strings.Contains(got, "8.80  2026-04-01, correcting 2026-03-17  lumber_usage-1.csv:3\n") ||
		!strings.Contains(got, "8.80  2 boards cut, 2x4 SPF No. 2 12-00-00; layer of receipts.csv:2") {
		t.Errorf("lumber:\n%s", got)
	}
	// A raise paid from January on was not known either: 4.5 h at 2.00 more.
	p.importFiles(map[string]string{"wages-1": "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,22\nE2,2026-01-01,direct,26\n"})
	got := p.explained("J1", "--class", "direct_labour", "--wages")
	for _, line := range []string{
		"22.00  E1: 3600 s of setup, A at T1; at the rate of wages-1.csv:2", "-5.00  as the month was closed; corrected later", "5.00  2026-04-01, correcting 2026-03-16  timecards.csv:2",
	} {
		if !strings.Contains(got, " "+line+"\n") {
			t.Errorf("no line %q:\n%s", line, got)
		}
	}
}

// TestExplainPremium: E1 works 48 h of the week at 20, 06:00 to 14:00 on six days, all of it
// on J1; 8 h x 10 of premium lie on its days evenly, 13.33 or 13.34.
func TestExplainPremium(t *testing.T) {
	timecards, completions := "employee,crew,shift,station,started_at,ended_at\n", "station,job,truss,crew,shift,build_started_at,finished_at,quantity\n"
	for day := 16; day <= 21; day++ {
		timecards += fmt.Sprintf("E1,RED,day,T1,2026-03-%d 06:00,2026-03-%d 14:00\n", day, day)
		completions += fmt.Sprintf("T1,J1,A,RED,day,2026-03-%d 06:00,2026-03-%d 14:00,1\n", day, day)
	}
	p := newTestPlant(t, strings.Replace(testSettings, "[pay]\n", "[pay]\novertime_premium = \"job\"\n", 1), map[string]string{
		"jobs": "job,price_usd\nJ1,5000\n", "trusses": "job,truss,quantity\nJ1,A,6\n", "wages": oneWage, "timecards": timecards, "completions": completions,
	})
	got := p.explained("J1", "--class", "overtime_premium", "--wages")
	if !strings.Contains(got, "  overtime_premium  80.00\n") || strings.Count(got, "E1: 28800 s of build, A at T1\n") != 6 || strings.Count(got, "13.33  2026-03-") != 4 || strings.Count(got, "13.34  2026-03-") != 2 {
		t.Errorf("premium:\n%s", got)
	}
	var job map[string]any
	decode(t, p.explained("J1", "--json", "--wages"), &job)
	addsUp(t, job, true)
}
