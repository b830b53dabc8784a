package reports

import (
	"context"
	"time"
)

// KeepJobs works out once what the sheets of the books ask of the jobs, in the period's weeks and
// in the month of a monthly book. Run the checks before: they ask for other days.
func KeepJobs(ctx context.Context, from Source, period Period, books []*Book) error {
	var days []time.Time
	for _, book := range books {
		of := book.PeriodOf(period)
		days = append(days, of.From, of.Until)
	}
	return from.KeepJobs(ctx, days...)
}

// Fill works out what the sheets of the books need before their SQL runs, as their `needs:`
// say, for one period. Solutions of cutting problems that the warehouse does not keep yet are
// returned.
func Fill(ctx context.Context, from Source, period Period, books ...*Book) ([]CutSolution, error) {
	return fill(ctx, from, period, compareUnits, books)
}

// fill is Fill with that comparison of the runs.
func fill(ctx context.Context, from Source, period Period, compared func(temporaryRows, []comparedRun), books []*Book) ([]CutSolution, error) {
	needs := map[string]bool{}
	for _, book := range books {
		for _, d := range book.Sheets {
			needs[d.Needs] = true
		}
	}
	if needs[needsBridge] {
		if err := FillBridge(ctx, from, period); err != nil {
			return nil, err
		}
	}
	var fresh []CutSolution
	if needs[needsCutting] {
		var err error
		if fresh, err = FillCutting(ctx, from, period); err != nil {
			return nil, err
		}
	}
	if needs[needsComparison] {
		if err := fillComparison(ctx, from, period, compared); err != nil {
			return nil, err
		}
	}
	if needs[needsIntervals] {
		return fresh, FillIntervals(ctx, from)
	}
	return fresh, nil
}
