package cutting

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"
)

// DefaultSteps is a limit of steps that a week of a plant's parts of one item does not
// reach.
const DefaultSteps = 2_000_000_000

// lengthsAtMost is the number of lengths up to which there is a linear program: its
// inverse has the square of that many figures.
const lengthsAtMost = 2000

// searchedParts is the number of parts up to which a whole problem is searched at last, which
// may raise its bound.
const searchedParts = 100

// ErrTooFewBoards says that the boards at hand are proven not to hold the parts.
var ErrTooFewBoards = errors.New("too few boards at hand to cut the parts from")

// ErrNoPlan says that boards at hand are few, that no plan was found within the limit of
// steps, and that none is proven impossible.
var ErrNoPlan = errors.New("no plan found with the boards at hand")

// Solve returns a proven bound and a plan for p.
//
// The work is limited by steps, which are counted and the same on every machine; when they
// run out, bound and plan are what was reached by then, both still valid. DefaultSteps is
// a good limit. A step is a few nanoseconds. With more than 2,000 lengths there is no
// linear program: the bound is that of the wood the parts hold, the plan a greedy one.
//
// Errors: of Check; of ctx, as soon as it is done; ErrTooFewBoards or ErrNoPlan, with
// which the solution holds only what is too long. A problem without parts costs nothing.
//
// The linear program is that of Gilmore and Gomory (1961), by column generation; see
// certificate for the bound. The plan comes from rounding the linear program step by step,
// from greedy filling with revised values, from cutting a few boards' parts anew by
// complete search, and from planning some sixty boards' parts anew as a problem of their own.
func Solve(ctx context.Context, p Problem, steps int64) (Solution, error) {
	return solve(ctx, p, steps, false)
}

// SolveBound is Solve for who wants the bound alone: it is the same, and no work goes into a
// better plan than the bound needs.
func SolveBound(ctx context.Context, p Problem, steps int64) (Solution, error) {
	return solve(ctx, p, steps, true)
}

func solve(ctx context.Context, p Problem, steps int64, boundOnly bool) (Solution, error) {
	if err := p.Check(); err != nil {
		return Solution{}, err
	}
	if err := ctx.Err(); err != nil {
		return Solution{}, err
	}
	inst, tooLong := newInstance(p)
	solution := Solution{TooLong: tooLong}
	if inst.parts == 0 {
		return solution, nil
	}
	work := &work{ctx: ctx, limit: steps}
	s := newSolver(inst, work)
	s.boundOnly = boundOnly
	s.solve()
	if work.err != nil {
		return Solution{}, work.err
	}
	if s.plan == nil {
		if s.impossible {
			return solution, ErrTooFewBoards
		}
		return solution, ErrNoPlan
	}
	solution.Bound, solution.Plan, solution.Steps = s.bound, inst.plan(s.plan), work.spent
	return solution, nil
}

type solver struct {
	inst   *instance
	work   *work
	scale  int64
	filler *filler
	master *master

	proof certificate // of the best bound that is from a certificate
	bound int64

	plan       []run // nil: none yet
	cost       int64
	impossible bool
	seeds      []run // patterns of the first plans
	boundOnly  bool
	many       bool // lengths: see manyLengths
	// values is what parts are worth in the problem whose plan this is a part of, in dearest
	// boards; nil for a whole problem.
	values []float64
}

func newSolver(inst *instance, work *work) *solver {
	return &solver{inst: inst, work: work, scale: scaleFor(inst), filler: newFiller(inst, work), many: len(inst.weight) >= manyLengths}
}

func (s *solver) solve() {
	inst := s.inst
	s.take(materialCertificate(inst))
	if s.impossible = inst.tooLittleWood(); s.impossible {
		return
	}
	for _, longest := range []bool{true, false} {
		if runs, ok := s.firstFit(inst.demand, inst.limit, longest); ok {
			s.offer(runs)
		}
	}
	times := 4
	if s.many {
		times = 1 // the linear program doesn't start from these plans
	}
	s.correctValues(inst.demand, inst.limit, nil, times)
	if s.done() {
		return
	}
	if len(inst.weight) > lengthsAtMost {
		return
	}
	s.generate()
	if s.done() {
		return
	}
	if s.boundOnly && s.plan != nil && inst.parts > searchedParts {
		return // what follows makes plans only
	}
	if s.plan == nil || inst.parts <= 24 {
		s.searchAll(20_000)
	}
	if s.done() {
		return
	}
	s.dive()
	if s.done() {
		return
	}
	s.improve()
	if s.done() {
		return
	}
	if inst.parts <= searchedParts {
		s.searchAll(20_000)
	} else if s.values == nil {
		s.rebuild()
	}
}

func (s *solver) done() bool {
	return s.impossible || s.plan != nil && s.cost == s.bound || !s.work.spend(0)
}

// take keeps a certificate if its bound is the best.
func (s *solver) take(proof certificate) {
	if s.proof.worth == nil || proof.lower(s.inst.demand, s.inst.limit) > s.proof.lower(s.inst.demand, s.inst.limit) {
		s.proof = proof
		s.bound = max(s.bound, proof.bound())
	}
}

// offer keeps a plan if it is the cheapest.
func (s *solver) offer(runs []run) {
	runs = s.inst.downsized(runs)
	if cost := s.inst.cost(runs); s.plan == nil || cost < s.cost {
		s.plan, s.cost = runs, cost
	}
}

// correctValues plans residual several times over, starting from the worth of parts by
// weight, and offers each plan together with the runs that are fixed.
func (s *solver) correctValues(residual, left []int, fixed []run, times int) {
	worth := slices.Clone(s.proof.worth)
	for i := range worth {
		worth[i]++ // what is worth nothing still has to be cut
	}
	for range times {
		if s.done() {
			return
		}
		runs, ok := s.greedy(residual, left, worth, 300, true)
		if !ok {
			continue
		}
		if s.master == nil {
			s.seeds = append(s.seeds, runs...)
		}
		s.offer(append(slices.Clone(fixed), runs...))
	}
}

// dive rounds the linear program: the pattern nearest to its next whole number is cut that
// often, the program is solved again for what is left, and on the way what is left is
// planned greedily.
func (s *solver) dive() {
	inst, m := s.inst, s.master
	residual, left := slices.Clone(inst.demand), slices.Clone(inst.limit)
	var fixed []run
	cut := func(c int, times int) {
		column := &m.columns[c]
		items := s.within(column.items, residual)
		for ; times > 0 && len(items) > 0; items = s.within(column.items, residual) {
			n := min(times, timesWithin(items, residual))
			fixed = append(fixed, run{column.stock, n, items})
			for _, item := range items {
				residual[item] -= n
			}
			if left[column.stock] != Unlimited {
				left[column.stock] -= n
			}
			times -= n
		}
	}
	m.keepBest(4 * m.size)
	m.listRows()
	for s.work.spend(0) {
		type fraction struct {
			column int
			level  float64
		}
		var fractions []fraction
		whole := false
		for r, c := range m.basis {
			if m.columns[c].stock < 0 || m.level[r] < 1e-6 {
				continue
			}
			if times := int(m.level[r] + 1e-6); times > 0 {
				cut(c, times)
				whole = true
			} else {
				fractions = append(fractions, fraction{c, m.level[r]})
			}
		}
		if !whole {
			slices.SortFunc(fractions, func(a, b fraction) int {
				return cmp.Or(cmp.Compare(b.level, a.level), cmp.Compare(a.column, b.column))
			})
			// One at a time, some where there are many.
			any := false
			for n, f := range fractions {
				if n > 0 && (n > len(fractions)/25 || f.level < 0.5) {
					break
				}
				if left[m.columns[f.column].stock] != 0 {
					cut(f.column, 1)
					any = true
				}
			}
			if !any {
				break
			}
		}
		parts := 0
		for i, count := range residual {
			m.right[i] = float64(count)
			parts += count
		}
		for k, row := range m.rowOf {
			if row >= 0 {
				m.right[row] = float64(left[k])
			}
		}
		if parts == 0 {
			break
		}
		if parts <= 40 {
			s.complete(residual, left, fixed)
			if s.done() {
				return
			}
		}
		m.refresh()
		if !m.repair() {
			break
		}
	}
	s.complete(residual, left, fixed)
}

// complete plans what is left when fixed is cut.
func (s *solver) complete(residual, left []int, fixed []run) {
	s.correctValues(residual, left, fixed, 3)
}

// within is the part of a pattern that is still wanted.
func (s *solver) within(items []int32, residual []int) []int32 {
	var wanted []int32
	count := 0
	for at, item := range items {
		if at > 0 && items[at-1] != item {
			count = 0
		}
		if count++; count <= residual[item] {
			wanted = append(wanted, item)
		}
	}
	return wanted
}

// searchAll searches the whole problem: if it comes to an end, the plan is the cheapest.
func (s *solver) searchAll(nodes int64) {
	best := s.cost
	if s.plan == nil {
		best = math.MaxInt64 / s.scale / 4
	}
	search := newSearch(s.inst, s.work, &s.proof, s.inst.demand, s.inst.limit, best, nodes)
	complete := search.run()
	if search.found != nil {
		s.offer(runsOf(search.found))
	}
	if complete {
		if s.plan == nil {
			s.impossible = true
		} else {
			s.bound = s.cost
		}
	}
}

func runsOf(choices []choice) []run {
	var runs []run
	for _, c := range choices {
		runs = append(runs, run{c.stock, 1, c.items})
	}
	return runs
}
