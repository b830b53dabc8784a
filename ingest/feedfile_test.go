package ingest

import (
	"errors"
	"strings"
	"testing"

	"trusstally/ingest/plant"
	"trusstally/ingest/problem"
)

func TestFeedOfFile(t *testing.T) {
	rules := map[string]plant.FeedRules{
		"timecards":   {Files: "clock-*.csv"},
		"completions": {Files: "log-?.csv"},
		"invoices":    {Files: "*-x.csv"},
		"receipts":    {Files: "receipts-x.csv"},
	}
	for name, want := range map[string]string{
		"jobs.csv":                          "jobs",
		"inbox/jobs-2026-08.csv":            "jobs",
		"JOBS_august.CSV":                   "jobs",
		"job_costs-2026-08.csv":             "job_costs",
		"cut_pieces2026.csv":                "cut_pieces",
		"clock-08.csv":                      "timecards",
		"log-1.csv":                         "completions",
		"trusses-x.csv":                     "invoices", // a pattern comes before a name
		"receipts-x.csv":                    CodeAmbiguousFeed,
		"jobsheet.csv":                      CodeUnknownFeed,
		"jobs":                              CodeUnknownFeed,
		"jbos-2026.csv":                     CodeUnknownFeed,
		"...":                               CodeUnknownFeed,
		"wages":                             CodeUnknownFeed,
		"timecards-2026-08.csv":             "timecards",
		"clock-08.xlsx":                     CodeUnknownFeed,
		"folder/of/lumber_usage.august.csv": "lumber_usage",
	} {
		feed, err := FeedOfFile(name, rules)
		got := feed.Name
		if err != nil {
			got = codeOf(err)
		}
		if got != want {
			t.Errorf("FeedOfFile(%q) = %s, %v, want %s", name, got, err, want)
		}
	}
}

func TestUnknownFeedListsTheFeeds(t *testing.T) {
	_, err := FeedOfFile("jbos-2026.csv", nil)
	var p *problem.Problem
	if !errors.As(err, &p) || p.Place != "jbos-2026.csv" || !strings.HasPrefix(p.Hint, "did you mean jobs?") || !strings.HasSuffix(p.Hint, strings.Join(feedNames(Feeds()), ", ")) {
		t.Errorf("%+v, want the nearest feed, then all of them", p)
	}
}
