package cutting

import (
	"errors"
	"fmt"
)

// Cut is one board cut a number of times in the same way.
type Cut struct {
	// Length and Price are those of the stock.
	Length, Price int64
	// Times is the number of boards, at least 1.
	Times int
	// Parts of one board, longest first, one entry a length; never empty.
	Parts []Part
}

// Plan is what to cut.
type Plan struct {
	// Cost is the sum of the prices of all boards, in the unit of the prices.
	Cost int64
	// Cuts in order of board length, longest first, then of parts.
	Cuts []Cut
}

// Boards is the number of boards that the plan takes.
func (plan Plan) Boards() int {
	boards := 0
	for _, cut := range plan.Cuts {
		boards += cut.Times
	}
	return boards
}

// Solution of a problem.
type Solution struct {
	// Bound is proven: no way of cutting the parts costs less, in the unit of the prices.
	// Parts that are too long are left out of it. Boards at hand are counted: where they are
	// few, the bound says so.
	Bound int64
	// Plan costs Bound or more, and cuts every part that is not too long.
	Plan Plan
	// TooLong are the parts that fit no board at hand, even alone, longest first.
	TooLong []Part
	// Steps is the work it took, in the solver's own steps; equal on every machine.
	Steps int64
}

// Proven says that the plan is the cheapest there is.
func (s Solution) Proven() bool { return s.Plan.Cost == s.Bound }

// Split is what becomes of the wood of a plan, in 64ths of an inch: Stock is the sum of
// the others.
type Split struct {
	Stock, Parts, Kerf, Trim, Drop int64
}

// Split says what becomes of the wood when plan is cut with the kerf and the trim of p.
func (p Problem) Split(plan Plan) Split {
	var split Split
	for _, cut := range plan.Cuts {
		times := int64(cut.Times)
		split.Stock += cut.Length * times
		split.Trim += p.Trim * times
		for _, part := range cut.Parts {
			split.Parts += part.Length * int64(part.Count) * times
			split.Kerf += p.Kerf * int64(part.Count) * times
		}
	}
	split.Drop = split.Stock - split.Parts - split.Kerf - split.Trim
	return split
}

// ErrWrongSolution is wrapped by every error of Verify.
var ErrWrongSolution = errors.New("not a solution of the problem")

// Verify holds a solution against the problem by counting anew, with nothing of the
// solver's: every part is cut exactly as often as it is wanted or listed as too long, a
// part that is listed fits no board, no board holds more than its length less trim and
// kerfs, no more boards are taken than are at hand, the cost adds up, and the bound is not
// above it. It does not prove the bound. The error wraps ErrWrongSolution.
func (p Problem) Verify(s Solution) error {
	wrong := func(format string, arguments ...any) error {
		return fmt.Errorf("%w: %s", ErrWrongSolution, fmt.Sprintf(format, arguments...))
	}
	wanted := map[int64]int{}
	for _, part := range p.Parts {
		wanted[part.Length] += part.Count
	}
	type kind struct{ length, price int64 }
	atHand := map[kind]int{}
	unlimited := map[kind]bool{}
	longest := int64(-1)
	for _, stock := range p.Stock {
		if stock.Boards == 0 {
			continue
		}
		longest = max(longest, stock.Length)
		if stock.Boards == Unlimited {
			unlimited[kind{stock.Length, stock.Price}] = true
		} else {
			atHand[kind{stock.Length, stock.Price}] += stock.Boards
		}
	}
	var cost int64
	for _, cut := range s.Plan.Cuts {
		board := kind{cut.Length, cut.Price}
		if cut.Times < 1 || len(cut.Parts) == 0 {
			return wrong("%d boards of length %d with %d kinds of parts", cut.Times, cut.Length, len(cut.Parts))
		}
		if _, known := atHand[board]; !known && !unlimited[board] {
			return wrong("no board of length %d at price %d", cut.Length, cut.Price)
		}
		atHand[board] -= cut.Times
		if atHand[board] < 0 && !unlimited[board] {
			return wrong("%d boards too many of length %d at price %d", -atHand[board], cut.Length, cut.Price)
		}
		used := p.Trim
		for _, part := range cut.Parts {
			if part.Count < 1 || part.Length > cut.Length {
				return wrong("%d parts of length %d on a board of length %d", part.Count, part.Length, cut.Length)
			}
			used += (part.Length + p.Kerf) * int64(part.Count)
			wanted[part.Length] -= part.Count * cut.Times
			if wanted[part.Length] < 0 {
				return wrong("%d parts too many of length %d", -wanted[part.Length], part.Length)
			}
		}
		if used > cut.Length {
			return wrong("a board of length %d holds %d", cut.Length, used)
		}
		cost += cut.Price * int64(cut.Times)
	}
	for _, part := range s.TooLong {
		if part.Length <= longest-p.Trim-p.Kerf {
			return wrong("length %d is not too long", part.Length)
		}
		wanted[part.Length] -= part.Count
	}
	for _, part := range p.Parts {
		if wanted[part.Length] != 0 {
			return wrong("%d parts missing of length %d", wanted[part.Length], part.Length)
		}
	}
	if cost != s.Plan.Cost {
		return wrong("boards cost %d, not %d", cost, s.Plan.Cost)
	}
	if s.Bound > cost {
		return wrong("the bound %d is above the cost %d", s.Bound, cost)
	}
	return nil
}
