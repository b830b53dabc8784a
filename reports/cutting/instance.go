package cutting

import "slices"

// instance is a problem made ready: one entry a length, kerf and trim taken in, lengths
// divided by what they have in common, parts that fit nothing and boards that are never
// worth taking left out.
type instance struct {
	length []int64 // of parts, longest first
	weight []int   // of parts: length and kerf, in the instance's own unit
	demand []int
	board  []Stock // what each stock is to the caller, shortest first
	// capacity of boards, in the unit of weight.
	capacity []int
	price    []int64
	limit    []int // boards at hand or Unlimited
	grid     int64 // greatest common divisor of prices: every cost is a multiple
	parts    int
}

func newInstance(p Problem) (inst *instance, tooLong []Part) {
	inst = &instance{}
	parts := mergedParts(p.Parts)
	stock := mergedStock(p.Stock)
	room := int64(-1)
	for _, board := range stock {
		room = max(room, board.Length-p.Trim)
	}
	var unit int64
	for _, part := range parts {
		if part.Length > room-p.Kerf {
			tooLong = append(tooLong, part)
			continue
		}
		inst.length = append(inst.length, part.Length)
		inst.demand = append(inst.demand, part.Count)
		inst.parts += part.Count
		unit = greatestCommonDivisor(unit, part.Length+p.Kerf)
	}
	if inst.parts == 0 {
		return inst, tooLong
	}
	for _, length := range inst.length {
		inst.weight = append(inst.weight, int((length+p.Kerf)/unit))
	}
	lightest := inst.weight[len(inst.weight)-1]
	for k, board := range stock {
		capacity := int((board.Length - p.Trim) / unit)
		if board.Length <= p.Trim || capacity < lightest || dominated(stock, k, p.Trim, unit) {
			continue
		}
		inst.board = append(inst.board, board)
		inst.capacity = append(inst.capacity, capacity)
		inst.price = append(inst.price, board.Price)
		limit := board.Boards
		if limit != Unlimited {
			limit = min(limit, inst.parts)
		}
		if limit == inst.parts {
			limit = Unlimited // no plan takes more boards than there are parts
		}
		inst.limit = append(inst.limit, limit)
		inst.grid = greatestCommonDivisor(inst.grid, board.Price)
	}
	return inst, tooLong
}

// tooLittleWood says that all boards at hand together are shorter than the parts.
func (inst *instance) tooLittleWood() bool {
	var wood int64
	for k, limit := range inst.limit {
		if limit == Unlimited {
			return false
		}
		wood += int64(limit) * int64(inst.capacity[k])
	}
	for i, demand := range inst.demand {
		wood -= int64(demand) * int64(inst.weight[i])
	}
	return wood < 0
}

// dominated says that another board, to be had without limit, holds as much and costs no
// more.
func dominated(stock []Stock, k int, trim, unit int64) bool {
	for j, other := range stock {
		if j == k || other.Boards != Unlimited || other.Length <= trim || other.Price > stock[k].Price {
			continue
		}
		mine, its := (stock[k].Length-trim)/unit, (other.Length-trim)/unit
		if its < mine {
			continue
		}
		if its > mine || other.Price < stock[k].Price || stock[k].Boards != Unlimited || j < k {
			return true
		}
	}
	return false
}

func greatestCommonDivisor(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// run is one way of filling a board, times over. Items are indexes of parts in ascending
// order, one entry a part.
type run struct {
	stock int
	times int
	items []int32
}

func (inst *instance) cost(runs []run) int64 {
	var cost int64
	for _, run := range runs {
		cost += inst.price[run.stock] * int64(run.times)
	}
	return cost
}

// downsized moves each board to the cheapest stock that holds its parts, as far as boards
// at hand allow, and joins equal runs.
func (inst *instance) downsized(runs []run) []run {
	left := inst.boardsLeft(runs)
	var result []run
	for _, r := range runs {
		used := 0
		for _, item := range r.items {
			used += inst.weight[item]
		}
		for r.times > 0 {
			best := r.stock
			for k, capacity := range inst.capacity {
				if capacity >= used && inst.price[k] < inst.price[best] && left[k] != 0 {
					best = k
				}
			}
			times := r.times
			if best != r.stock {
				if left[best] != Unlimited {
					times = min(times, left[best])
					left[best] -= times
				}
				if left[r.stock] != Unlimited {
					left[r.stock] += times
				}
			}
			result = append(result, run{best, times, r.items})
			r.times -= times
		}
	}
	return joined(result)
}

func joined(runs []run) []run {
	slices.SortFunc(runs, func(a, b run) int {
		if a.stock != b.stock {
			return b.stock - a.stock
		}
		return slices.Compare(a.items, b.items)
	})
	result := runs[:0]
	for _, r := range runs {
		if last := len(result) - 1; last >= 0 && result[last].stock == r.stock && slices.Equal(result[last].items, r.items) {
			result[last].times += r.times
		} else {
			result = append(result, r)
		}
	}
	return result
}

// boardsLeft is the limits less what runs take.
func (inst *instance) boardsLeft(runs []run) []int {
	left := slices.Clone(inst.limit)
	for _, r := range runs {
		if left[r.stock] != Unlimited {
			left[r.stock] -= r.times
		}
	}
	return left
}

// plan says runs in the caller's figures.
func (inst *instance) plan(runs []run) Plan {
	plan := Plan{Cost: inst.cost(runs)}
	for _, r := range joined(slices.Clone(runs)) {
		board := inst.board[r.stock]
		cut := Cut{Length: board.Length, Price: board.Price, Times: r.times}
		for _, item := range r.items {
			if last := len(cut.Parts) - 1; last >= 0 && cut.Parts[last].Length == inst.length[item] {
				cut.Parts[last].Count++
			} else {
				cut.Parts = append(cut.Parts, Part{Length: inst.length[item], Count: 1})
			}
		}
		plan.Cuts = append(plan.Cuts, cut)
	}
	return plan
}
