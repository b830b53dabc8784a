package cutting

import (
	"math"
	"slices"
)

// filler finds the parts that are worth most on one board of each stock: a knapsack with
// a number of copies of each part, for all capacities at once. Everything is whole
// numbers, hence exact.
type filler struct {
	inst *instance
	work *work

	// One entry for each part that may be used, by worth per weight, the best first.
	item     []int32
	weight   []int
	worth    []int64
	density  []int64 // worth per weight, rounded up
	copies   []int
	byItem   []int64 // density of parts
	lightest []int   // of this and all later entries

	capacity []int
	best     []int64   // for each stock: a pattern has to be worth more
	found    [][]int32 // for each stock: the parts of the best pattern, nil if none is worth more
	stack    []int32
	nodes    int64

	// Of tabulate and trace.
	most        []int64
	least, goal int64
	traced      []int32
}

// newFiller prepares the search. Worth is at most largestWorth.
func newFiller(inst *instance, work *work) *filler {
	stock := len(inst.capacity)
	return &filler{inst: inst, work: work, best: make([]int64, stock), found: make([][]int32, stock)}
}

const (
	// largestWorth of one part. With weights of at least 1 and capacities of at most
	// MaximumLength, whatever a board holds stays within 61 bits.
	largestWorth = 1 << 41
	// shut is the worth that no board reaches: that stock is left out.
	shut = math.MaxInt64
)

// load sets the parts: worth of each, and how many copies there are.
func (f *filler) load(worth []int64, copies []int) {
	f.item = f.item[:0]
	for i := range worth {
		if worth[i] > 0 && copies[i] > 0 {
			f.item = append(f.item, int32(i))
		}
	}
	weight := f.inst.weight
	n := len(f.item)
	f.weight, f.copies, f.lightest = resized(f.weight, n), resized(f.copies, n), resized(f.lightest, n+1)
	f.worth, f.density = resized(f.worth, n), resized(f.density, n)
	f.byItem = resized(f.byItem, len(worth))
	for _, item := range f.item {
		w := int64(weight[item])
		f.byItem[item] = (worth[item] + w - 1) / w
	}
	slices.SortFunc(f.item, func(a, b int32) int {
		if x, y := f.byItem[a], f.byItem[b]; x != y {
			if x > y {
				return -1
			}
			return 1
		}
		return int(a - b)
	})
	f.lightest[n] = math.MaxInt
	for j := n - 1; j >= 0; j-- {
		item := f.item[j]
		f.weight[j], f.worth[j], f.density[j], f.copies[j] = weight[item], worth[item], f.byItem[item], copies[item]
		f.lightest[j] = min(f.lightest[j+1], f.weight[j])
	}
}

func resized[T any](values []T, n int) []T {
	if cap(values) < n {
		return make([]T, n, n+n/2)
	}
	return values[:n]
}

// fill looks for the best pattern of each stock, by depth first, over at most nodes nodes.
// f.best has to be set: only patterns worth more are found, and afterwards it is the worth
// of the best. True when the search was complete: then nothing is worth more than f.best.
func (f *filler) fill(capacity []int, nodes int64) bool {
	f.capacity = capacity
	for k := range f.found {
		f.found[k] = nil
	}
	f.stack = f.stack[:0]
	f.nodes = nodes
	f.deepen(0, 0, 0, 0)
	f.work.spend(nodes - max(f.nodes, 0))
	return f.nodes > 0
}

// deepen adds parts from entry j on to a board that already holds weight used. Stock below
// k is too short for what it holds.
func (f *filler) deepen(j, used int, worth int64, k int) {
	f.nodes--
	for k < len(f.capacity) && f.capacity[k] < used {
		k++
	}
	for s := k; s < len(f.capacity); s++ {
		if worth > f.best[s] {
			f.best[s] = worth
			f.found[s] = append(f.found[s][:0], f.stack...)
		}
	}
	room := f.capacity[len(f.capacity)-1] - used
	depth := len(f.stack)
	hope := k // the first stock that may still be filled better
	for ; j < len(f.weight) && f.lightest[j] <= room && f.nodes > 0; j++ {
		// Later entries are worth less per weight: a stock without hope stays so.
		for hope < len(f.capacity) &&
			(f.best[hope] == shut || worth+f.density[j]*int64(f.capacity[hope]-used) <= f.best[hope]) {
			hope++
		}
		if hope == len(f.capacity) {
			break
		}
		if f.weight[j] > room || f.copies[j] == 0 {
			continue
		}
		f.copies[j]--
		f.stack = append(f.stack, f.item[j])
		f.deepen(j, used+f.weight[j], worth+f.worth[j], k)
		f.stack = f.stack[:depth]
		f.copies[j]++
	}
}

// tabulate sets most: at each capacity, what the parts loaded are worth at most. It takes
// as long as the boards and the parts are many, and is never in vain: it is used where
// fill gives up.
func (f *filler) tabulate(room int) {
	f.most = resized(f.most, room+1)
	clear(f.most)
	for j := range f.weight {
		copies := min(f.copies[j], room/f.weight[j])
		for bundle := 1; copies > 0; bundle *= 2 {
			bundle = min(bundle, copies)
			copies -= bundle
			weight, worth := bundle*f.weight[j], int64(bundle)*f.worth[j]
			to := f.most[weight:]
			from := f.most[:len(to)]
			for c := len(to) - 1; c >= 0; c-- {
				to[c] = max(to[c], from[c]+worth)
			}
			f.work.spend(int64(len(to)) / 4)
		}
	}
}

// trace looks for one pattern of that capacity, with entry first on it if that is not
// negative, worth more than least, the best if it can: guided by the table, over at most
// nodes nodes. Nil when it finds none.
func (f *filler) trace(capacity, first int, least, nodes int64) []int32 {
	var worth int64
	f.stack = f.stack[:0]
	if first >= 0 {
		capacity -= f.weight[first]
		if capacity < 0 || f.worth[first]+f.most[capacity] <= least {
			return nil
		}
		worth = f.worth[first]
		f.stack = append(f.stack, f.item[first])
		f.copies[first]--
		defer func() { f.copies[first]++ }()
	}
	f.nodes, f.least, f.traced = nodes, least, nil
	f.goal = worth + f.most[capacity]
	f.follow(0, capacity, worth)
	f.work.spend((nodes - max(f.nodes, 0)) * 4)
	return f.traced
}

// mostOver is the stock on which, by the table, a pattern with entry first on it can be worth
// most more than threshold; -1 where there is none.
func (f *filler) mostOver(first int, threshold []int64) int {
	best, most := -1, int64(0)
	for k, capacity := range f.inst.capacity {
		if rest := capacity - f.weight[first]; rest >= 0 {
			if over := f.worth[first] + f.most[rest] - threshold[k]; over > most {
				best, most = k, over
			}
		}
	}
	return best
}

func (f *filler) follow(j, room int, worth int64) {
	f.nodes--
	if worth > f.least {
		f.least = worth
		f.traced = slices.Clone(f.stack)
	}
	depth := len(f.stack)
	for ; j < len(f.weight) && f.lightest[j] <= room && f.nodes > 0 && f.least < f.goal; j++ {
		if worth+f.density[j]*int64(room) <= f.least {
			break
		}
		rest := room - f.weight[j]
		if rest < 0 || f.copies[j] == 0 || worth+f.worth[j]+f.most[rest] <= f.least {
			continue
		}
		f.copies[j]--
		f.stack = append(f.stack, f.item[j])
		f.follow(j, rest, worth+f.worth[j])
		f.stack = f.stack[:depth]
		f.copies[j]++
	}
}
