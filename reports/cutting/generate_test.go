package cutting

import (
	"context"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// ofManyLengths is a problem of the kind that a large plant has each day: more lengths than
// manyLengths, boards of 8 to 20 feet.
func ofManyLengths(seed uint64, lengths int) Problem {
	random := rand.New(rand.NewPCG(seed, 7))
	p := Problem{Kerf: 8}
	for k, price := range []int64{27_307, 34_133, 40_960, 48_253, 55_257, 62_041, 69_280} {
		p.Stock = append(p.Stock, Stock{Length: int64(8+2*k) * 12 * 64, Price: price, Boards: Unlimited})
	}
	for i := range lengths {
		length := int64(400+random.IntN(1300)) * 4
		if i%3 == 0 {
			length = int64(1000+random.IntN(2500)) * 4
		}
		p.Parts = append(p.Parts, Part{Length: length, Count: 1 + random.IntN(20)})
	}
	return p
}

// Where the linear program starts changes how long it takes, not what it proves.
func TestNarrowStartProvesTheSame(t *testing.T) {
	for seed := range uint64(3) {
		for _, p := range []Problem{ofManyLengths(seed, 220), ofManyLengths(seed, 220).LeastWood(), ofManyLengths(seed, 220).LeastBoards()} {
			var bounds, costs [2]int64
			for at, many := range []bool{true, false} {
				inst, _ := newInstance(p)
				s := newSolver(inst, &work{ctx: context.Background(), limit: DefaultSteps})
				if s.many = many; many && len(inst.weight) < manyLengths {
					t.Fatalf("%d lengths are not many", len(inst.weight))
				}
				s.solve()
				bounds[at], costs[at] = s.bound, s.cost
			}
			// Both end within a ten-millionth of the program's value.
			if off := float64(bounds[0]-bounds[1]) / float64(bounds[1]); off > 3e-7 || off < -3e-7 {
				t.Errorf("seed %d: bound %d, and %d without the narrow start", seed, bounds[0], bounds[1])
			}
			if float64(costs[0]) > float64(bounds[0])*1.002 {
				t.Errorf("seed %d: plan %d, bound %d", seed, costs[0], bounds[0])
			}
		}
	}
}

// Whoever wants the bound alone gets the bound that goes with the plan.
func TestSolveBound(t *testing.T) {
	problems := []Problem{ofManyLengths(1, 220), ofManyLengths(2, 60), ofManyLengths(3, 12)}
	small := ofManyLengths(4, 8)
	for i := range small.Parts {
		small.Parts[i].Count = 1 + i%3
	}
	for _, whole := range append(problems, small) {
		for _, p := range []Problem{whole, whole.LeastWood(), whole.LeastBoards()} {
			full, err := Solve(context.Background(), p, DefaultSteps)
			if err != nil {
				t.Fatal(err)
			}
			bound, err := SolveBound(context.Background(), p, DefaultSteps)
			if err != nil {
				t.Fatal(err)
			}
			if err := p.Verify(bound); err != nil {
				t.Error(err)
			}
			if bound.Bound != full.Bound {
				t.Errorf("%d lengths: bound %d alone, %d with its plan", len(p.Parts), bound.Bound, full.Bound)
			}
			if p.Key() == p.BoundKey() {
				t.Error("a plan that is good for a bound only has the key of a plan")
			}
		}
	}
}

// The same problem has the same solution, whatever runs beside it.
func TestSameOnAnyNumberOfCores(t *testing.T) {
	problems := []Problem{ofManyLengths(5, 210), ofManyLengths(6, 70), ofManyLengths(7, 15)}
	var alone []Solution
	before := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(before)
	for _, p := range problems {
		solution, err := Solve(context.Background(), p, DefaultSteps)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.Verify(solution); err != nil {
			t.Fatal(err)
		}
		alone = append(alone, solution)
	}
	runtime.GOMAXPROCS(4)
	together := make([]Solution, 2*len(problems))
	var running sync.WaitGroup
	for at := range together {
		running.Go(func() { together[at], _ = Solve(context.Background(), problems[at%len(problems)], DefaultSteps) })
	}
	running.Wait()
	for at, solution := range together {
		if difference := cmp.Diff(alone[at%len(problems)], solution); difference != "" {
			t.Errorf("problem %d: %s", at%len(problems), difference)
		}
	}
}
