package main

import (
	"math/big"
	"path/filepath"
	"strings"
	"testing"
)

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

	t.Run("front and exceptions tell one story of refused rows", func(t *testing.T) {
		type touched struct{ rows, minutes, dollars string }
		listed := map[string]touched{}
		add := func(a, b string) string {
			if a == "" || b == "" {
				return a + b
			}
			sum := exact(t, a)
			return sum.Add(sum, exact(t, b)).FloatString(2)
		}
		for _, row := range p.rows("report", "exceptions", "--week", "2026-W46", "--format", "json") {
			if asText(row["topic"]) != "refused rows" {
				continue
			}
			words := strings.Fields(asText(row["what"]))
			sum := listed[words[3]]
			listed[words[3]] = touched{add(sum.rows, words[0]), add(sum.minutes, asText(row["people_min"])), add(sum.dollars, asText(row["at_stake_usd"]))}
		}
		fronted := 0
		for _, row := range sheetRows(t, filepath.Join(p.dir, "books", "2026-W46", "job-margin.xlsx"), "front") {
			if len(row) < 4 || row[0] != "missing" || !strings.HasPrefix(row[1], "rows of ") {
				continue
			}
			fronted++
			feed := strings.Fields(row[1])[2]
			for i, want := range []string{listed[feed].rows, listed[feed].minutes, listed[feed].dollars} {
				got := ""
				if 3+i < len(row) {
					got = row[3+i]
				}
				if (got == "") != (want == "") || got != "" && exact(t, got).Cmp(exact(t, want)) != 0 {
					t.Errorf("%s: the front sheet says %v, exceptions %v", feed, row, listed[feed])
				}
			}
		}
		if fronted != len(listed) || fronted < 4 {
			t.Errorf("%d feeds on the front sheet, %d on exceptions", fronted, len(listed))
		}
	})

	t.Run("sheets that tell one sum agree", func(t *testing.T) {
		total := func(sheet, column, where, is string) string {
			sum := new(big.Rat)
			for _, row := range p.rows("report", sheet, "--week", "2026-W46", "--format", "json") {
				if cell := asText(row[column]); cell != "" && (where == "" || asText(row[where]) == is) {
					sum.Add(sum, exact(t, cell))
				}
			}
			return sum.FloatString(2)
		}
		if paid, trend := total("prices_paid", "landed_usd", "", ""), total("price_trend", "landed_usd", "", ""); paid != trend {
			t.Errorf("prices_paid %s, price_trend %s", paid, trend)
		}
		front := ""
		for _, row := range sheetRows(t, filepath.Join(p.dir, "books", "2026-W46", "lumber-yield.xlsx"), "front") {
			if len(row) > 5 && row[0] == "finding" && row[1] == "waste" {
				front = exact(t, strings.NewReplacer("$", "", ",", "").Replace(row[5])).FloatString(2)
			}
		}
		if waste, by := total("waste", "waste_usd", "", ""), total("waste_by", "waste_usd", "seen_by", "size"); front != waste || waste != by {
			t.Errorf("waste is %s on the front sheet, %s on waste, %s on waste_by", front, waste, by)
		}
	})

	t.Run("no bound of dollars or wood is above what was cut", func(t *testing.T) {
		bounded := 0
		for _, week := range []string{"2026-W40", "2026-W46"} {
			for _, row := range p.rows("report", "cut_plan", "--week", week, "--format", "json") {
				pool, size, species := asText(row["pool"]), asText(row["size"]), asText(row["species"])
				if pool == "week" {
					if row["unavoidable_bf"] != nil || row["bound_bf"] != nil {
						t.Errorf("%s: a week has no bound of wood: %v", week, row)
					}
					continue
				}
				bounded++
				cut, bound := exact(t, asText(row["cut_usd"])), exact(t, asText(row["bound_usd"]))
				// A lower grade than the parts' own is on no plan's offer.
				beside := p.value("SELECT count(*) FROM lumber_usage AS u JOIN workweeks AS w ON u.used_at >= w.workweek_start AND u.used_at < w.workweek_start + 7 WHERE w.label = '" + week + "' AND u.for_grade <> u.grade AND u.size = '" + size + "' AND u.species = '" + species + "'")
				if bound.Cmp(cut) > 0 && beside == "0" {
					t.Errorf("%s: %s %s %s: bound %s above %s of the boards cut", week, pool, size, species, bound.FloatString(2), cut.FloatString(2))
				}
				if exact(t, asText(row["avoidable_bf"])).Sign() < 0 {
					t.Errorf("%s: %s %s %s: a bound of wood above what was cut: %v", week, pool, size, species, row)
				}
				split := new(big.Rat).Add(exact(t, asText(row["unavoidable_bf"])), exact(t, asText(row["avoidable_bf"])))
				split.Add(split, exact(t, asText(row["lost_bf"]))).Sub(split, exact(t, asText(row["waste_bf"])))
				if split.Abs(split).Cmp(big.NewRat(1, 1000)) > 0 {
					t.Errorf("%s: %s %s %s: the three parts of the waste differ from it by %s", week, pool, size, species, split.FloatString(4))
				}
			}
		}
		if bounded < 10 {
			t.Errorf("%d rows with a bound", bounded)
		}
	})
}
