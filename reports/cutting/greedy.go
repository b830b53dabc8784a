package cutting

import "slices"

// greedy cuts parts board by board: the longest part left goes first, the rest of the
// board is filled with what is worth most, and of all stock that board is taken which
// gives most worth for its price. With revise, parts that went into boards with much drop
// become worth more, in worth itself: the sequential value correction of Mukhacheva (from
// memory). False when boards or steps run out.
func (s *solver) greedy(residual, left []int, worth []int64, nodes int64, revise bool) ([]run, bool) {
	inst := s.inst
	residual, left = slices.Clone(residual), slices.Clone(left)
	capacity := make([]int, len(inst.capacity))
	var runs []run
	for first := 0; ; {
		for first < len(residual) && residual[first] == 0 {
			first++
		}
		if first == len(residual) {
			return runs, true
		}
		residual[first]--
		open := false
		for k := range capacity {
			capacity[k] = inst.capacity[k] - inst.weight[first]
			s.filler.best[k] = -1
			if capacity[k] < 0 || left[k] == 0 {
				s.filler.best[k] = shut
			} else {
				open = true
			}
		}
		if !open {
			return nil, false
		}
		if !s.work.spend(int64(len(residual))) {
			return nil, false
		}
		s.filler.load(worth, residual)
		s.filler.fill(capacity, nodes)
		best, bestRatio := -1, 0.0
		for k, found := range s.filler.found {
			if s.filler.best[k] == shut || found == nil && s.filler.best[k] < 0 {
				continue
			}
			ratio := float64(s.filler.best[k]+worth[first]) / float64(inst.price[k])
			if best < 0 || ratio > bestRatio {
				best, bestRatio = k, ratio
			}
		}
		if best < 0 {
			return nil, false
		}
		residual[first]++
		items := append([]int32{int32(first)}, s.filler.found[best]...)
		slices.Sort(items)
		times := timesWithin(items, residual)
		if left[best] != Unlimited {
			times = min(times, left[best])
			left[best] -= times
		}
		used := 0
		for _, item := range items {
			residual[item] -= times
			used += inst.weight[item]
		}
		runs = append(runs, run{best, times, items})
		if revise {
			for at, item := range items {
				if at > 0 && items[at-1] == item {
					continue
				}
				share := float64(float64(s.scale*inst.price[best])*float64(inst.weight[item])) / float64(used)
				worth[item] = min(largestWorth, int64((float64(worth[item])+share)/2)+1)
			}
		}
	}
}

// timesWithin is how often a pattern can be cut from what is left; items in ascending
// order.
func timesWithin(items []int32, residual []int) int {
	times, count := -1, 0
	for at, item := range items {
		count++
		if at+1 == len(items) || items[at+1] != item {
			if fit := residual[item] / count; times < 0 || fit < times {
				times = fit
			}
			count = 0
		}
	}
	return times
}

// firstFit is the plainest plan: longest part first, into the first board that has room;
// a new board is the longest at hand, or the cheapest per weight of those that hold the
// part. False when boards run out.
func (s *solver) firstFit(residual, left []int, longest bool) ([]run, bool) {
	inst := s.inst
	left = slices.Clone(left)
	type open struct {
		run  run
		room int
	}
	var boards []open
	for i, count := range residual {
		weight := inst.weight[i]
		place := func(board *open) {
			fit := min(count, board.room/weight)
			board.room -= fit * weight
			count -= fit
			for range fit {
				board.run.items = append(board.run.items, int32(i))
			}
		}
		for at := 0; at < len(boards) && count > 0; at++ {
			place(&boards[at])
		}
		s.work.spend(int64(len(boards)) / 4)
		for count > 0 {
			best := -1
			for k, capacity := range inst.capacity {
				if capacity < weight || left[k] == 0 {
					continue
				}
				if best < 0 || longest || inst.price[k]*int64(inst.capacity[best]) <= inst.price[best]*int64(capacity) {
					best = k
				}
			}
			if best < 0 {
				return nil, false
			}
			if left[best] != Unlimited {
				left[best]--
			}
			boards = append(boards, open{run{stock: best, times: 1}, inst.capacity[best]})
			place(&boards[len(boards)-1])
		}
	}
	runs := make([]run, len(boards))
	for b := range boards {
		runs[b] = boards[b].run
	}
	return runs, true
}
