package main

import "testing"

// demoSheets asks the sheets of the demo plant's books for what a careful reader asks them:
// that two sheets which say one thing agree, and that none says more than it may.
func demoSheets(t *testing.T, p *testPlant) {
	t.Run("no prior row tells what one or two people earn", func(t *testing.T) {
		hidden := 0
		for _, row := range p.rows("report", "margin_by_job", "--week", "2026-W41", "--format", "json") {
			if asText(row["status"]) != "prior" {
				continue
			}
			people := p.value("SELECT count(DISTINCT c.employee) FROM steps.labour_postings AS l JOIN timecards AS c ON c.import_id = l.import_id AND c.import_line = l.import_line WHERE l.cents <> 0 AND l.posted_on >= DATE '2026-10-05' AND l.posted_on < DATE '2026-10-12' AND l.class IN ('direct_labour', 'burden') AND l.job = '" + asText(row["job"]) + "'")
			if people != "1" && people != "2" {
				continue
			}
			hidden++
			if row["labour_usd"] != nil || row["cost_usd"] != nil || row["margin_usd"] != nil {
				t.Errorf("%v shows labour %v, cost %v, margin %v of %s people", row["job"], row["labour_usd"], row["cost_usd"], row["margin_usd"], people)
			}
		}
		if hidden < 5 {
			t.Errorf("%d prior rows of fewer than three people", hidden)
		}
	})
}
