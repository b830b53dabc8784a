package reports

import "context"

// Fill works out what the sheets of the books need before their SQL runs, as their `needs:`
// say, for one period. Solutions of cutting problems that the warehouse does not keep yet are
// returned.
func Fill(ctx context.Context, from Source, period Period, books ...*Book) ([]CutSolution, error) {
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
		if err := FillComparison(ctx, from, period); err != nil {
			return nil, err
		}
	}
	if needs[needsIntervals] {
		return fresh, FillIntervals(ctx, from)
	}
	return fresh, nil
}
