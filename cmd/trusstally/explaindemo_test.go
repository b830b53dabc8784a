package main

import (
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trusstally/fixtures"
)

// demoExplain explains ten jobs of the demo plant, five of them with wages, holds every
// level against the one above, and looks for each quoted row in the file as it lies in
// archive/.
func demoExplain(t *testing.T, p *testPlant, truth fixtures.Truth) {
	t.Run("ten jobs are explained down to the lines of their files", func(t *testing.T) {
		sheet := map[string]map[string]any{}
		jobs := []string{truth.JobAtALoss, truth.JobWithoutLumber, truth.JobWithoutQuote}
		for _, row := range p.rows("report", "margin_by_job", "--from", "2026-08-01", "--until", "2027-01-01", "--format", "json") {
			job := asText(row["job"])
			sheet[job] = row
			if len(jobs) < 10 && !slices.Contains(jobs, job) {
				jobs = append(jobs, job)
			}
		}
		quoted := archivedLines(t, p)
		for i, job := range jobs {
			arguments := []string{job, "--until", "2027-01-01", "--json"}
			wages := i%2 == 0
			if wages {
				arguments = append(arguments, "--wages")
			}
			var tree map[string]any
			decode(t, p.explained(arguments...), &tree)
			rows := addsUp(t, tree, wages)
			if len(rows) < 10 {
				t.Errorf("%s: %d rows of files", job, len(rows))
			}
			for column, value := range map[string]any{"revenue_usd": tree["revenue_usd"], "cost_usd": tree["cost_usd"], "margin_usd": tree["margin_usd"]} {
				if asText(sheet[job][column]) != asText(value) {
					t.Errorf("%s: %s is %v on margin_by_job, %v explained", job, column, sheet[job][column], value)
				}
			}
			for _, row := range rows {
				quoted(job, row, wages)
			}
		}
	})
	t.Run("the week's margin is explained by its complete jobs", func(t *testing.T) {
		sum, complete := new(big.Rat), 0
		for _, row := range p.rows("report", "margin_by_job", "--week", "2026-W46", "--format", "json") {
			if asText(row["status"]) == "complete" {
				complete++
				sum.Add(sum, exact(t, asText(row["margin_usd"])))
			}
		}
		var week map[string]any
		decode(t, p.explained("--week", "2026-W46", "--json"), &week)
		if jobs := week["jobs"].([]any); len(jobs) != complete || complete == 0 || exact(t, asText(week["usd"])).Cmp(sum) != 0 {
			t.Errorf("%v over %d jobs, margin_by_job has %s over %d", week["usd"], len(jobs), sum.FloatString(2), complete)
		}
	})
}

// archivedLines returns what holds the text of a row against the lines of its file: the very
// lines, or with something hidden each cell that is not.
func archivedLines(t *testing.T, p *testPlant) func(job string, row map[string]any, wages bool) {
	archived := map[string]string{}
	for _, row := range p.query("SELECT file_name, archive_name FROM imports") {
		archived[asText(row["file_name"])] = asText(row["archive_name"])
	}
	lines := map[string][]string{}
	return func(job string, row map[string]any, wages bool) {
		file, text := asText(row["file"]), asText(row["text"])
		if lines[file] == nil {
			data, err := os.ReadFile(filepath.Join(p.dir, "archive", archived[file]))
			if err != nil {
				t.Fatal(err)
			}
			plain := strings.ReplaceAll(strings.TrimPrefix(string(data), "\ufeff"), "\r\n", "\n")
			lines[file] = strings.Split(plain, "\n")
		}
		at := int(exact(t, asText(row["line"])).Num().Int64()) - 1
		if at < 1 || at >= len(lines[file]) {
			t.Errorf("%s: %v has no such line", job, row["place"])
			return
		}
		there := strings.Join(lines[file][at:min(len(lines[file]), at+1+strings.Count(text, "\n"))], "\n")
		if there == text {
			if !wages && asText(row["feed"]) == "timecards" {
				t.Errorf("%s: %v shows the employee: %s", job, row["place"], text)
			}
			return
		}
		cells, shown := strings.Split(there, ","), strings.Split(text, ",")
		hidden := 0
		for i := range min(len(cells), len(shown)) {
			if shown[i] == "•••" {
				hidden++
			} else if shown[i] != cells[i] {
				hidden = -len(cells)
			}
		}
		if wages || hidden < 1 || len(cells) != len(shown) {
			t.Errorf("%s: %v is %q in the file, quoted as %q", job, row["place"], there, text)
		}
	}
}

// addsUp holds each level of a job as JSON against the one above, and returns the rows of
// files that it names.
func addsUp(t *testing.T, job map[string]any, wages bool) (rows []map[string]any) {
	t.Helper()
	name := asText(job["job"])
	list := func(node map[string]any, key string) (nodes []map[string]any) {
		for _, one := range node[key].([]any) {
			nodes = append(nodes, one.(map[string]any))
		}
		return nodes
	}
	sum := func(whole any, parts []map[string]any, what string) {
		t.Helper()
		total := new(big.Rat)
		for _, part := range parts {
			total.Add(total, exact(t, asText(part["usd"])))
		}
		if total.Cmp(exact(t, asText(whole))) != 0 {
			t.Errorf("%s: %s is %v, and what is below adds up to %s", name, what, whole, total.FloatString(2))
		}
	}
	named := func(row any) {
		if row, ok := row.(map[string]any); ok {
			rows = append(rows, row)
		}
	}
	figures := list(job, "figures")
	sum(job["revenue_usd"], figures[:1], "revenue")
	sum(job["cost_usd"], figures[1:], "cost")
	if margin := job["margin_usd"]; margin != nil {
		sum(job["revenue_usd"], append([]map[string]any{{"usd": margin}}, figures[1:]...), "margin and cost")
	}
	for _, figure := range figures {
		sum(figure["usd"], list(figure, "classes"), asText(figure["figure"]))
		for _, class := range list(figure, "classes") {
			what := asText(class["class"])
			if isPay := asText(figure["figure"]) == "labour"; class["wages_hidden"] != (isPay && !wages) {
				t.Errorf("%s: %s: wages hidden is %v", name, what, class["wages_hidden"])
			}
			if class["wages_hidden"] == true {
				if len(list(class, "postings")) > 0 {
					t.Errorf("%s: %s has rows without --wages", name, what)
				}
				continue
			}
			sum(class["usd"], list(class, "postings"), what)
			for _, posting := range list(class, "postings") {
				named(posting["source"])
				parts := list(posting, "parts")
				source := posting["source"].(map[string]any)
				correction := posting["original_on"] != posting["posted_on"]
				if len(parts) > 0 || !correction && strings.Contains("lumber_usage completions timecards", asText(source["feed"])) {
					sum(posting["usd"], parts, what+" of "+asText(source["place"]))
				}
				for _, part := range parts {
					named(part["priced_by"])
				}
			}
		}
	}
	return rows
}
