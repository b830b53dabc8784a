package compare

import (
	"math"
	"math/big"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// exactPairs is up to how many pairs the rank test counts exactly; beyond, and with ties,
// the normal approximation is used, which is then as good.
const exactPairs = 2500

// RankTest is the two-sample rank test of Wilcoxon, with the shift of Hodges and Lehmann.
type RankTest struct {
	// W counts the pairs in which the first sample's value is larger, a tie as half.
	W float64
	// PGreater is the probability of such a W or a larger one where there is no shift; P
	// that of both sides.
	PGreater, P float64
	// Shift is the median of all differences, first less second.
	Shift      float64
	Interval95 Interval
	// Exact says that the probabilities and the interval are counted, not approximated.
	Exact bool
	// Enough is false with an empty sample, or where no interval of 95 % is to be had.
	Enough bool
}

// Ranks compares two samples by rank (Hollander and Wolfe, Nonparametric Statistical
// Methods, chapter 4).
func Ranks(first, second []float64) RankTest {
	test := RankTest{W: math.NaN(), PGreater: math.NaN(), P: math.NaN(), Shift: math.NaN(), Interval95: noInterval()}
	pairs := len(first) * len(second)
	if pairs == 0 {
		return test
	}
	differences := make([]float64, 0, pairs)
	test.W = 0
	ties := false
	for _, one := range first {
		for _, other := range second {
			differences = append(differences, one-other)
			switch {
			case one > other:
				test.W++
			case one == other:
				test.W += 0.5
				ties = true
			}
		}
	}
	slices.Sort(differences)
	test.Shift = (differences[(pairs-1)/2] + differences[pairs/2]) / 2
	test.Exact = !ties && pairs <= exactPairs
	var step int
	if test.Exact {
		step = test.count(len(first), len(second))
	} else {
		step = test.approximate(first, second)
	}
	if step >= 1 && step <= (pairs+1)/2 {
		test.Interval95 = Interval{Low: differences[step-1], High: differences[pairs-step]}
		test.Enough = true
	}
	return test
}

// count fills the exact probabilities, and gives the place in the sorted differences at
// which the interval ends: the largest whose tail outside is at most 2.5 %.
func (test *RankTest) count(first, second int) int {
	ways := rankWays(first, second)
	total := new(big.Int)
	for _, way := range ways {
		total.Add(total, way)
	}
	share := func(part *big.Int) float64 {
		quotient, _ := new(big.Rat).SetFrac(part, total).Float64()
		return quotient
	}
	below, above := new(big.Int), new(big.Int)
	w := int(test.W)
	for value, way := range ways {
		if value <= w {
			below.Add(below, way)
		}
		if value >= w {
			above.Add(above, way)
		}
	}
	test.PGreater = share(above)
	test.P = min(1, 2*min(share(below), test.PGreater))
	step := 0
	tail := new(big.Int)
	for _, way := range ways {
		tail.Add(tail, way)
		if share(tail) > 0.025 {
			break
		}
		step++
	}
	return step
}

// rankWays counts the arrangements of two samples by their W: the coefficients of the
// Gaussian binomial, (1-q^(n+1))...(1-q^(n+m)) / (1-q)...(1-q^m).
func rankWays(first, second int) []*big.Int {
	size := first*second + 1
	ways := make([]*big.Int, size)
	for i := range ways {
		ways[i] = new(big.Int)
	}
	ways[0].SetInt64(1)
	for factor := 1; factor <= second; factor++ {
		for i := size - 1; i >= first+factor; i-- {
			ways[i].Sub(ways[i], ways[i-first-factor])
		}
		for i := factor; i < size; i++ {
			ways[i].Add(ways[i], ways[i-factor])
		}
	}
	return ways
}

// approximate does as count does, by the normal distribution with the variance corrected
// for ties and half a step for continuity.
func (test *RankTest) approximate(first, second []float64) int {
	all := slices.Concat(first, second)
	slices.Sort(all)
	count := float64(len(all))
	tied := 0.0
	for i := 0; i < len(all); {
		j := i
		for j < len(all) && all[j] == all[i] {
			j++
		}
		same := float64(j - i)
		tied += same * (same*same - 1)
		i = j
	}
	pairs := float64(len(first)) * float64(len(second))
	variance := pairs / 12 * (count + 1 - tied/(count*(count-1)))
	if !(variance > 0) {
		return 0
	}
	deviation := math.Sqrt(variance)
	test.PGreater = distuv.UnitNormal.Survival((test.W - pairs/2 - 0.5) / deviation)
	lower := distuv.UnitNormal.CDF((test.W - pairs/2 + 0.5) / deviation)
	test.P = min(1, 2*min(lower, test.PGreater))
	return int(math.Floor(pairs/2 - distuv.UnitNormal.Quantile(0.975)*deviation))
}
