package cutting

import "slices"

// How many boards are planned anew together, and how often.
const (
	worstBoards  = 30
	otherBoards  = 30
	rebuildTimes = 6
	// manyLengthsOfPart is manyLengths for a part of a plan, which has to be better than what is
	// there or is of no use.
	manyLengthsOfPart = 40
)

// rebuild plans the parts of some sixty boards anew as a problem of their own, with a linear
// program of its own: the boards that leave most worth unused, and others spread over the
// plan, other ones each time. It ends when two in a row bring nothing. Boards must be without
// limit.
func (s *solver) rebuild() {
	if slices.ContainsFunc(s.inst.limit, func(limit int) bool { return limit != Unlimited }) {
		return
	}
	for round, idle := 0, 0; idle < 2 && round < rebuildTimes && !s.done(); round++ {
		idle++
		if s.rebuildSome(s.byUnused(), round) {
			idle = 0
		}
	}
}

// rebuildSome says whether that brought a cheaper plan.
func (s *solver) rebuildSome(runs []run, round int) bool {
	inst := s.inst
	taken := make([]int, len(runs))
	worst := 0
	for at := 0; at < len(runs) && worst < worstBoards; at++ {
		taken[at] = min(runs[at].times, worstBoards-worst)
		worst += taken[at]
	}
	stride := max(1, len(runs)/otherBoards)
	for at, others := round%stride, 0; at < len(runs) && others < otherBoards; at += stride {
		if taken[at] < runs[at].times {
			taken[at]++
			others++
		}
	}
	part := Problem{Parts: make([]Part, len(inst.weight))}
	for i, weight := range inst.weight {
		part.Parts[i].Length = int64(weight)
	}
	var cost, unused int64
	for at, times := range taken {
		r := runs[at]
		cost += inst.price[r.stock] * int64(times)
		unused += s.unused(r) * int64(times)
		for _, item := range r.items {
			part.Parts[item].Count += times
		}
	}
	if unused < s.scale*inst.grid {
		return false
	}
	stockOf := map[Stock]int{}
	for k, capacity := range inst.capacity {
		stock := Stock{Length: int64(capacity), Price: inst.price[k], Boards: Unlimited}
		part.Stock = append(part.Stock, stock)
		stockOf[stock] = k
	}
	itemOf := make(map[int64]int32, len(inst.weight))
	for i, weight := range inst.weight {
		itemOf[int64(weight)] = int32(i)
	}
	sub, _ := newInstance(part)
	inner := newSolver(sub, s.work)
	inner.many = len(sub.weight) >= manyLengthsOfPart
	inner.values = make([]float64, len(sub.weight))
	for i, length := range sub.length {
		inner.values[i] = float64(s.proof.worth[itemOf[length]]) / float64(float64(s.scale)*float64(slices.Max(sub.price)))
	}
	inner.solve()
	if inner.plan == nil || inner.cost >= cost {
		return false
	}
	var changed []run
	for at, r := range runs {
		if r.times -= taken[at]; r.times > 0 {
			changed = append(changed, r)
		}
	}
	for _, r := range inner.plan {
		items := make([]int32, len(r.items))
		for n, item := range r.items {
			items[n] = itemOf[sub.length[item]]
		}
		slices.Sort(items)
		changed = append(changed, run{stockOf[sub.board[r.stock]], r.times, items})
	}
	s.offer(changed)
	return true
}
