package compare

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// WelchTest compares two means without taking the variances as equal.
type WelchTest struct {
	// Difference is the first mean less the second.
	Difference, T, Freedom float64
	// P of both sides.
	P          float64
	Interval95 Interval
	// Enough is false with fewer than two values on a side or none that differ.
	Enough bool
}

// Welch compares the means of two samples (Welch, Biometrika 34, 1947).
func Welch(first, second []float64) WelchTest {
	test := WelchTest{Difference: math.NaN(), T: math.NaN(), Freedom: math.NaN(), P: math.NaN(), Interval95: noInterval()}
	if len(first) < 2 || len(second) < 2 {
		return test
	}
	firstMean, firstSquares := meanAndSquares(first)
	secondMean, secondSquares := meanAndSquares(second)
	test.Difference = firstMean - secondMean
	firstFreedom, secondFreedom := float64(len(first)-1), float64(len(second)-1)
	firstVariance := firstSquares / firstFreedom / float64(len(first))
	secondVariance := secondSquares / secondFreedom / float64(len(second))
	variance := firstVariance + secondVariance
	if variance == 0 {
		return test
	}
	deviation := math.Sqrt(variance)
	test.T = test.Difference / deviation
	test.Freedom = variance * variance /
		(firstVariance*firstVariance/firstFreedom + secondVariance*secondVariance/secondFreedom)
	test.P = twoSided(test.T, test.Freedom)
	reach := studentQuantile(0.975, test.Freedom) * deviation
	test.Interval95 = Interval{Low: test.Difference - reach, High: test.Difference + reach}
	test.Enough = true
	return test
}

func student(freedom float64) distuv.StudentsT {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: freedom}
}

func studentQuantile(probability, freedom float64) float64 {
	return student(freedom).Quantile(probability)
}

func twoSided(t, freedom float64) float64 {
	return 2 * student(freedom).CDF(-math.Abs(t))
}
