package cutting_test

import (
	"context"
	"errors"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/reports/cutting"
)

func TestStepsRunOut(t *testing.T) {
	p := weekPools()[0]
	full := solved(t, p)
	for _, steps := range []int64{0, 1, 1000, 100_000, 1_000_000, full.Steps / 2} {
		solution, err := cutting.Solve(context.Background(), p, steps)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.Verify(solution); err != nil {
			t.Fatalf("%d steps: %v", steps, err)
		}
		if solution.Bound > full.Plan.Cost || solution.Bound <= 0 {
			t.Errorf("%d steps: bound %d, plan %d", steps, solution.Bound, full.Plan.Cost)
		}
		// Work ends soon after the limit: here, after at most one more table and two plans.
		if solution.Steps > steps+5_000_000 {
			t.Errorf("%d steps: took %d", steps, solution.Steps)
		}
		again, _ := cutting.Solve(context.Background(), p, steps)
		if difference := cmp.Diff(solution, again); difference != "" {
			t.Errorf("%d steps: not the same again: %s", steps, difference)
		}
	}
}

func TestCancelled(t *testing.T) {
	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := cutting.Solve(cancelled, weekPools()[0], cutting.DefaultSteps); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled before: %v", err)
	}
	// Cancelled on the way: at the third look.
	looks := &countedContext{Context: context.Background(), after: 3}
	if _, err := cutting.Solve(looks, weekPools()[0], cutting.DefaultSteps); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled on the way: %v", err)
	}
}

// countedContext is done when it has been asked so often.
type countedContext struct {
	context.Context
	after int
}

func (c *countedContext) Err() error {
	if c.after--; c.after < 0 {
		return context.Canceled
	}
	return nil
}

// The bound must not only be valid, it must be of use: near the plan for what plants cut.
func TestGapOfPlantProblems(t *testing.T) {
	for n, p := range weekBatches()[:45] {
		solution := solved(t, p)
		if gap := float64(solution.Plan.Cost-solution.Bound) / float64(solution.Bound); gap > 0.02 {
			t.Errorf("%d: plan %d, bound %d: gap %.2f %%", n, solution.Plan.Cost, solution.Bound, 100*gap)
		}
	}
	if solution := solved(t, weekPools()[0]); float64(solution.Plan.Cost) > 1.002*float64(solution.Bound) {
		t.Errorf("pool: plan %d, bound %d", solution.Plan.Cost, solution.Bound)
	}
}

func TestVerifyRefuses(t *testing.T) {
	p := cutting.Problem{
		Parts: []cutting.Part{{Length: 50, Count: 4}, {Length: 30, Count: 2}, {Length: 500, Count: 1}},
		Stock: []cutting.Stock{{Length: 110, Price: 7, Boards: 3}, {Length: 120, Price: 9, Boards: cutting.Unlimited}},
		Kerf:  2, Trim: 3,
	}
	for name, change := range map[string]func(*cutting.Solution){
		"a board more":      func(s *cutting.Solution) { s.Plan.Cuts[0].Times++ },
		"a board less":      func(s *cutting.Solution) { s.Plan.Cuts[0].Times-- },
		"a part less":       func(s *cutting.Solution) { s.Plan.Cuts[0].Parts = s.Plan.Cuts[0].Parts[:0] },
		"another part":      func(s *cutting.Solution) { s.Plan.Cuts[0].Parts[0].Length-- },
		"another board":     func(s *cutting.Solution) { s.Plan.Cuts[0].Length += 5 },
		"another price":     func(s *cutting.Solution) { s.Plan.Cuts[0].Price-- },
		"another cost":      func(s *cutting.Solution) { s.Plan.Cost++ },
		"a bound above":     func(s *cutting.Solution) { s.Bound = s.Plan.Cost + 1 },
		"nothing too long":  func(s *cutting.Solution) { s.TooLong = nil },
		"more too long":     func(s *cutting.Solution) { s.TooLong = append(s.TooLong, cutting.Part{Length: 30, Count: 1}) },
		"a board over-cut":  func(s *cutting.Solution) { p.Kerf = 6 },
		"trim not counted":  func(s *cutting.Solution) { p.Trim = 12 },
		"boards not enough": func(s *cutting.Solution) { p.Stock[0].Boards = 2 },
	} {
		kerf, trim, boards := p.Kerf, p.Trim, p.Stock[0].Boards
		solution := solved(t, p)
		change(&solution)
		if err := p.Verify(solution); !errors.Is(err, cutting.ErrWrongSolution) {
			t.Errorf("%s: %v", name, err)
		}
		p.Kerf, p.Trim, p.Stock[0].Boards = kerf, trim, boards
	}
}
