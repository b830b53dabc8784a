package warehouse_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"trusstally/ingest/plant"
)

// newRandomYard is a plant of which only the yard is of interest: counts, listed and full, an
// opening count that comes late, quoting prices or none, packing slips without a price,
// credits, corrections that cancel in part, remnants, and more issued than there is.
func newRandomYard(seed uint64) *randomPlant {
	r := rand.New(rand.NewPCG(seed, 11))
	p := newRandomPlant(seed)
	date := func(day int) string { return wall(day * 24 * 60).Format("2006-01-02") }
	lengths := []string{"12-00-00", "16-00-00", "5-03-02"}
	var in, out, counted, prices strings.Builder
	in.WriteString("received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf,freight_usd,credit_usd,credited_on\n")
	out.WriteString("record,corrects,used_at,job,batch,station,size,species,grade,length,from_length,boards,reason,for_grade\n")
	counted.WriteString("counted_on,size,species,grade,length,boards,usd_per_mbf,scope\n")
	prices.WriteString("effective_on,size,species,grade,length,usd_per_mbf\n")
	if r.IntN(2) == 0 {
		prices.WriteString("2026-10-01,2x4,SPF,No. 2,,512.5\n2026-10-31,2x4,SPF,No. 2,16-00-00,533.33\n")
	}
	for line := range 3 + r.IntN(12) {
		price, freight, credit, creditedOn := "", "", "", ""
		day := r.IntN(4)
		if r.IntN(5) > 0 {
			price = fmt.Sprintf("%d.%02d", 300+r.IntN(500), r.IntN(100))
		}
		if r.IntN(3) == 0 {
			freight = fmt.Sprintf("%d.%02d", r.IntN(60), r.IntN(100))
		}
		if r.IntN(4) == 0 && price != "" {
			credit = fmt.Sprintf("%d.%02d", r.IntN(9), r.IntN(100))
			creditedOn = date(day + r.IntN(4-day))
		}
		fmt.Fprintf(&in, "%s,V%d,%d,%d,2x4,SPF,No. 2,%s,%d,%s,%s,%s,%s\n", date(day), 1+r.IntN(2), line, line, lengths[r.IntN(2)], 1+r.IntN(40), price, freight, credit, creditedOn)
	}
	type row struct{ record, length string }
	records := []row{}
	for n := range 5 + r.IntN(25) {
		record, corrects, from, reason, job, batch, station := fmt.Sprintf("R%d", n), "", "", "cut", "J1", "", ""
		length, boards := lengths[r.IntN(2)], 1+r.IntN(30)
		switch r.IntN(8) {
		case 0, 1:
			if len(records) > 0 {
				wrong := records[r.IntN(len(records))]
				corrects = wrong.record
				if r.IntN(4) > 0 {
					length = wrong.length
				}
				if r.IntN(2) == 0 {
					boards = -boards
				} else if r.IntN(2) == 0 { // its reversal, sooner or later
					fmt.Fprintf(&out, "%s-,%s,%s,J1,,,2x4,SPF,No. 2,%s,,%d,cut,\n", record, corrects, stamp(wall(r.IntN(4*24*60))), length, -1-r.IntN(30))
				}
			}
		case 2:
			boards, reason = -boards, "return"
		case 3:
			boards, reason, length, from = -1-r.IntN(3), "return", lengths[2], lengths[r.IntN(2)]
		case 4:
			reason = []string{"recut", "cull", "ship", "shop"}[r.IntN(4)]
		}
		switch r.IntN(4) {
		case 0:
			job, batch = "", "B1"
		case 1:
			job, station = "", "S1"
		case 2:
			job = "J2"
		}
		forGrade := []string{"", "", "No. 1", "No. 2"}[r.IntN(4)]
		fmt.Fprintf(&out, "%s,%s,%s,%s,%s,%s,2x4,SPF,No. 2,%s,%s,%d,%s,%s\n", record, corrects, stamp(wall(r.IntN(4*24*60))), job, batch, station, length, from, boards, reason, forGrade)
		records = append(records, row{record, length})
	}
	for day := range 4 {
		if r.IntN(2) == 0 {
			continue
		}
		scope := []string{"listed", "full"}[r.IntN(2)]
		for _, length := range lengths {
			if r.IntN(3) > 0 {
				price := []string{"", "450", "0"}[r.IntN(3)]
				fmt.Fprintf(&counted, "%s,2x4,SPF,No. 2,%s,%d,%s,%s\n", date(day), length, r.IntN(60), price, scope)
			}
		}
	}
	p.files["receipts"], p.files["lumber_usage"], p.files["counts"], p.files["lumber_prices"] = in.String(), out.String(), counted.String(), prices.String()
	return p
}

// TestRandomYards: whatever is counted, credited, corrected or issued before it came, boards,
// board feet and dollars of every item balance, first in, first out and at the average, and
// the waste identity holds.
func TestRandomYards(t *testing.T) {
	for _, costing := range []string{"fifo", "average"} {
		settings, err := plant.Parse([]byte(strings.Replace(randomSettings, "[lumber]\n", "[lumber]\ncosting = \""+costing+"\"\n", 1)), nil)
		if err != nil {
			t.Fatal(err)
		}
		for seed := range plantsToTry(t, 1) {
			t.Run(fmt.Sprintf("%s, seed %d", costing, seed), func(t *testing.T) {
				w := newRandomYard(seed).build(t, settings)
				defer w.Close()
				findings, err := w.Check(context.Background())
				if err != nil {
					t.Fatal(err)
				}
				for _, finding := range findings {
					if finding.Severity == "error" {
						t.Errorf("%s: %s: %s", finding.Check, finding.Reason, finding.Keys)
					}
				}
				if n := number(t, w, "SELECT count(*) FROM tie_outs WHERE expected IS DISTINCT FROM actual"); n > 0 {
					t.Errorf("%d tie-outs differ", n)
				}
			})
		}
	}
}
