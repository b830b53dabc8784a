package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// help runs the command without a plant and returns what it prints and its exit code.
func help(t *testing.T, arguments ...string) (stdout, stderr string, code int) {
	t.Helper()
	t.Chdir(t.TempDir())
	var out, errs bytes.Buffer
	code = runAt(append([]string{"help"}, arguments...), strings.NewReader(""), &out, &errs, testNow)
	return out.String(), errs.String(), code
}

func TestHelp(t *testing.T) {
	for _, c := range []struct {
		arguments      string
		code           int
		stdout, stderr string // a part of it; blank: nothing is printed there
	}{
		{"", exitFine, "Available Commands:", ""},
		{"run", exitFine, "Every Monday morning", ""},
		{"help", exitFine, "help errors bad-number", ""},
		{"errors", exitFine, "\nbad-number ", ""},
		{"errors bad-number", exitFine, "\n  invoices-2026-08.csv:2:4: amount_usd: not a number ($8450.00) [bad-number]\n", ""},
		{"errors [bad-number]", exitFine, "bad-number: not a number\n", ""},
		{"errors bad-numbr", exitUsage, "", "(bad-numbr) [unknown-code]\nhint: did you mean bad-number?\n"},
		{"errors quite-another", exitUsage, "", "hint: trusstally help errors lists them\n"},
		{"errors bad-number bad-date", exitUsage, "", "takes one code word, not 2 [usage]"},
		{"reprot", exitUsage, "", "(reprot) [unknown-topic]\nhint: did you mean report?\n"},
		{"feeds", exitFine, "\ncut_pieces ", ""},
		{"feeds timecards", exitFine, "\nunpaid_min: unpaid minutes inside the punch", ""},
		{"feeds receipts usd_per_mbf", exitFine, "\n  unit        dollars for a thousand board feet\n  other units ", ""},
		{"feeds timecard", exitUsage, "", "there is no feed of that name (timecard) [unknown-topic]\nhint: did you mean timecards?\n"},
		{"feeds jobs pricing", exitUsage, "", "(pricing) [unknown-topic]\nhint: trusstally help feeds jobs lists them\n"},
		{"feeds jobs job now", exitUsage, "", "help feeds takes a feed and a column, not 3 [usage]"},
		{"rules", exitFine, "\njournal-balances ", ""},
		{"rules stoppages", exitFine, "stoppages.ended_at: the stoppage ends before it starts [bad-order]\n", ""},
		{"policies", exitFine, "\n[lumber]\n", ""},
		{"policies pay", exitFine, "weekly_threshold_hours = 40 ", ""},
		{"policies pays", exitUsage, "", "hint: did you mean pay?\n"},
		{"reports", exitFine, "\n  margin_by_job ", ""},
		{"reports month-end", exitFine, "\nwip_rollforward: ", ""},
		{"reports waste", exitFine, "\n  issued_bf ", ""},
		{"reports wastes", exitUsage, "", "hint: did you mean waste?\n"},
		{"run now", exitUsage, "", "(run now) [unknown-topic]\nhint: trusstally help lists the commands\n"},
	} {
		t.Run(c.arguments, func(t *testing.T) {
			stdout, stderr, code := help(t, strings.Fields(c.arguments)...)
			if code != c.code || !strings.Contains(stdout, c.stdout) || !strings.Contains(stderr, c.stderr) {
				t.Errorf("exit %d\n%s%s", code, stdout, stderr)
			}
			if c.stdout == "" && stdout != "" || c.stderr == "" && stderr != "" {
				t.Errorf("printed too much:\n%s%s", stdout, stderr)
			}
		})
	}
}

// TestHelpErrorsList: one line a word, the meanings below each other, in alphabetical order.
func TestHelpErrorsList(t *testing.T) {
	stdout, _, _ := help(t, "errors")
	lines := strings.Split(strings.TrimSuffix(stdout, "\n"), "\n")
	last, place := "", 0
	for _, line := range lines {
		code, _, _ := strings.Cut(line, " ")
		if code <= last {
			t.Errorf("%s comes after %s", code, last)
		}
		meaning := len(line) - len(strings.TrimLeft(line[len(code):], " "))
		if place != 0 && meaning != place {
			t.Errorf("the meaning of %s starts at %d, the others at %d", code, meaning, place)
		}
		last, place = code, meaning
	}
	asJSON, _, _ := help(t, "errors", "--json")
	var pages []errorPage
	if err := json.Unmarshal([]byte(asJSON), &pages); err != nil || len(pages) != len(lines) {
		t.Errorf("%d pages as JSON, %d lines (%v)", len(pages), len(lines), err)
	}
}

// TestHelpTopics: every word that a topic offers is explained, and offered for its beginning.
func TestHelpTopics(t *testing.T) {
	p := &program{now: testNow}
	for _, topic := range helpTopics {
		offered := topic.words(p, nil)
		if len(offered) == 0 {
			t.Errorf("help %s offers no words", topic.name)
		}
		for _, word := range offered {
			if stdout, stderr, code := help(t, topic.name, word); code != exitFine || !strings.Contains(stdout, word) && topic.name != "rules" {
				t.Errorf("help %s %s: exit %d\n%s%s", topic.name, word, code, stdout, stderr)
			}
		}
	}
	for _, feed := range feedNames() {
		for _, column := range feedWords(p, []string{feed}) {
			if stdout, _, code := help(t, "feeds", feed, column); code != exitFine || !strings.HasPrefix(stdout, column+": ") {
				t.Errorf("help feeds %s %s: exit %d\n%s", feed, column, code, stdout)
			}
		}
	}
	if stdout, _, _ := help(t, "policies"); stdout != string(blankPlant) {
		t.Error("help policies is not plant.toml as new writes it")
	}
	if got := policySections(); !slices.Contains(got, "feed") || !slices.Contains(got, "pay") || len(got) != len(slices.Compact(slices.Sorted(slices.Values(got)))) {
		t.Errorf("sections of plant.toml are %v", got)
	}
}

// TestHelpReportsOfTheProgram: help reports lists the program's sheets, whatever the working
// folder holds.
func TestHelpReportsOfTheProgram(t *testing.T) {
	want, _, code := help(t, "reports")
	if code != exitFine {
		t.Fatalf("exit %d", code)
	}
	t.Chdir(t.TempDir())
	if err := os.Mkdir("reports", 0o700); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"x.sql": "no header", "open_count.sql": openSheet} {
		if err := os.WriteFile(filepath.Join("reports", name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	var out, errs bytes.Buffer
	if code := runAt([]string{"help", "reports"}, strings.NewReader(""), &out, &errs, testNow); code != exitFine || errs.Len() > 0 || out.String() != want {
		t.Errorf("exit %d\n%s%s", code, out.String(), errs.String())
	}
}
