package main

import (
	"regexp"
	"strings"
	"testing"

	"trusstally/ingest"
	"trusstally/ingest/plant"
)

// TestTemplateRules takes the reading rules that a new plant.toml explains from behind
// their #: every one of them must be taken.
func TestTemplateRules(t *testing.T) {
	_, rules, found := strings.Cut(string(blankPlant), "# [feed.timecards]\n")
	rules, _, ends := strings.Cut(rules, "# The plant's codes for the accounts")
	if !found || !ends {
		t.Fatal("plant.toml explains no reading rules")
	}
	text := string(blankPlant) + "\n[lumber.packs]\n\"2x4\" = 294\n[feed.timecards]\n"
	says := regexp.MustCompile(`^# (\[feed\.|[a-zA-Z_]+ = |"[^"]+" = )`)
	for _, line := range strings.Split(rules, "\n") {
		if says.MatchString(line) {
			text += strings.TrimPrefix(line, "# ") + "\n"
		}
	}
	settings, err := plant.Parse([]byte(text), feedNames())
	if err == nil {
		err = ingest.CheckRules(settings)
	}
	if err != nil {
		t.Fatalf("%v\nin\n%s", err, text)
	}
	if rules := settings.Feeds["timecards"]; rules.Delimiter != ";" || rules.Apart["ended_at"].After != "started_at" || len(settings.Feeds["receipts"].Split) != 1 {
		t.Errorf("the rules are %+v", rules)
	}
}
