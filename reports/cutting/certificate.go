package cutting

import (
	"math/bits"
	"slices"
)

// certificate proves a bound. Scale units of worth are one unit of price. Whatever parts a
// board of stock k holds are worth no more than scale × price[k] + rent[k], in whole
// numbers; rent is 0 where boards are without limit. Hence any way of cutting parts costs
// at least their worth less the rent of all boards at hand: the dual of the linear program
// of Gilmore and Gomory (1961), with the scaling of duals by Farley (1990) and the limits
// of boards as further duals. (Both from memory.)
type certificate struct {
	inst  *instance
	scale int64
	worth []int64
	rent  []int64
}

// scaleFor makes the dearest board worth about 2^36.
func scaleFor(inst *instance) int64 {
	return max(1, (1<<36)/slices.Max(inst.price))
}

// lower is what cutting counts parts costs at least when left boards are at hand, in
// scaled units. It may be less than nothing.
func (c *certificate) lower(counts, left []int) int64 {
	var sum int64
	for i, count := range counts {
		sum += c.worth[i] * int64(count)
	}
	for k, boards := range left {
		if c.rent[k] > 0 {
			sum -= c.rent[k] * int64(boards)
		}
	}
	return sum
}

// bound is the least cost on the grid of prices that lower does not forbid.
func (c *certificate) bound() int64 {
	return c.inst.onGrid(max(0, c.lower(c.inst.demand, c.inst.limit)), c.scale)
}

// onGrid rounds a scaled figure up to a multiple of the grid.
func (inst *instance) onGrid(scaled, scale int64) int64 {
	unit := scale * inst.grid
	return (scaled + unit - 1) / unit * inst.grid
}

// materialCertificate needs no search: each part is worth its weight, at the price per
// weight of the cheapest board. Where that board is limited, it stays a bound.
func materialCertificate(inst *instance) certificate {
	scale := scaleFor(inst)
	cheapest := 0
	for k := range inst.price {
		if inst.price[k]*int64(inst.capacity[cheapest]) < inst.price[cheapest]*int64(inst.capacity[k]) {
			cheapest = k
		}
	}
	c := certificate{inst: inst, scale: scale, worth: make([]int64, len(inst.weight)), rent: make([]int64, len(inst.price))}
	for i, weight := range inst.weight {
		c.worth[i], _ = scaled(int64(weight), scale*inst.price[cheapest], int64(inst.capacity[cheapest]))
	}
	return c
}

// scaled is value × numerator ÷ denominator, rounded down; false when it is beyond what a
// certificate may hold.
func scaled(value, numerator, denominator int64) (int64, bool) {
	high, low := bits.Mul64(uint64(value), uint64(numerator))
	if high >= uint64(denominator) {
		return 0, false
	}
	quotient, _ := bits.Div64(high, low, uint64(denominator))
	return int64(quotient), quotient <= largestWorth
}

// certify makes a certificate of any values of parts, once it is known how much a board of
// each stock holds of them at most. The values are scaled by one ratio: one of those at
// which a stock is worth exactly its price, since between them the bound is linear. False
// when none of them proves anything.
func certify(inst *instance, scale int64, worth, most []int64) (certificate, bool) {
	total := 0.0
	for i, value := range worth {
		total += float64(float64(value) * float64(inst.demand[i]))
	}
	best, bestValue := -1, 0.0
	for k := range most {
		if most[k] <= 0 {
			continue
		}
		ratio := float64(scale*inst.price[k]) / float64(most[k])
		value := float64(total * ratio)
		for j := range most {
			over := float64(float64(most[j])*ratio) - float64(scale*inst.price[j])
			if j == k || over <= 0 {
				continue
			}
			if inst.limit[j] != Unlimited {
				value -= float64(over * float64(inst.limit[j]))
			} else if over > 1 {
				value = 0
			}
		}
		if value > bestValue {
			best, bestValue = k, value
		}
	}
	if best < 0 {
		return certificate{}, false
	}
	// From here on nothing is taken from floating point.
	numerator, denominator := scale*inst.price[best], most[best]
	for j := range most {
		// Of stock without limit the tightest ratio counts exactly: a/b < c/d.
		if inst.limit[j] == Unlimited && most[j] > 0 && lessRatio(scale*inst.price[j], most[j], numerator, denominator) {
			numerator, denominator = scale*inst.price[j], most[j]
		}
	}
	c := certificate{inst: inst, scale: scale, worth: make([]int64, len(worth)), rent: make([]int64, len(most))}
	for i, value := range worth {
		var fits bool
		if c.worth[i], fits = scaled(value, numerator, denominator); !fits {
			return certificate{}, false
		}
	}
	for k, value := range most {
		if inst.limit[k] == Unlimited {
			continue
		}
		held, fits := scaled(max(value, 0), numerator, denominator)
		if !fits {
			return certificate{}, false
		}
		c.rent[k] = max(0, held-scale*inst.price[k])
	}
	return c, true
}

// lessRatio compares a/b with c/d; all positive.
func lessRatio(a, b, c, d int64) bool {
	leftHigh, leftLow := bits.Mul64(uint64(a), uint64(d))
	rightHigh, rightLow := bits.Mul64(uint64(c), uint64(b))
	return leftHigh < rightHigh || leftHigh == rightHigh && leftLow < rightLow
}
