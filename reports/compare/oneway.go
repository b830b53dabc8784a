package compare

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// FTest is a one-way analysis of variance: do the groups differ at all?
type FTest struct {
	F, P float64
	// Between and Within are the degrees of freedom.
	Between, Within int
	// ResidualDeviation is the standard deviation within the groups.
	ResidualDeviation float64
	// Enough is false when there are fewer than two groups or no repeats; the other
	// figures are then NaN.
	Enough bool
}

// OneWay tests whether the means of the groups differ. Empty groups count for nothing.
func OneWay(groups [][]float64) FTest {
	count, filled := 0, 0
	sum := 0.0
	for _, group := range groups {
		if len(group) > 0 {
			filled++
		}
		for _, value := range group {
			sum += value
			count++
		}
	}
	test := FTest{F: math.NaN(), P: math.NaN(), Between: filled - 1, Within: count - filled, ResidualDeviation: math.NaN()}
	if test.Between < 0 || test.Within < 1 {
		return test
	}
	grand := sum / float64(count)
	between, within := 0.0, 0.0
	for _, group := range groups {
		if len(group) == 0 {
			continue
		}
		mean, squares := meanAndSquares(group)
		between += float64(len(group)) * (mean - grand) * (mean - grand)
		within += squares
	}
	test.ResidualDeviation = math.Sqrt(within / float64(test.Within))
	if test.Between < 1 || within == 0 {
		return test
	}
	test.F = (between / float64(test.Between)) / (within / float64(test.Within))
	test.P = distuv.F{D1: float64(test.Between), D2: float64(test.Within)}.Survival(test.F)
	test.Enough = true
	return test
}

// meanAndSquares gives the mean and the sum of squares around it, in two passes.
func meanAndSquares(values []float64) (mean, squares float64) {
	for _, value := range values {
		mean += value
	}
	mean /= float64(len(values))
	rest := 0.0
	for _, value := range values {
		rest += value - mean
	}
	mean += rest / float64(len(values))
	for _, value := range values {
		squares += (value - mean) * (value - mean)
	}
	return mean, squares
}
