package reports

import (
	"context"
	"strings"

	"trusstally/reports/compare"
)

// comparableLabour is the trend's measure that is worked out here.
const comparableLabour = "labour a truss, like for like"

// trendValue is one week of one measure.
type trendValue struct {
	week, label            string
	numerator, denominator any // of the engine's, or null
	value                  float64
}

// trendMeasure is one measure over the weeks.
type trendMeasure struct {
	place            int64
	name, unit, base string
	values           []trendValue
}

// trendOf fills trend_points: each measure's weekly values with the limits of an individuals
// chart and its signals.
func trendOf(ctx context.Context, from Source, period Period, tables temporaryRows, runs []comparedRun) error {
	measures, labels, err := weeklyMeasures(ctx, from, period)
	if err != nil {
		return err
	}
	measures = append(measures, labourTrend(runs, labels))
	for _, m := range measures {
		var values []float64
		for _, v := range m.values {
			values = append(values, v.value)
		}
		chart := compare.IndividualsChart(values)
		signals := map[int][]string{}
		for _, signal := range chart.Signals {
			signals[signal.Index] = append(signals[signal.Index], signal.Words)
		}
		for i, v := range m.values {
			var mean, low, high, words any = null{}, null{}, null{}, null{}
			if chart.Enough {
				mean, low, high = decimal(chart.Mean, 6), decimal(chart.LowerLimit, 6), decimal(chart.UpperLimit, 6)
				if list := signals[i]; list != nil {
					words = strings.Join(list, "; ")
				}
			} else {
				words = chart.Words
			}
			tables.add("trend_points", m.place, m.name, m.unit, m.base, v.week, v.label, v.numerator, v.denominator, decimal(v.value, 6),
				len(values), mean, low, high, words)
		}
	}
	return nil
}

// weeklyMeasures reads the measures that SQL works out, and the labels of all weeks.
func weeklyMeasures(ctx context.Context, from Source, period Period) ([]*trendMeasure, map[string]string, error) {
	var measures []*trendMeasure
	err := from.Query(ctx, `
SELECT place, measure, unit, base, workweek_start::VARCHAR, workweek, numerator, denominator, share_of(numerator, denominator)
FROM weekly_measures($until::DATE)
ORDER BY place, workweek_start`, map[string]any{"until": day(period.Until)}, nil, func(row []any) error {
		if len(measures) == 0 || measures[len(measures)-1].name != text(row[1]) {
			measures = append(measures, &trendMeasure{place: number(row[0]), name: text(row[1]), unit: text(row[2]), base: text(row[3])})
		}
		last := measures[len(measures)-1]
		last.values = append(last.values, trendValue{text(row[4]), text(row[5]), row[6], row[7], asFloat(row[8])})
		return nil
	})
	if err != nil {
		return nil, nil, err
	}
	labels := map[string]string{}
	err = from.Query(ctx, "SELECT workweek_start::VARCHAR, label FROM workweeks", nil, nil, func(row []any) error {
		labels[text(row[0])] = text(row[1])
		return nil
	})
	return measures, labels, err
}

// labourTrend is each week's people-minutes a truss on the plant's trailing mix: the week's
// rate of each class over the trailing one, weighted by the mix, over the classes that the
// week built; a week that covers less than MinimumCoverage of the mix has no value.
func labourTrend(runs []comparedRun, labels map[string]string) *trendMeasure {
	type sums struct{ minutes, trusses float64 }
	all := map[string]*sums{}
	weeks := map[string]map[string]*sums{}
	add := func(to map[string]*sums, r *comparedRun) {
		if to[r.class] == nil {
			to[r.class] = &sums{}
		}
		to[r.class].minutes += r.minutes()
		to[r.class].trusses += float64(r.trusses)
	}
	total := sums{}
	for i := range runs {
		r := &runs[i]
		if r.leftOut != "" {
			continue
		}
		add(all, r)
		if weeks[r.week] == nil {
			weeks[r.week] = map[string]*sums{}
		}
		add(weeks[r.week], r)
		total.minutes += r.minutes()
		total.trusses += float64(r.trusses)
	}
	m := &trendMeasure{place: 3, name: comparableLabour, unit: "people-minutes a truss",
		base: "week / all weeks, min a truss"}
	for _, week := range sortedKeys(weeks) {
		actual, expected, covered := 0.0, 0.0, 0.0
		for _, class := range sortedKeys(weeks[week]) {
			w, a := weeks[week][class], all[class]
			share := a.trusses / total.trusses
			actual += share * w.minutes / w.trusses
			expected += share * a.minutes / a.trusses
			covered += share
		}
		if covered < compare.MinimumCoverage || expected == 0 {
			continue
		}
		level := total.minutes / total.trusses
		m.values = append(m.values, trendValue{week, labels[week], decimal(actual/covered, 4), decimal(expected/covered, 4), level * actual / expected})
	}
	return m
}
