package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"trusstally/ingest/plant"
	"trusstally/sql/warehouse"
)

// complete returns the words that are offered for the last argument, in the plant's folder.
func complete(t *testing.T, folder string, arguments ...string) []string {
	t.Helper()
	var out, errs bytes.Buffer
	code := runAt(append([]string{"__complete", "--plant", folder}, arguments...), strings.NewReader(""), &out, &errs, testNow)
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if code != exitFine || !strings.HasPrefix(lines[len(lines)-1], ":") {
		t.Fatalf("%q: exit %d\n%s%s", arguments, code, out.String(), errs.String())
	}
	var words []string
	for _, line := range lines[:len(lines)-1] {
		word, _, _ := strings.Cut(line, "\t")
		words = append(words, word)
	}
	return words
}

// TestCompletion: names of the program's own come from its declarations, whatever the plant;
// jobs, weeks, months and imports from the warehouse of the one that is named.
func TestCompletion(t *testing.T) {
	week := filepath.Join(reportPlants, "week")
	p := newTestPlant(t, readText(t, week, "plant.toml"), feedTexts(t, week))
	for _, c := range []struct {
		arguments []string
		want      []string
	}{
		{[]string{"report", "wip"}, []string{"wip_rollforward"}},
		{[]string{"report", "waste", "--format", ""}, []string{"xlsx", "csv", "json"}},
		{[]string{"report", "waste", "--week", ""}, []string{"2026-W12", "2026-W11"}},
		{[]string{"report", "waste", "--month", ""}, []string{"2026-03"}},
		{[]string{"run", "--week", "2026-W12"}, []string{"2026-W12"}},
		{[]string{"explain", "J"}, []string{"J5", "J4", "J3", "J2", "J1", "J0"}},
		{[]string{"explain", "J1", ""}, nil},
		{[]string{"close", ""}, []string{"2026-03"}},
		{[]string{"undo", "1"}, []string{"10", "1"}},
		{[]string{"import", "--feed", "c"}, []string{"cut_pieces", "completions", "counts"}},
		{[]string{"help", "feeds", "jobs", "quoted_l"}, []string{"quoted_lumber_usd", "quoted_labour_usd", "quoted_labour_min"}},
		{[]string{"help", "policies", "o"}, []string{"overhead"}},
		{[]string{"veri"}, []string{"verify"}},
	} {
		if got := complete(t, p.dir, c.arguments...); !slices.Equal(got, c.want) {
			t.Errorf("%q offers %q, want %q", c.arguments, got, c.want)
		}
	}
}

// TestCompletionOfNoArguments: no file is offered after a command that takes no argument.
func TestCompletionOfNoArguments(t *testing.T) {
	tried := 0
	for _, command := range (&program{}).rootCommand().Commands() {
		if command.Args == nil || command.Args(command, nil) != nil || command.Args(command, []string{"x"}) == nil {
			continue
		}
		tried++
		var out, errs bytes.Buffer
		runAt([]string{"__complete", "--plant", t.TempDir(), command.Name(), ""}, strings.NewReader(""), &out, &errs, testNow)
		if want := fmt.Sprintf(":%d\n", cobra.ShellCompDirectiveNoFileComp); out.String() != want {
			t.Errorf("%s: %q, want %q", command.Name(), out.String(), want)
		}
	}
	if tried < 7 {
		t.Errorf("%d commands take no argument", tried)
	}
}

// TestCompletionOfOwnSheets: report offers the sheets of the plant's own that have a good
// header, and their book; help offers the program's alone, and a folder without plant.toml has none.
func TestCompletionOfOwnSheets(t *testing.T) {
	p := newTestPlant(t, testSettings, nil)
	if err := os.Mkdir(filepath.Join(p.dir, "reports"), 0o700); err != nil {
		t.Fatal(err)
	}
	p.write("reports/open_count.sql", openSheet)
	p.write("reports/open_faulty.sql", "no header")
	offered := func(want []string, arguments ...string) {
		t.Helper()
		if got := complete(t, p.dir, arguments...); !slices.Equal(got, want) {
			t.Errorf("%q offers %q, want %q", arguments, got, want)
		}
	}
	offered([]string{"open_jobs", "open_count"}, "report", "open_")
	offered([]string{"plant"}, "report", "plan")
	offered([]string{"open_jobs"}, "help", "reports", "open_")
	if err := os.Remove(filepath.Join(p.dir, plant.FileName)); err != nil {
		t.Fatal(err)
	}
	offered([]string{"open_jobs"}, "report", "open_")
}

// TestNothingIsOpened: help and completion of the program's own words open neither plant.toml
// nor the warehouse: a folder where both are folders, one without either, and none at all
// make no difference; words that only a warehouse has are then none, without a message.
func TestNothingIsOpened(t *testing.T) {
	unreadable := t.TempDir()
	for _, name := range []string{plant.FileName, warehouse.FileName} {
		if err := os.Mkdir(filepath.Join(unreadable, name), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	for _, folder := range []string{unreadable, t.TempDir(), filepath.Join(t.TempDir(), "nowhere")} {
		for _, arguments := range [][]string{{"--help"}, {"run", "--help"}, {"help", "feeds"}, {"help", "policies"}, {"help", "errors"}, {"list"}, {"completion", "bash"}} {
			var out, errs bytes.Buffer
			if code := runAt(append([]string{"--plant", folder}, arguments...), strings.NewReader(""), &out, &errs, testNow); code != exitFine || errs.Len() > 0 || out.Len() == 0 {
				t.Errorf("%q: exit %d\n%s", arguments, code, errs.String())
			}
		}
		if got := complete(t, folder, "report", "margin_by_j"); !slices.Equal(got, []string{"margin_by_job"}) {
			t.Errorf("report offers %q", got)
		}
		for _, arguments := range [][]string{{"explain", ""}, {"report", "waste", "--week", ""}, {"undo", ""}, {"close", ""}} {
			if got := complete(t, folder, arguments...); len(got) > 0 {
				t.Errorf("%q offers %q", arguments, got)
			}
		}
		entries, err := os.ReadDir(folder)
		if err == nil && folder != unreadable && len(entries) > 0 {
			t.Errorf("something was made in an empty folder: %v", entries)
		}
	}
}

// TestCompletionScripts: there is one for each shell, and it asks the program for its words.
func TestCompletionScripts(t *testing.T) {
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		var out, errs bytes.Buffer
		if code := runAt([]string{"completion", shell}, strings.NewReader(""), &out, &errs, testNow); code != exitFine || !strings.Contains(out.String(), "__complete") {
			t.Errorf("%s: exit %d\n%s", shell, code, errs.String())
		}
	}
}

// TestManPages: one page for each command that help lists, with its flags and examples, and
// the same bytes again.
func TestManPages(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "1795000000")
	first, second := t.TempDir(), t.TempDir()
	for _, folder := range []string{first, second} {
		var out, errs bytes.Buffer
		if code := runAt([]string{"man", folder}, strings.NewReader(""), &out, &errs, testNow); code != exitFine {
			t.Fatalf("exit %d\n%s", code, errs.String())
		}
	}
	commands := (&program{}).rootCommand().Commands()
	pages, err := filepath.Glob(filepath.Join(first, "*.1"))
	if err != nil {
		t.Fatal(err)
	}
	for _, page := range pages {
		if readText(t, page) != readText(t, second, filepath.Base(page)) {
			t.Errorf("%s is not the same twice", page)
		}
	}
	for _, command := range commands {
		if !command.IsAvailableCommand() {
			continue
		}
		page := filepath.Join(first, programName+"-"+command.Name()+".1")
		if !slices.Contains(pages, page) {
			t.Errorf("%s has no page", command.Name())
			continue
		}
		text := readText(t, page)
		if !strings.Contains(text, "EXAMPLE") || !strings.Contains(text, "Nov 2026") {
			t.Errorf("the page of %s has no example, or another month", command.Name())
		}
	}
}
