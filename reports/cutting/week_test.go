package cutting_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"trusstally/reports/cutting"
)

// A made-up week of a plant: three items, boards of 8 to 20 feet with the longer ones
// dearer per foot, kerf 1/8 inch.

const foot = 12 * 64

var weekStock = [][]int64{ // prices in ten-thousandths of a dollar, 8 to 20 feet
	{33_100, 41_900, 50_700, 60_200, 70_400, 83_600, 92_900},
	{48_800, 62_100, 76_000, 88_300, 104_700, 122_400, 136_900},
	{71_250, 90_300, 109_950, 131_400, 153_850, 181_200, 203_700},
}

func weekProblem(random *rand.Rand, item, lengths, parts int) cutting.Problem {
	p := cutting.Problem{Kerf: 8, Trim: 16}
	for k, price := range weekStock[item] {
		p.Stock = append(p.Stock, cutting.Stock{Length: int64(8+2*k) * foot, Price: price, Boards: cutting.Unlimited})
	}
	for i := range lengths {
		// Webs of one to eight feet, and some chords of up to 20 feet.
		length := foot + random.Int64N(7*foot)
		if i%4 == 0 {
			length = 6*foot + random.Int64N(13*foot)
		}
		p.Parts = append(p.Parts, cutting.Part{Length: length, Count: 1})
	}
	for range parts - lengths {
		p.Parts[random.IntN(lengths)].Count++
	}
	return p
}

// weekBatches are 150 batches of three items.
func weekBatches() []cutting.Problem {
	random := rand.New(rand.NewPCG(1, 2))
	var problems []cutting.Problem
	for range 150 {
		for item := range weekStock {
			lengths := 5 + random.IntN(36)
			problems = append(problems, weekProblem(random, item, lengths, max(lengths, 10+random.IntN(291))))
		}
	}
	return problems
}

// weekPools are ten pools of a day and six of a week.
func weekPools() []cutting.Problem {
	random := rand.New(rand.NewPCG(3, 4))
	var problems []cutting.Problem
	for n := range 10 {
		lengths := 60 + random.IntN(60)
		problems = append(problems, weekProblem(random, n%3, lengths, 500+random.IntN(500)))
	}
	for n := range 6 {
		lengths := 200 + random.IntN(101)
		problems = append(problems, weekProblem(random, n%3, lengths, 3000+random.IntN(1001)))
	}
	return problems
}

func BenchmarkWeek(b *testing.B) {
	kinds := []struct {
		name     string
		problems []cutting.Problem
	}{
		{"batches", weekBatches()},
		{"day", weekPools()[:10]},
		{"week", weekPools()[10:]},
	}
	prices := []struct {
		name   string
		priced func(cutting.Problem) cutting.Problem
	}{
		{"dollars", func(p cutting.Problem) cutting.Problem { return p }},
		{"wood", cutting.Problem.LeastWood},
		{"boards", cutting.Problem.LeastBoards},
	}
	for _, kind := range kinds {
		for _, price := range prices {
			b.Run(kind.name+"/"+price.name, func(b *testing.B) {
				var bound, cost, steps, most int64
				proven, widest := 0, 0.0
				for range b.N {
					bound, cost, steps, most, proven, widest = 0, 0, 0, 0, 0, 0
					for _, p := range kind.problems {
						solution, err := cutting.Solve(context.Background(), price.priced(p), cutting.DefaultSteps)
						if err != nil {
							b.Fatal(err)
						}
						bound += solution.Bound
						cost += solution.Plan.Cost
						steps += solution.Steps
						most = max(most, solution.Steps)
						widest = max(widest, float64(solution.Plan.Cost-solution.Bound)/float64(solution.Bound))
						if solution.Proven() {
							proven++
						}
					}
				}
				b.ReportMetric(100*float64(cost-bound)/float64(bound), "gap_%")
				b.ReportMetric(100*widest, "widest_gap_%")
				b.ReportMetric(float64(proven), "proven")
				b.ReportMetric(float64(len(kind.problems)), "problems")
				b.ReportMetric(float64(steps)/1e6, "Msteps")
				b.ReportMetric(float64(most)/1e6, "most_Msteps")
			})
		}
	}
}
