package main

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestBridgeOfWorkTakenOver: what a job carried when the plant went live is in its dollars and
// not in its boards or minutes, so that part of the bridge is one term. Of a quoted 140 of
// lumber and 0.80 of labour, a board of 120 and 12 minutes at 9.50 were logged here.
func TestBridgeOfWorkTakenOver(t *testing.T) {
	settings := strings.Replace(strings.Replace(testSettings, "burden_pct = 0.25\n", "", 1), "usd_per_labour_hour = 10", "usd_per_labour_hour = 0", 1)
	for _, c := range []struct {
		name, opening string
		want          map[string]string
	}{
		{"nothing", "", map[string]string{"lumber price": "20.00", "build": "-0.80", "labour rate": "-0.30"}},
		{"lumber", "2026-03-10,J1,lumber,30,\n", map[string]string{"lumber, not split": "-10.00", "build": "-0.80", "labour rate": "-0.30"}},
		{"labour", "2026-03-10,J1,burden,5,\n", map[string]string{"lumber price": "20.00", "labour, not split": "-6.10"}},
		{"both", "2026-03-10,J1,lumber,30,\n2026-03-10,J1,direct_labour,5,\n", map[string]string{"lumber, not split": "-10.00", "labour, not split": "-6.10"}},
		{"other material", "2026-03-10,J1,other_material,7,\n", map[string]string{"lumber price": "20.00", "build": "-0.80", "labour rate": "-0.30", "other material": "-7.00"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := newTestPlant(t, settings, map[string]string{
				"jobs":          "job,ordered_on,shipped_on,price_usd,quoted_lumber_usd,quoted_plate_usd,quoted_labour_usd,quoted_labour_min,quoted_overhead_usd\nJ1,2026-03-01,2026-03-18,1000,140,0,0.80,6,0\n",
				"trusses":       "job,truss,quantity,plate_usd,quoted_setup_min,quoted_build_min\nJ1,A,1,0,0,6\n",
				"cut_pieces":    "job,truss,piece,size,species,grade,length,pieces_per_ply\nJ1,A,P,1x12,SPF,No. 2,20-00-00,1\n",
				"lumber_prices": "effective_on,size,species,grade,length,usd_per_mbf\n2026-01-01,1x12,SPF,No. 2,,7000\n",
				"receipts":      "received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n2026-03-02,V1,P1,1,1x12,SPF,No. 2,20-00-00,10,6000\n",
				"lumber_usage":  "used_at,job,size,species,grade,length,boards,reason\n2026-03-16 06:00,J1,1x12,SPF,No. 2,20-00-00,1,cut\n",
				"wages":         "employee,effective_on,role,rate_usd\nE1,2026-01-01,direct,9.50\n",
				"timecards":     "employee,crew,shift,station,started_at,ended_at\nE1,RED,day,T1,2026-03-16 06:00,2026-03-16 06:12\n",
				"completions":   "station,job,truss,crew,shift,build_started_at,finished_at,quantity\nT1,J1,A,RED,day,2026-03-16 06:00,2026-03-16 06:12,1\n",
				"opening_wip":   "on,job,class,amount_usd,trusses_built\n" + c.opening,
			})
			got := p.terms("2026-W12")
			delete(got, "quoted margin, as first given")
			delete(got, "actual margin")
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("terms differ (-want +got):\n%s", diff)
			}
			p.balanced()
		})
	}
}
