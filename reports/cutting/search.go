package cutting

import (
	"encoding/binary"
	"slices"
)

// search cuts parts in every way that could cost less than a plan at hand: branch and
// bound, complete unless it says otherwise.
//
// The longest part left lies on some board; all ways of filling that board are tried that
// leave no room for another part (moving a part there from a later board costs nothing).
// A certificate says what the rest costs at least, and so how much worth a board may leave
// unused.
type search struct {
	inst     *instance
	work     *work
	proof    *certificate
	residual []int
	left     []int
	best     int64 // a plan must cost less
	nodes    int64 // how many more may be visited
	complete bool

	boards []choice
	found  []choice // the cheapest plan, nil if none is cheaper
	seen   map[string]int64
	key    []byte

	// Of the enumeration of one board.
	active   []int32
	density  []int64 // most worth per weight of this and later active parts
	capacity int
	stock    int
	need     int64
	base     int64
	stack    []int32
	choices  []choice
}

type choice struct {
	stock int
	slack int64 // worth the board could hold more
	items []int32
}

const (
	choicesAtMost  = 4000
	rememberedMost = 200_000
)

// newSearch looks for plans of residual that cost less than best.
func newSearch(inst *instance, work *work, proof *certificate, residual, left []int, best, nodes int64) *search {
	return &search{inst: inst, work: work, proof: proof, residual: slices.Clone(residual), left: slices.Clone(left),
		best: best, nodes: nodes, complete: true, seen: map[string]int64{}}
}

// run is true when nothing is left untried: then found is the cheapest plan, or none costs
// less than the plan at hand.
func (s *search) run() bool {
	s.descend(0)
	return s.complete
}

func (s *search) spend() bool {
	if s.nodes--; s.nodes < 0 || !s.work.spend(1) {
		s.complete = false
		return false
	}
	return true
}

// slack is how much worth may still be left unused by boards, when cost is spent.
func (s *search) slack(cost int64) int64 {
	return (s.best-s.inst.grid-cost)*s.proof.scale - s.proof.lower(s.residual, s.left)
}

func (s *search) descend(cost int64) {
	if !s.spend() {
		return
	}
	first := 0
	for first < len(s.residual) && s.residual[first] == 0 {
		first++
	}
	if first == len(s.residual) {
		if cost < s.best {
			s.best = cost
			s.found = slices.Clone(s.boards)
		}
		return
	}
	slack := s.slack(cost)
	if slack < 0 {
		return
	}
	s.key = s.key[:0]
	for _, count := range s.residual {
		s.key = binary.AppendUvarint(s.key, uint64(count))
	}
	for k, boards := range s.left {
		if s.inst.limit[k] != Unlimited {
			s.key = binary.AppendUvarint(s.key, uint64(boards))
		}
	}
	if before, known := s.seen[string(s.key)]; known && before <= cost {
		return
	}
	if len(s.seen) < rememberedMost {
		s.seen[string(s.key)] = cost
	}
	choices := s.fillings(first, slack)
	for _, c := range choices {
		if !s.complete && s.nodes < 0 {
			return
		}
		if c.slack > s.slack(cost) {
			break
		}
		for _, item := range c.items {
			s.residual[item]--
		}
		if s.left[c.stock] != Unlimited {
			s.left[c.stock]--
		}
		s.boards = append(s.boards, c)
		s.descend(cost + s.inst.price[c.stock])
		s.boards = s.boards[:len(s.boards)-1]
		if s.left[c.stock] != Unlimited {
			s.left[c.stock]++
		}
		for _, item := range c.items {
			s.residual[item]++
		}
	}
}

// fillings are all boards with the part first on them that leave no room for another and
// no more worth unused than slack, the best first.
func (s *search) fillings(first int, slack int64) []choice {
	s.residual[first]--
	defer func() { s.residual[first]++ }()
	s.active, s.choices = s.active[:0], nil
	for i := first; i < len(s.residual); i++ {
		if s.residual[i] > 0 {
			s.active = append(s.active, int32(i))
		}
	}
	s.density = resized(s.density, len(s.active)+1)
	s.density[len(s.active)] = 0
	for at := len(s.active) - 1; at >= 0; at-- {
		weight := int64(s.inst.weight[s.active[at]])
		s.density[at] = max(s.density[at+1], (s.proof.worth[s.active[at]]+weight-1)/weight)
	}
	for k, capacity := range s.inst.capacity {
		if s.left[k] == 0 || capacity < s.inst.weight[first] {
			continue
		}
		s.stock, s.capacity = k, capacity
		s.base = s.proof.scale*s.inst.price[k] + s.proof.rent[k]
		s.need = s.base - slack
		s.stack = append(s.stack[:0], int32(first))
		s.enumerate(0, s.inst.weight[first], s.proof.worth[first], capacity+1)
	}
	slices.SortStableFunc(s.choices, func(a, b choice) int {
		switch {
		case a.slack < b.slack:
			return -1
		case a.slack > b.slack:
			return 1
		}
		return 0
	})
	return s.choices
}

// enumerate goes on from the active part at; passed is the lightest part that was passed
// over though there was one more of it, so that the room left must become less than that.
func (s *search) enumerate(at, used int, worth int64, passed int) {
	if !s.spend() {
		return
	}
	room := s.capacity - used
	if worth+s.density[at]*int64(room) < s.need {
		return
	}
	if at == len(s.active) {
		if room >= passed {
			return
		}
		if len(s.choices) == choicesAtMost {
			s.complete = false
			return
		}
		s.choices = append(s.choices, choice{s.stock, s.base - worth, slices.Clone(s.stack)})
		return
	}
	item := s.active[at]
	weight := s.inst.weight[item]
	most := min(s.residual[item], room/weight)
	depth := len(s.stack)
	for count := most; count >= 0 && s.nodes >= 0; count-- {
		s.nodes -= int64(count / 16)
		s.stack = s.stack[:depth]
		for range count {
			s.stack = append(s.stack, item)
		}
		then := passed
		if count < s.residual[item] {
			then = weight // later parts are lighter
		}
		s.enumerate(at+1, used+count*weight, worth+int64(count)*s.proof.worth[item], then)
	}
	s.stack = s.stack[:depth]
}
