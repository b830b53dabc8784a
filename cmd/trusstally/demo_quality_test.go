package main

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"trusstally/fixtures"
)

// demoQuality asks the sheet quality_and_safety, over all thirteen weeks, for what the demo
// plant was made with.
func demoQuality(t *testing.T, p *testPlant, truth fixtures.Truth) {
	t.Run("quality and safety are the planted ones", func(t *testing.T) {
		rows := map[string]map[string]any{}
		for _, row := range p.rows("report", "quality_and_safety", "--from", "2026-08-17", "--until", "2026-11-16", "--format", "json") {
			rows[asText(row["measure"])+", "+asText(row["of_what"])+", "+asText(row["name"])] = row
		}
		figure := func(name, column string, want int) {
			t.Helper()
			if row, ok := rows[name]; !ok || exact(t, asText(row[column])).Cmp(big.NewRat(int64(want), 1)) != 0 {
				t.Errorf("%s: %s is %v, planted %d", name, column, row[column], want)
			}
		}

		built, lost := 0, map[string]int{}
		for _, f := range truth.Quality.Failed {
			lost[f.Crew]++ // made again or mended: one truss
		}
		causes := map[string]int{"normal": 0, "abnormal": 0, "customer": 0}
		for _, r := range truth.Remakes {
			causes[r.Why]++
			if r.Why == "customer" {
				lost[r.OriginalCrew]++
			}
		}
		passed := 0
		for _, crew := range truth.Crews {
			if crew.GoodTrusses == 0 {
				continue
			}
			figure("first pass, crew, "+crew.Crew, "counted", crew.GoodTrusses-lost[crew.Crew])
			figure("first pass, crew, "+crew.Crew, "out_of", crew.GoodTrusses)
			built += crew.GoodTrusses
			passed += crew.GoodTrusses - lost[crew.Crew]
		}
		figure("first pass, plant, plant", "counted", passed)
		for cause, trusses := range causes {
			figure("made again, cause, "+cause, "counted", trusses)
			figure("made again, cause, "+cause, "out_of", built)
		}

		done := 3 * truth.Quality.TableWeeks
		for _, s := range truth.Quality.Short {
			done -= 3 - s.Done
			remark := asText(rows["inspections, table and shift, "+s.Station+" "+s.Shift]["remark"])
			if want := fmt.Sprintf("%s %s %s %d of 3", s.Station, s.Shift, s.Week, s.Done); !strings.Contains(remark, want) {
				t.Errorf("%q does not name %s", remark, want)
			}
		}
		figure("inspections, plant, plant", "counted", done)
		figure("inspections, plant, plant", "out_of", 3*truth.Quality.TableWeeks)
		want := fmt.Sprintf("%d inspected, %d failed; %d of %d short", truth.Quality.Inspected, len(truth.Quality.Failed), len(truth.Quality.Short), truth.Quality.TableWeeks)
		if remark := asText(rows["inspections, plant, plant"]["remark"]); !strings.HasPrefix(remark, want) {
			t.Errorf("inspections: %q, planted %q", remark, want)
		}

		reasons := map[string]bool{}
		for _, s := range truth.Stoppages {
			reasons[s.Reason] = true
		}
		for name := range rows {
			if reason, ok := strings.CutPrefix(name, "stoppages, reason, "); ok {
				if !reasons[reason] {
					t.Errorf("nothing stopped for %s", reason)
				}
				delete(reasons, reason)
			}
		}
		if len(reasons) > 0 {
			t.Errorf("not on the sheet: stopped for %v", reasons)
		}

		overtime, worked := 0, 0
		for _, week := range truth.Totals.OvertimeWeeks {
			overtime += week.WorkedSeconds - 40*3600
		}
		for _, employee := range truth.Totals.Employees {
			worked += employee.WorkedSeconds
		}
		for column, seconds := range map[string]int{"counted": overtime, "out_of": worked} {
			difference := new(big.Rat).Sub(exact(t, asText(rows["overtime, plant, plant"][column])), big.NewRat(int64(seconds), 3600))
			if difference.Abs(difference).Cmp(big.NewRat(1, 100)) > 0 {
				t.Errorf("overtime: %s is off by %s hours", column, difference.FloatString(4))
			}
		}

		names := map[string]string{"yes": "incidents, plant, plant", "no": "reports made, plant, not recordable", "near_miss": "reports made, plant, near misses", "first_aid": "reports made, plant, first aid"}
		for _, i := range truth.Quality.Incidents {
			figure(names[i.Recordable], "counted", i.Count)
		}
		// 14,306 hours are too few for a shift's figure.
		for name, row := range rows {
			if strings.HasPrefix(name, "incidents, ") && name != "incidents, plant, plant" && (row["counted"] != nil || row["rate"] != nil || row["of_what"] != "shift") {
				t.Errorf("%s has a figure: %v", name, row)
			}
		}
	})

	t.Run("short inspections are on the front sheet", func(t *testing.T) {
		short := 0
		for _, s := range truth.Quality.Short {
			if s.Week == "2026-W46" {
				short++
			}
		}
		found := p.frontRow("2026-W46", "inspections")
		if len(found) < 4 || found[3] != strconv.Itoa(short) || !strings.Contains(found[2], "fewer than three trusses inspected") {
			t.Errorf("front sheet: %v, planted %d short", found, short)
		}
	})
}
