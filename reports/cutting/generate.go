package cutting

import (
	"math"
	"slices"
)

// manyLengths is the number of lengths from which the linear program is kept near what its
// values are like, and gets its patterns from a table.
const manyLengths = 200

// Of many lengths, the program starts with values within these multiples of the worth by
// weight: those of a plant's parts lie there but for a few of the longest.
const leastOfLikely, mostOfLikely = 0.96, 1.02

// generate is column generation: the program over the patterns known so far says what parts
// are worth, the filler finds patterns that hold more worth than their board costs, until
// there are none. Each round proves a bound.
//
// With many lengths most of the work would go to values far from any that count. There the
// values are kept near the worth by weight first, and let go when nothing more is found.
func (s *solver) generate() {
	inst := s.inst
	m := newMaster(inst, s.work)
	s.master = m
	unit := float64(float64(s.scale) * m.dearest())
	near := s.many
	if near {
		m.byEdge = true
		m.narrow(s.likely(unit), leastOfLikely, mostOfLikely)
	} else {
		for _, r := range joined(s.seeds) {
			m.addPattern(r.stock, r.items)
		}
	}
	s.seeds = nil
	worth := make([]int64, len(inst.weight))
	threshold := make([]int64, len(inst.capacity))
	hair := s.scale*slices.Max(inst.price)>>27 + 1
	for {
		m.optimise()
		value := float64(m.value() * m.dearest())
		if s.plan != nil && s.cost == s.bound || !s.work.spend(0) {
			return
		}
		if near {
			m.keepBest(m.size)
		}
		fresh := 0
		if !s.reached(value, near) {
			for i := range worth {
				worth[i] = int64(min(max(float64(m.dual[i]*unit), 0), largestWorth))
			}
			for k, row := range m.rowOf {
				s.filler.best[k] = s.scale*inst.price[k] + hair
				if row >= 0 {
					s.filler.best[k] += int64(min(max(float64(-m.dual[row]*unit), 0), largestWorth))
				}
			}
			copy(threshold, s.filler.best)
			fresh = s.patterns(worth, threshold)
		}
		if fresh == 0 {
			if !near {
				return
			}
			near = false
			m.widen()
		}
	}
}

// reached says that the bound is what the program's value allows at most, but for its last
// digits. A program that leaves parts uncut says nothing; one that is kept near lets them go
// for what they are worth.
func (s *solver) reached(value float64, near bool) bool {
	tolerance := 1e-7
	if near {
		tolerance = 1e-6
	} else if s.master.uncut() {
		return false
	}
	lowest := math.Ceil((value - float64(tolerance*value)) / float64(s.inst.grid))
	return float64(s.bound/s.inst.grid) >= lowest
}

// likely is what parts are likely to be worth, in units of the program's costs.
func (s *solver) likely(unit float64) []float64 {
	if s.values != nil {
		return s.values
	}
	likely := make([]float64, len(s.inst.weight))
	for i, worth := range materialCertificate(s.inst).worth {
		likely[i] = float64(worth) / unit
	}
	return likely
}

// patterns proves the bound of these values, adds patterns that are worth more than
// threshold to the program, and says how many those were.
func (s *solver) patterns(worth, threshold []int64) int {
	inst, f := s.inst, s.filler
	f.load(worth, inst.demand)
	if s.many {
		return s.tabulated(worth, threshold)
	}
	complete := f.fill(inst.capacity, 4000)
	fresh := s.addFound()
	if !complete {
		return fresh + s.tabulated(worth, threshold)
	}
	if proof, ok := certify(inst, s.scale, worth, f.best); ok {
		s.take(proof)
	}
	return fresh
}

// addFound adds what the filler found to the linear program, as far as it makes it
// cheaper, and says how many patterns that were.
func (s *solver) addFound() int {
	fresh := 0
	var before []int32
	for k, found := range s.filler.found {
		if found == nil {
			continue
		}
		items := slices.Sorted(slices.Values(found))
		if k > 0 && slices.Equal(before, items) && s.inst.limit[k-1] == Unlimited {
			continue
		}
		before = items
		if s.addIfCheaper(k, items) {
			fresh++
		}
	}
	return fresh
}

// addIfCheaper adds a pattern that makes the program cheaper; items in ascending order.
func (s *solver) addIfCheaper(stock int, items []int32) bool {
	m := s.master
	m.addPattern(stock, items)
	if m.reducedCost(&m.columns[len(m.columns)-1]) >= -tiny {
		m.removeLast()
		return false
	}
	return true
}

// tabulated works with a table of what each length of board holds at most: it proves the
// bound of these values exactly, and adds patterns.
func (s *solver) tabulated(worth, threshold []int64) int {
	inst, f := s.inst, s.filler
	f.tabulate(inst.capacity[len(inst.capacity)-1])
	most := make([]int64, len(inst.capacity))
	for k, capacity := range inst.capacity {
		most[k] = f.most[capacity]
	}
	if proof, ok := certify(inst, s.scale, worth, most); ok {
		s.take(proof)
	}
	fresh := s.bestPatterns(-1, threshold)
	if !s.many {
		for first := range f.item {
			fresh += s.bestPatterns(first, threshold)
		}
		return fresh
	}
	if fresh += s.complementary(threshold); fresh > len(f.item)/20 {
		return fresh
	}
	for first := range f.item {
		if stock := f.mostOver(first, threshold); stock >= 0 {
			if pattern := f.trace(inst.capacity[stock], first, threshold[stock], traceNodes); pattern != nil {
				if s.addIfCheaper(stock, slices.Sorted(slices.Values(pattern))) {
					fresh++
				}
			}
		}
	}
	return fresh
}

// traceNodes is how long a pattern is looked for in the table.
const traceNodes = 400

// bestPatterns adds the best pattern of each stock, with entry first on it if that is not
// negative.
func (s *solver) bestPatterns(first int, threshold []int64) int {
	for k, capacity := range s.inst.capacity {
		s.filler.found[k] = s.filler.trace(capacity, first, threshold[k], traceNodes)
	}
	return s.addFound()
}

// complementary adds patterns that can be cut side by side: part by part, the longest first,
// each on the board that holds most more than it costs, without the parts that patterns
// before it have used up. Patterns that all hold the same few small parts would make the
// program no cheaper together than alone.
func (s *solver) complementary(threshold []int64) int {
	inst, f := s.inst, s.filler
	whole := slices.Clone(f.copies)
	defer copy(f.copies, whole)
	entry := make([]int, len(inst.weight))
	for j, item := range f.item {
		entry[item] = j
	}
	order := make([]int, len(f.item))
	for at, item := range slices.Sorted(slices.Values(f.item)) {
		order[at] = entry[item]
	}
	fresh := 0
	for _, first := range order {
		for f.copies[first] > 0 {
			stock := f.mostOver(first, threshold)
			if stock < 0 {
				break
			}
			pattern := f.trace(inst.capacity[stock], first, threshold[stock], traceNodes)
			if pattern == nil {
				break
			}
			slices.Sort(pattern)
			if s.addIfCheaper(stock, pattern) {
				fresh++
			}
			times, count := math.MaxInt, 0
			for at, item := range pattern {
				if count++; at+1 == len(pattern) || pattern[at+1] != item {
					times, count = min(times, f.copies[entry[item]]/count), 0
				}
			}
			for _, item := range pattern {
				f.copies[entry[item]] -= times
			}
		}
	}
	return fresh
}
