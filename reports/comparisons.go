package reports

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"

	"trusstally/reports/compare"
)

// needsComparison is what a header line `needs: comparison` says: the sheet reads one of the
// tables that FillComparison makes.
const needsComparison = "comparison"

// comparisonTables are the temporary tables of FillComparison. Minutes are people-minutes;
// what can't be had is NULL.
var comparisonTables = []string{
	// grain: one scope (crew, shift, table, crew and shift) and unit of it
	`CREATE TEMP TABLE IF NOT EXISTS comparisons (
    place INTEGER, scope VARCHAR, name VARCHAR, runs BIGINT, shifts BIGINT, trusses BIGINT, people_hours DECIMAL(14,2),
    classes BIGINT, covered_pct DECIMAL(18,6), raw_min DECIMAL(14,4), other_raw_min DECIMAL(14,4), like_min DECIMAL(14,4), other_like_min DECIMAL(14,4),
    ratio DECIMAL(18,6), low_ratio DECIMAL(18,6), high_ratio DECIMAL(18,6), shrunk_ratio DECIMAL(18,6), verdict VARCHAR, words VARCHAR,
    left_out BIGINT, thin BIGINT)`,
	// grain: one scope, with what may be said of all its units together
	`CREATE TEMP TABLE IF NOT EXISTS comparison_scopes (
    place INTEGER, scope VARCHAR, spread_words VARCHAR, funnel_words VARCHAR, differ_words VARCHAR)`,
	// grain: one scope, unit and class that both it and the others ran
	`CREATE TEMP TABLE IF NOT EXISTS comparison_classes (scope VARCHAR, name VARCHAR, class VARCHAR)`,
	// grain: one point of a scope's funnel: a unit, or a number of shifts at which limits are drawn
	`CREATE TEMP TABLE IF NOT EXISTS funnel_points (
    place INTEGER, scope VARCHAR, name VARCHAR, shifts BIGINT, ratio DECIMAL(18,6),
    low_95 DECIMAL(18,6), high_95 DECIMAL(18,6), low_998 DECIMAL(18,6), high_998 DECIMAL(18,6))`,
	// grain: one measure and workweek
	`CREATE TEMP TABLE IF NOT EXISTS trend_points (
    place INTEGER, measure VARCHAR, unit VARCHAR, base VARCHAR, workweek_start DATE, workweek VARCHAR, numerator DECIMAL(18,4), denominator DECIMAL(18,4), value DECIMAL(18,6),
    points BIGINT, mean DECIMAL(18,6), low_limit DECIMAL(18,6), high_limit DECIMAL(18,6), signal VARCHAR)`,
	// grain: one change under study and measure
	`CREATE TEMP TABLE IF NOT EXISTS change_studies (
    code VARCHAR, place INTEGER, measure VARCHAR, unit VARCHAR, before_shifts BIGINT, after_shifts BIGINT, other_before_shifts BIGINT, other_after_shifts BIGINT,
    before_min DECIMAL(14,4), after_min DECIMAL(14,4), other_before_min DECIMAL(14,4), other_after_min DECIMAL(14,4), covered_pct DECIMAL(18,6),
    effect_pct DECIMAL(18,6), low_pct DECIMAL(18,6), high_pct DECIMAL(18,6), verdict VARCHAR, words VARCHAR, caveats VARCHAR,
    year_units BIGINT, year_min DECIMAL(18,2), year_usd DECIMAL(18,2), year_low_usd DECIMAL(18,2), year_high_usd DECIMAL(18,2),
    payback_years DECIMAL(18,4), npv_usd DECIMAL(18,2))`,
	// grain: one assumption of report what_if
	`CREATE TEMP TABLE IF NOT EXISTS what_ifs (
    place INTEGER, assumption VARCHAR, unit VARCHAR, weeks BIGINT, units BIGINT, now_min DECIMAL(18,2), saved_min DECIMAL(18,2), year_min DECIMAL(18,2), year_usd DECIMAL(18,2),
    cost_usd DECIMAL(18,2), payback_years DECIMAL(18,4), npv_usd DECIMAL(18,2))`,
}

// makeComparisonTables makes the temporary tables, empty, where they are not there.
func makeComparisonTables(ctx context.Context, from Source) error {
	for _, table := range comparisonTables {
		if _, err := from.DB.ExecContext(ctx, table); err != nil {
			return err
		}
	}
	return nil
}

// FillComparison works out the comparisons like for like, the trend, the changes under study
// and what-ifs of the weeks before the period's end, and puts them where the sheets read
// them: the temporary tables of this connection. Nothing is kept: the same data give the
// same figures.
func FillComparison(ctx context.Context, from Source, period Period) error {
	return fillComparison(ctx, from, period, compareUnits)
}

// fillComparison is FillComparison with that comparison of the runs.
func fillComparison(ctx context.Context, from Source, period Period, compared func(temporaryRows, []comparedRun)) error {
	if err := makeComparisonTables(ctx, from); err != nil {
		return err
	}
	runs, err := comparedRuns(ctx, from, period)
	if err != nil {
		return err
	}
	tables := temporaryRows{}
	compared(tables, runs)
	if err := trendOf(ctx, from, period, tables, runs); err != nil {
		return err
	}
	if err := studyChanges(ctx, from, period, tables, runs); err != nil {
		return err
	}
	if err := whatIf(ctx, from, period, tables); err != nil {
		return err
	}
	return tables.store(ctx, from, []string{
		"comparisons", "comparison_scopes", "comparison_classes", "funnel_points", "trend_points", "change_studies", "what_ifs",
	})
}

// comparedRun is one row of compared_runs.
type comparedRun struct {
	station, jigging, crew, shift, shiftDate string
	finishedOn, week                         string // ISO dates
	class, kind                              string
	trusses                                  int64
	hasSetup                                 bool
	setupMinutes, buildMinutes               float64
	leftOut                                  string // "" for a run that counts
}

func (r *comparedRun) minutes() float64 { return r.setupMinutes + r.buildMinutes }

// worked is the shift that the run was made in: a crew, a table, a date.
func (r *comparedRun) worked() string {
	return strings.Join([]string{r.crew, r.station, r.shiftDate, r.shift}, "\x1f")
}

func comparedRuns(ctx context.Context, from Source, period Period) ([]comparedRun, error) {
	var runs []comparedRun
	err := from.Query(ctx, `
SELECT station, coalesce(jigging, ''), coalesce(crew, 'crew not said'), shift, shift_date::VARCHAR, finished_on::VARCHAR, workweek_start::VARCHAR, class, coalesce(kind, ''),
    trusses, has_setup, setup_seconds, build_seconds, coalesce(left_out, '')
FROM compared_runs($until::DATE)
ORDER BY finished_on, run_key`, map[string]any{"until": day(period.Until)}, nil, func(row []any) error {
		setup, _ := row[10].(bool)
		runs = append(runs, comparedRun{
			station: text(row[0]), jigging: text(row[1]), crew: text(row[2]), shift: text(row[3]), shiftDate: text(row[4]),
			finishedOn: text(row[5]), week: text(row[6]), class: text(row[7]), kind: text(row[8]),
			trusses: number(row[9]), hasSetup: setup, setupMinutes: float64(number(row[11])) / 60, buildMinutes: float64(number(row[12])) / 60,
			leftOut: text(row[13]),
		})
		return nil
	})
	return runs, err
}

// mixOf is the plant's mix: trusses by class, of the runs that count.
func mixOf(runs []comparedRun) map[string]float64 {
	mix := map[string]float64{}
	for i := range runs {
		if runs[i].leftOut == "" {
			mix[runs[i].class] += float64(runs[i].trusses)
		}
	}
	return mix
}

// compareUnits compares crews, shifts, tables, and crews on a shift, like for like.
func compareUnits(tables temporaryRows, runs []comparedRun) {
	scopes := []struct {
		name string
		of   func(*comparedRun) string // "" keeps the run out
	}{
		{"crew", func(r *comparedRun) string { return oneCrew(r) }},
		{"shift", func(r *comparedRun) string { return r.shift }},
		{"table", func(r *comparedRun) string { return r.station }},
		{"crew and shift", func(r *comparedRun) string {
			if oneCrew(r) == "" {
				return ""
			}
			return r.crew + ", " + r.shift
		}},
	}
	mix := mixOf(runs)
	for place, scope := range scopes {
		var list []compare.Run
		leftOut := map[string]int64{}
		for i := range runs {
			r := &runs[i]
			unit := scope.of(r)
			switch {
			case unit == "":
			case r.leftOut != "":
				leftOut[unit]++
			default:
				list = append(list, compare.Run{Unit: unit, Shift: r.worked(), Class: r.class, Trusses: r.trusses, Minutes: r.minutes()})
			}
		}
		result := compare.LikeForLike(list, mix, compare.Options{LeftOut: leftOut})
		addComparisons(tables, place+1, scope.name, result)
	}
}

// oneCrew is the run's crew; "" for a run that no crew made alone.
func oneCrew(r *comparedRun) string {
	if r.crew == "shared" {
		return ""
	}
	return r.crew
}

func addComparisons(tables temporaryRows, place int, scope string, result compare.Comparisons) {
	for _, c := range result.Rows {
		if c.Verdict == compare.OnlyOne {
			c.Coverage, c.LeftOutThin = math.NaN(), 0
		}
		tables.add("comparisons", place, scope, c.Unit, c.Runs, c.Shifts, c.Trusses, decimal(c.PeopleHours, 2),
			len(c.Classes), decimal(c.Coverage, 6), decimal(c.RawMinutes, 4), decimal(c.OtherRawMinutes, 4), decimal(c.Minutes, 4), decimal(c.OtherMinutes, 4),
			decimal(c.Ratio, 6), decimal(c.Interval95.Low, 6), decimal(c.Interval95.High, 6), decimal(c.Shrunk, 6), string(c.Verdict), c.Words,
			c.LeftOut+c.LeftOutFaulty, c.LeftOutThin)
		for _, class := range c.Classes {
			tables.add("comparison_classes", scope, c.Unit, class)
		}
	}
	tables.add("comparison_scopes", place, scope, result.SpreadWords, result.Funnel.Words, differWords(result.UnitsDiffer))
	most := int64(0)
	for _, p := range result.Funnel.Points {
		most = max(most, p.Shifts)
		tables.add("funnel_points", place, scope, p.Unit, p.Shifts, decimal(p.Ratio, 6),
			decimal(p.Limits95.Low, 6), decimal(p.Limits95.High, 6), decimal(p.Limits998.Low, 6), decimal(p.Limits998.High, 6))
	}
	for _, shifts := range curve(most) {
		limits95, limits998 := result.Funnel.LimitsAt(shifts)
		if limits95.Known() {
			tables.add("funnel_points", place, scope, null{}, shifts, null{},
				decimal(limits95.Low, 6), decimal(limits95.High, 6), decimal(limits998.Low, 6), decimal(limits998.High, 6))
		}
	}
}

// curve is the numbers of shifts at which a funnel's limits are drawn.
func curve(most int64) []int64 {
	var list []int64
	if most < compare.MinimumShifts {
		return nil
	}
	step := max(1, most/12)
	for shifts := int64(compare.MinimumShifts); shifts <= most+step; shifts += step {
		list = append(list, shifts)
	}
	return list
}

func differWords(f compare.FTest) string {
	if !f.Enough {
		return "too few shifts to test whether units differ at all"
	}
	return fmt.Sprintf("do they differ at all: F = %.2f on %d and %d, p = %.3f (one-way analysis of variance of the shifts)", f.F, f.Between, f.Within, f.P)
}

// sortedKeys are a map's keys in order.
func sortedKeys[T any](m map[string]T) []string {
	keys := make([]string, 0, len(m))
	for key := range m {
		keys = append(keys, key)
	}
	sort.Strings(keys)
	return keys
}
