package reports

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"trusstally/reports/compare"
)

// floorChange is one [[change]] of plant.toml.
type floorChange struct {
	code, what string
	on         string // ISO date of the first day with it
	stations   map[string]bool
	cost       float64
}

// valuation is what a change is valued with: the plant's settings and what a people-minute
// at the tables costs.
type valuation struct {
	learningDays int
	discount     float64 // a year
	years        int
	minuteUSD    float64 // NaN where not known
}

// studyMeasure is what a change may have changed.
type studyMeasure struct {
	place      int
	name, unit string
	class      func(*comparedRun) string
	weight     func(*comparedRun) float64 // 0 keeps the run out
	minutes    func(*comparedRun) float64
}

func studyMeasures() []studyMeasure {
	return []studyMeasure{
		{1, "set-up", "set-ups",
			func(r *comparedRun) string { return r.kind },
			func(r *comparedRun) float64 {
				if r.hasSetup {
					return 1
				}
				return 0
			},
			func(r *comparedRun) float64 { return r.setupMinutes }},
		{2, "build", "trusses",
			func(r *comparedRun) string { return r.class },
			func(r *comparedRun) float64 { return float64(r.trusses) },
			func(r *comparedRun) float64 { return r.buildMinutes }},
		{3, "set-up and build", "trusses",
			func(r *comparedRun) string { return r.class },
			func(r *comparedRun) float64 { return float64(r.trusses) },
			(*comparedRun).minutes},
	}
}

// studyChanges fills change_studies.
func studyChanges(ctx context.Context, from Source, period Period, tables temporaryRows, runs []comparedRun) error {
	changes, value, err := floorChanges(ctx, from, period)
	if err != nil {
		return err
	}
	for i := range changes {
		for _, measure := range studyMeasures() {
			studyOne(tables, runs, changes, i, measure, value)
		}
	}
	return nil
}

// floorChanges reads the changes made before the period's end, and the valuation.
func floorChanges(ctx context.Context, from Source, period Period) ([]*floorChange, valuation, error) {
	var changes []*floorChange
	err := from.Query(ctx, `
SELECT code, coalesce(what, ''), changed_on::VARCHAR, station, cost_usd
FROM changes
WHERE changed_on < $until::DATE
ORDER BY changed_on, code, station`, map[string]any{"until": day(period.Until)}, nil, func(row []any) error {
		if len(changes) == 0 || changes[len(changes)-1].code != text(row[0]) {
			changes = append(changes, &floorChange{code: text(row[0]), what: text(row[1]), on: text(row[2]), stations: map[string]bool{}, cost: asFloat(row[4])})
		}
		changes[len(changes)-1].stations[text(row[3])] = true
		return nil
	})
	if err != nil {
		return nil, valuation{}, err
	}
	value, err := valuationOf(ctx, from, period)
	return changes, value, err
}

func valuationOf(ctx context.Context, from Source, period Period) (valuation, error) {
	value := valuation{minuteUSD: math.NaN()}
	err := from.Query(ctx, `
SELECT s.learning_weeks * 7, s.discount_pct, s.change_years, c.cents, c.seconds
FROM settings AS s, minute_cost($until::DATE) AS c`, map[string]any{"until": day(period.Until)}, nil, func(row []any) error {
		value = valuation{int(number(row[0])), asFloat(row[1]), int(number(row[2])), asFloat(row[3]) / 100 / (asFloat(row[4]) / 60)}
		return nil
	})
	return value, err
}

// studyOne studies one measure of one change: its tables before and after, against those that
// no change touched in the window (else against those that this one didn't touch).
func studyOne(tables temporaryRows, runs []comparedRun, changes []*floorChange, index int, measure studyMeasure, value valuation) {
	change := changes[index]
	touched := map[string]bool{}
	end := "9999-12-31" // the next change at the same tables ends the time after
	for _, other := range changes {
		for station := range other.stations {
			touched[station] = true
			if change.stations[station] && other.on > change.on && other.on < end {
				end = other.on
			}
		}
	}
	untouched, alike := 0, 0
	for i := range runs {
		if !touched[runs[i].station] {
			untouched++
		} else if !change.stations[runs[i].station] {
			alike++
		}
	}
	learned := addDays(change.on, value.learningDays)
	mix := map[string]float64{}
	var list []compare.StudyRun
	weeks := weekNumbers(runs)
	learning, units, unitWeeks := 0, 0.0, map[string]bool{}
	for i := range runs {
		r := &runs[i]
		weight := measure.weight(r)
		treated := change.stations[r.station]
		switch {
		case r.leftOut != "" || weight == 0 || r.kind == "":
			continue
		case !treated && untouched > 0 && touched[r.station]:
			continue
		case treated && r.finishedOn >= end:
			continue
		}
		if treated {
			mix[measure.class(r)] += weight
			units += weight
			unitWeeks[r.week] = true
		}
		// The first weeks with the change are learning, at every table alike.
		if r.finishedOn >= change.on && r.finishedOn < learned {
			if treated {
				learning++
			}
			continue
		}
		list = append(list, compare.StudyRun{
			Station: r.station, Treated: treated, After: r.finishedOn >= change.on, Week: weeks[r.week], Class: measure.class(r), Crew: r.crew,
			Shift: r.worked(), Weight: weight, Minutes: measure.minutes(r),
		})
	}
	result := compare.Study(list, mix, compare.Options{})
	yearUnits := 0.0
	if len(unitWeeks) > 0 {
		yearUnits = units * 52 / float64(len(unitWeeks))
	}
	addStudy(tables, change, measure, result, value, yearUnits, caveats(change, result, untouched, alike, learning, len(unitWeeks)))
}

// addStudy writes the row of one study, with what a year of its effect is worth.
func addStudy(tables temporaryRows, change *floorChange, measure studyMeasure, result compare.StudyResult, value valuation, yearUnits float64, caveats string) {
	saved := func(effect float64) float64 { return yearUnits * result.TreatedAfter.Minutes * (1/effect - 1) }
	minutes := saved(result.Effect)
	dollars := minutes * value.minuteUSD
	var payback, npv any = null{}, null{}
	if result.Verdict == compare.ChangeFound && !math.IsNaN(dollars) {
		payback, npv = worth(change.cost, dollars, value)
	}
	tables.add("change_studies", change.code, measure.place, measure.name, measure.unit,
		result.TreatedBefore.Shifts, result.TreatedAfter.Shifts, result.UntreatedBefore.Shifts, result.UntreatedAfter.Shifts,
		decimal(result.TreatedBefore.Minutes, 4), decimal(result.TreatedAfter.Minutes, 4), decimal(result.UntreatedBefore.Minutes, 4), decimal(result.UntreatedAfter.Minutes, 4),
		decimal(result.Coverage, 6), decimal(result.Effect-1, 6), decimal(result.Interval95.Low-1, 6), decimal(result.Interval95.High-1, 6),
		string(result.Verdict), result.Words, caveats, decimal(math.Round(yearUnits), 0),
		decimal(minutes, 2), decimal(dollars, 2), decimal(saved(result.Interval95.High)*value.minuteUSD, 2), decimal(saved(result.Interval95.Low)*value.minuteUSD, 2),
		payback, npv)
}

// worth is the simple payback in years (NULL when it never pays back) and the net present
// value of a saving a year.
func worth(cost, yearly float64, value valuation) (payback, npv any) {
	years, known := compare.Payback(cost, yearly)
	if !known {
		years = math.NaN()
	}
	return decimal(years, 4), decimal(compare.NetPresentValue(value.discount, cost, compare.Yearly(yearly, value.years)...), 2)
}

// caveats says in plain words what the data can't tell.
func caveats(change *floorChange, result compare.StudyResult, untouched, alike, learning, weeks int) string {
	var list []string
	switch {
	case untouched > 0:
		list = append(list, "against the tables that no change touched")
	case alike > 0:
		list = append(list, "every other table was changed too: their own changes blur the comparison")
	default:
		list = append(list, "no table to compare with: whatever else changed on that day is in it")
	}
	if result.DriftWords != "" && result.Verdict != compare.NotEnoughData {
		list = append(list, result.DriftWords)
	}
	if learning > 0 {
		list = append(list, fmt.Sprintf("%d runs of the first weeks left out as learning", learning))
	}
	noun := "weeks"
	if weeks == 1 {
		noun = "week"
	}
	list = append(list, fmt.Sprintf("%d %s of data say nothing of other seasons, nor of what else began with it (people, lumber, supervision)", weeks, noun))
	return strings.Join(list, "; ")
}

func addDays(iso string, days int) string {
	on, err := time.Parse("2006-01-02", iso)
	if err != nil {
		return iso
	}
	return day(on.AddDate(0, 0, days))
}

// weekNumbers counts the weeks of the runs in order of time.
func weekNumbers(runs []comparedRun) map[string]int {
	numbers := map[string]int{}
	for i := range runs {
		numbers[runs[i].week] = 0
	}
	for n, week := range sortedKeys(numbers) {
		numbers[week] = n
	}
	return numbers
}
