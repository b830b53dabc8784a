package compare

import (
	"fmt"
	"math"
	"testing"
)

// Two groups of one size with equal variances: F is the square of t, with one probability.
func TestOneWayOfTwoGroupsIsTheTTest(t *testing.T) {
	first, second := []float64{1, 2, 3}, []float64{4, 5, 6}
	test, welch := OneWay([][]float64{first, second}), Welch(first, second)
	near(t, "F", test.F, 13.5, 1e-12)
	near(t, "F", test.F, welch.T*welch.T, 1e-12)
	near(t, "p", test.P, welch.P, 1e-12)
}

// By hand: r = 0.8, so t = 0.8 × √(2 ÷ 0.36), and with two degrees of freedom Student's
// distribution has the closed form p = 1 - t ÷ √(2 + t²) = 0.2.
func TestLineSlopeProbability(t *testing.T) {
	line := Line([]float64{0, 1, 2, 3}, []float64{1, 3, 2, 4})
	near(t, "slope", line.Slope, 0.8, 1e-12)
	near(t, "p", line.SlopeP, 0.2, 1e-12)
}

func TestTooLittleForASecondView(t *testing.T) {
	if Welch([]float64{1}, []float64{1, 2}).Enough || Ranks(nil, []float64{1}).Enough || Ranks([]float64{1, 2}, []float64{3}).Enough ||
		Line([]float64{1, 1, 1}, []float64{1, 2, 3}).Enough || OneWay([][]float64{{1}, {2}}).Enough || OneWay([][]float64{{1, 2}}).Enough {
		t.Error("a second view has enough with too little")
	}
}

// Every way in which two of five values, three of them the same, can be the second sample:
// the variance of W over them is what the normal approximation uses.
func TestRanksWithTies(t *testing.T) {
	values := []float64{1, 2, 2, 2, 3}
	count, sum, squares := 0.0, 0.0, 0.0
	for i := range values {
		for j := range i {
			var first []float64
			for k, value := range values {
				if k != i && k != j {
					first = append(first, value)
				}
			}
			w := Ranks(first, []float64{values[i], values[j]}).W
			count++
			sum += w
			squares += w * w
		}
	}
	mean := sum / count
	near(t, "mean of W", mean, 3, 1e-12)
	deviation := math.Sqrt(squares/count - mean*mean)
	test := Ranks([]float64{2, 2, 3}, []float64{1, 2})
	near(t, "W", test.W, 5, 0)
	if test.Exact {
		t.Error("the test calls itself exact with ties")
	}
	near(t, "p", test.PGreater, 0.5*math.Erfc((5-3-0.5)/deviation/math.Sqrt2), 1e-12)
}

// The two ways meet where the samples are large.
func TestRanksApproximationMeetsTheCount(t *testing.T) {
	var first, second []float64
	for i := range 40 {
		first = append(first, math.Sqrt(float64(3*i+1)))
		second = append(second, math.Sqrt(float64(3*i+2))*0.9)
	}
	exact := Ranks(first, second)
	approximate := exact
	step := approximate.approximate(first, second)
	again := exact
	if counted := again.count(len(first), len(second)); step < counted-2 || step > counted+2 {
		t.Errorf("the interval ends at %d, counted %d", step, counted)
	}
	if !exact.Exact {
		t.Error("not counted")
	}
	near(t, "p", approximate.PGreater, exact.PGreater, 0.002)
	near(t, "both sides", approximate.P, exact.P, 0.004)
}

func TestPaybackThatNeverComes(t *testing.T) {
	if years, known := Payback(1000, 100, -50); known || !math.IsNaN(years) {
		t.Errorf("%v, %v: want no payback", years, known)
	}
	if years, known := Payback(0, 100); !known || years != 0 {
		t.Errorf("%v, %v: want 0 years for no outlay", years, known)
	}
}

// TestShiftsAllAlikeAreNoTest: where each crew's shifts take the same minutes a truss, nothing
// is left within the crews but the last digits, whatever the unit of minutes.
func TestShiftsAllAlikeAreNoTest(t *testing.T) {
	for _, scale := range []float64{1, 0.1, 64, 1.0 / 3} {
		var runs []Run
		for crew, rate := range []float64{7.3, 9.1} {
			for shift, trusses := range []int64{3, 7, 11} {
				runs = append(runs, Run{Unit: fmt.Sprint("crew ", crew), Shift: fmt.Sprint(crew, " on ", shift), Class: "one", Trusses: trusses, Minutes: float64(trusses) * rate * scale})
			}
		}
		if test := LikeForLike(runs, nil, few).UnitsDiffer; test.Enough || !math.IsNaN(test.F) || test.ResidualDeviation != 0 {
			t.Errorf("times %v: %+v, want no test", scale, test)
		}
	}
}
