package cutting

import (
	"cmp"
	"slices"
)

// improve cuts the parts of a few boards anew, again and again: those that leave most
// worth unused, each together with others. It ends when a round brings nothing.
func (s *solver) improve() {
	const together, nodes = 5, 1500
	for round := 0; round < 12; round++ {
		before := s.cost
		runs := s.byUnused()
		// Every window of boards, at several strides.
		for stride := 1; stride <= 4 && stride*together <= max(len(runs), together); stride++ {
			for from := 0; from+1 < len(runs) && from < 60; from += 2 {
				if s.done() {
					return
				}
				var chosen []int
				for at := from; at < len(runs) && len(chosen) < together; at += stride {
					chosen = append(chosen, at)
				}
				if s.recut(runs, chosen, nodes) {
					runs = s.byUnused()
				}
			}
		}
		if s.cost == before {
			return
		}
	}
}

func (s *solver) unused(r run) int64 {
	unused := s.scale*s.inst.price[r.stock] + s.proof.rent[r.stock]
	for _, item := range r.items {
		unused -= s.proof.worth[item]
	}
	return unused
}

// byUnused is the plan's runs, those first that leave most worth unused.
func (s *solver) byUnused() []run {
	runs := slices.Clone(s.plan)
	slices.SortStableFunc(runs, func(a, b run) int { return cmp.Compare(s.unused(b), s.unused(a)) })
	return runs
}

// recut searches for a cheaper way to cut the parts of one board of each chosen run.
func (s *solver) recut(runs []run, chosen []int, nodes int64) bool {
	residual := make([]int, len(s.inst.weight))
	left := s.inst.boardsLeft(runs)
	var cost, unused int64
	for _, at := range chosen {
		r := runs[at]
		cost += s.inst.price[r.stock]
		unused += s.unused(r)
		for _, item := range r.items {
			residual[item]++
		}
		if left[r.stock] != Unlimited {
			left[r.stock]++
		}
	}
	if unused < s.scale*s.inst.grid {
		return false
	}
	search := newSearch(s.inst, s.work, &s.proof, residual, left, cost, nodes)
	search.run()
	if search.found == nil {
		return false
	}
	changed := slices.Clone(runs)
	for _, at := range chosen {
		changed[at].times--
	}
	changed = slices.DeleteFunc(changed, func(r run) bool { return r.times == 0 })
	s.offer(append(changed, runsOf(search.found)...))
	return true
}
