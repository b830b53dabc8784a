package compare

import (
	"math"
	"testing"
)

// near fails unless got is within tolerance of want.
func near(t *testing.T, name string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.15g, want %.15g within %g", name, got, want, tolerance)
	}
}

// Kutner, The American Statistician 28, 1974, as in the SAS/STAT documentation of PROC GLM,
// "Unbalanced ANOVA for Two-Way Design with Interaction": drug × disease.
var kutner = [4][3][]float64{
	{{42, 44, 36, 13, 19, 22}, {33, 26, 33, 21}, {31, -3, 25, 25, 24}},
	{{28, 23, 34, 42, 13}, {34, 33, 31, 36}, {3, 26, 28, 32, 4, 16}},
	{{1, 29, 19}, {11, 9, 7, 1, -6}, {21, 1, 9, 3}},
	{{24, 9, 22, -2, 15}, {27, 12, 12, -5, 16, 15}, {22, 7, 25, 5, 12}},
}

// Each value is a run of one truss; the drug is the unit, the disease the class.
func TestStandardisationGivesKutnersMeansAndErrors(t *testing.T) {
	raw := []float64{26.0667, 25.5333, 8.7500, 13.5000}
	means := []float64{25.99444, 26.55556, 9.74444, 13.54444}
	errors := []float64{2.75101, 2.75101, 3.10056, 2.63712}
	var groups []*group
	sides := make([]side, len(kutner))
	for drug, diseases := range kutner {
		minutes, runs := 0.0, 0.0
		for class, values := range diseases {
			cell := &group{class: class}
			for shift, value := range values {
				cell.add(tally{shift: shift, class: class, runs: 1, trusses: 1, minutes: value, squares: value * value})
				minutes += value
				runs++
			}
			sides[drug].take(len(groups), 1.0/3)
			groups = append(groups, cell)
		}
		near(t, "raw mean", minutes/runs, raw[drug], 5e-5)
	}
	m := &matching{groups: groups}
	variance := pooledVariance(groups)
	near(t, "MSE", variance, 110.452536, 5e-7)
	for drug := range sides {
		near(t, "mean on an equal mix", sides[drug].minutes(m.rates()), means[drug], 5e-6)
		near(t, "its standard error", sides[drug].runError(groups, variance), errors[drug], 5e-6)
	}
}

// R's data set sleep (Student, 1908), as in the documentation of t.test.
func TestWelchOnSleep(t *testing.T) {
	test := Welch(
		[]float64{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0},
		[]float64{1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4},
	)
	near(t, "t", test.T, -1.8608, 5e-5)
	near(t, "df", test.Freedom, 17.776, 5e-4)
	near(t, "p", test.P, 0.07939, 5e-6)
	near(t, "low", test.Interval95.Low, -3.3654832, 5e-8)
	near(t, "high", test.Interval95.High, 0.2054832, 5e-8)
}

// Hollander and Wolfe, Nonparametric Statistical Methods, 1973, page 69, as in the
// documentation of R's wilcox.test.
func TestRanksOnHollanderAndWolfe(t *testing.T) {
	test := Ranks(
		[]float64{0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46},
		[]float64{1.15, 0.88, 0.90, 0.74, 1.21},
	)
	near(t, "W", test.W, 35, 0)
	near(t, "p", test.PGreater, 0.127206, 5e-7)
	near(t, "shift", test.Shift, 0.305, 1e-12)
	near(t, "low", test.Interval95.Low, -0.15, 1e-12)
	near(t, "high", test.Interval95.High, 0.76, 1e-12)
	if !test.Exact || !test.Enough {
		t.Error("the test is not exact")
	}
}

// NIST StRD, linear regression, data set Norris: certified values.
func TestLineOnNorris(t *testing.T) {
	x := []float64{
		0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4,
		0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3,
		0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
	}
	y := []float64{
		0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3,
		0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3,
		0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
	}
	line := Line(x, y)
	near(t, "B0", line.Intercept, -0.262323073774029, 1e-11)
	near(t, "B1", line.Slope, 1.00211681802045, 1e-13)
	near(t, "deviation of B0", line.InterceptError, 0.232818234301152, 1e-12)
	near(t, "deviation of B1", line.SlopeError, 0.429796848199937e-03, 1e-15)
	near(t, "residual deviation", line.ResidualDeviation, 0.884796396144373, 1e-12)
}

// NIST StRD, analysis of variance, data set SiRstv: certified values.
func TestOneWayOnSiRstv(t *testing.T) {
	test := OneWay([][]float64{
		{196.3052, 196.1240, 196.1890, 196.2569, 196.3403},
		{196.3042, 196.3825, 196.1669, 196.3257, 196.0422},
		{196.1303, 196.2005, 196.2889, 196.0343, 196.1811},
		{196.2795, 196.1748, 196.1494, 196.1485, 195.9885},
		{196.2119, 196.1051, 196.1850, 196.0052, 196.2090},
	})
	near(t, "F", test.F, 1.18046237440255, 1e-9)
	near(t, "residual deviation", test.ResidualDeviation, 0.104076068334656, 1e-12)
	if test.Between != 4 || test.Within != 20 {
		t.Errorf("degrees of freedom %d and %d, want 4 and 20", test.Between, test.Within)
	}
}

// NIST/SEMATECH e-Handbook 6.3.2.2, individuals chart.
func TestIndividualsChartOfTheHandbook(t *testing.T) {
	chart := IndividualsChart([]float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1})
	near(t, "mean", chart.Mean, 50.81, 1e-12)
	near(t, "moving range", chart.MovingRange, 1.8778, 5e-5)
	near(t, "upper limit", chart.UpperLimit, 55.8041, 5e-5)
	near(t, "lower limit", chart.LowerLimit, 45.8159, 5e-5)
	for _, signal := range chart.Signals {
		if signal.Rule == 1 {
			t.Errorf("point %d is out of the limits", signal.Index)
		}
	}
}

// OpenStax, Principles of Accounting; the present value is recomputed (published 68,400
// with factors of three figures).
func TestPaybackAndPresentValueOfTheTextbook(t *testing.T) {
	even, known := Payback(150_000, 20_000)
	near(t, "payback", even, 7.5, 0)
	uneven, alsoKnown := Payback(40_000, 10_000, 10_000, 5_000, 5_000, 7_500, 7_500)
	near(t, "uneven payback", uneven, 5+1.0/3, 1e-12)
	if !known || !alsoKnown {
		t.Error("payback is not known")
	}
	near(t, "present value", NetPresentValue(0.08, 200_000, Yearly(40_000, 10)...), 68_403.26, 0.005)
}

// Closed forms: without events the upper end is -ln 0.025; with one event the lower end is
// -ln 0.975. For larger counts each end leaves 2.5 % in the sum of Poisson terms.
func TestPoissonIntervalAgainstTheDistributionItself(t *testing.T) {
	none := PoissonInterval(0, 0.95)
	near(t, "upper end of 0", none.High, 3.6889, 5e-5)
	near(t, "upper end of 0", none.High, -math.Log(0.025), 1e-9)
	near(t, "lower end of 0", none.Low, 0, 0)
	near(t, "lower end of 1", PoissonInterval(1, 0.95).Low, -math.Log(0.975), 1e-9)
	atMost := func(count int64, mean float64) float64 {
		term, sum := math.Exp(-mean), 0.0
		for i := int64(0); i <= count; i++ {
			sum += term
			term *= mean / float64(i+1)
		}
		return sum
	}
	for count := int64(1); count <= 60; count++ {
		interval := PoissonInterval(count, 0.95)
		near(t, "tail above the upper end", atMost(count, interval.High), 0.025, 1e-9)
		near(t, "tail below the lower end", 1-atMost(count-1, interval.Low), 0.025, 1e-9)
	}
}

// Gaussian binomials against counting by hand: two samples of two values can lie in six
// orders, with W 0, 1, 2, 2, 3, 4.
func TestRankWaysOfTwoAndTwo(t *testing.T) {
	want := []int64{1, 1, 2, 1, 1}
	for w, ways := range rankWays(2, 2) {
		if ways.Int64() != want[w] {
			t.Errorf("W = %d in %d ways, want %d", w, ways, want[w])
		}
	}
}
