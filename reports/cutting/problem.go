package cutting

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Unlimited, as Stock.Boards, says that as many boards can be had as are wanted.
const Unlimited = -1

// The largest figures that a problem may have. Within them no sum of the solver leaves 64
// bits.
const (
	// MaximumLength is the longest board, in 64ths of an inch: 1,365 feet.
	MaximumLength = 1 << 20
	// MaximumPrice is the dearest board, in ten-thousandths of a dollar: 6.8 million dollars.
	MaximumPrice = 1 << 36
	// MaximumParts is the number of parts of one problem.
	MaximumParts = 1 << 20
)

// ErrInvalid is wrapped by every error about figures that no problem may have.
var ErrInvalid = errors.New("not a cutting problem")

// Part is a number of parts of one length.
type Part struct {
	// Length in 64ths of an inch, at least 1.
	Length int64
	// Count of parts, at least 0.
	Count int
}

// Stock is a board that can be had.
type Stock struct {
	// Length in 64ths of an inch, 1 to MaximumLength.
	Length int64
	// Price of one board in ten-thousandths of a dollar, 1 to MaximumPrice. A caller that
	// wants something else to be least may count in another whole unit: see
	// Problem.LeastWood and Problem.LeastBoards.
	Price int64
	// Boards at hand, or Unlimited. With 0 the board is not used.
	Boards int
}

// Problem is the parts of one item (one size, species and grade) and the boards they may
// be cut from. A board holds parts whose lengths, with one kerf each, come to no more than
// the board's length less the trim. The order of parts and of stock is of no matter; the
// same length may stand several times.
type Problem struct {
	Parts []Part
	Stock []Stock
	// Kerf in 64ths of an inch, at least 0: taken once with every part, the last one of a
	// board too.
	Kerf int64
	// Trim in 64ths of an inch, at least 0: taken once off every board.
	Trim int64
}

// LeastWood is the same problem with the length of a board as its price: its plan takes
// the least length of boards, hence, within one item, the least board feet. Costs are then
// in 64ths of an inch.
func (p Problem) LeastWood() Problem {
	return p.priced(func(stock Stock) int64 { return stock.Length })
}

// LeastBoards is the same problem with a price of 1 for every board: its plan takes the
// fewest boards, whatever their lengths. Costs are then in boards.
func (p Problem) LeastBoards() Problem {
	return p.priced(func(Stock) int64 { return 1 })
}

func (p Problem) priced(price func(Stock) int64) Problem {
	stock := slices.Clone(p.Stock)
	for k := range stock {
		stock[k].Price = price(stock[k])
	}
	p.Stock = stock
	return p
}

// Check says what is wrong with the figures of p; the error wraps ErrInvalid. A part that
// fits no board is not wrong: see Solution.TooLong.
func (p Problem) Check() error {
	if p.Kerf < 0 || p.Kerf > MaximumLength {
		return fmt.Errorf("%w: kerf %d", ErrInvalid, p.Kerf)
	}
	if p.Trim < 0 || p.Trim > MaximumLength {
		return fmt.Errorf("%w: trim %d", ErrInvalid, p.Trim)
	}
	total := 0
	for _, part := range p.Parts {
		if part.Length < 1 {
			return fmt.Errorf("%w: part of length %d", ErrInvalid, part.Length)
		}
		if part.Count < 0 || part.Count > MaximumParts-total {
			return fmt.Errorf("%w: %d parts of length %d (%d parts in all at most)",
				ErrInvalid, part.Count, part.Length, MaximumParts)
		}
		total += part.Count
	}
	for _, stock := range p.Stock {
		if stock.Length < 1 || stock.Length > MaximumLength {
			return fmt.Errorf("%w: board of length %d", ErrInvalid, stock.Length)
		}
		if stock.Price < 1 || stock.Price > MaximumPrice {
			return fmt.Errorf("%w: board of length %d at price %d", ErrInvalid, stock.Length, stock.Price)
		}
		if stock.Boards < Unlimited {
			return fmt.Errorf("%w: %d boards of length %d", ErrInvalid, stock.Boards, stock.Length)
		}
	}
	return nil
}

// solverEdition is part of every key: raised when a solution of the same problem may
// change, so that kept solutions fall out of use.
const solverEdition = 2

// Key is the SHA-256 of the problem's canonical text, in hexadecimal: equal for problems
// that differ only in order, in parts of count 0, or in equal lengths that stand several
// times. A solution may be kept under it; whoever solves with several limits of steps must
// put the limit beside it.
func (p Problem) Key() string { return p.keyOf("cutting") }

// BoundKey is the key of what SolveBound gives: its plan is no plan of Solve's.
func (p Problem) BoundKey() string { return p.keyOf("cutting bound") }

func (p Problem) keyOf(what string) string {
	var text strings.Builder
	fmt.Fprintf(&text, "%s %d\nkerf %d\ntrim %d\n", what, solverEdition, p.Kerf, p.Trim)
	for _, part := range mergedParts(p.Parts) {
		fmt.Fprintf(&text, "part %d %d\n", part.Length, part.Count)
	}
	for _, stock := range mergedStock(p.Stock) {
		fmt.Fprintf(&text, "stock %d %d %d\n", stock.Length, stock.Price, stock.Boards)
	}
	sum := sha256.Sum256([]byte(text.String()))
	return hex.EncodeToString(sum[:])
}

// mergedParts is one entry a length, longest first, none of count 0.
func mergedParts(parts []Part) []Part {
	sorted := slices.Clone(parts)
	slices.SortFunc(sorted, func(a, b Part) int { return cmp.Compare(b.Length, a.Length) })
	merged := sorted[:0]
	for _, part := range sorted {
		switch last := len(merged) - 1; {
		case part.Count == 0:
		case last >= 0 && merged[last].Length == part.Length:
			merged[last].Count += part.Count
		default:
			merged = append(merged, part)
		}
	}
	return merged
}

// mergedStock is one entry a length and price, shortest and cheapest first, none of 0
// boards.
func mergedStock(stock []Stock) []Stock {
	sorted := slices.Clone(stock)
	slices.SortFunc(sorted, func(a, b Stock) int {
		return cmp.Or(cmp.Compare(a.Length, b.Length), cmp.Compare(a.Price, b.Price))
	})
	merged := sorted[:0]
	for _, board := range sorted {
		last := len(merged) - 1
		switch {
		case board.Boards == 0:
		case last >= 0 && merged[last].Length == board.Length && merged[last].Price == board.Price:
			if merged[last].Boards == Unlimited || board.Boards == Unlimited {
				merged[last].Boards = Unlimited
			} else {
				// No plan takes more boards than there are parts.
				merged[last].Boards = min(merged[last].Boards, MaximumParts) + min(board.Boards, MaximumParts)
			}
		default:
			merged = append(merged, board)
		}
	}
	return merged
}
