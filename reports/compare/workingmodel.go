package compare

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// influence is how the shifts bear on an estimate's logarithm, to first order.
//
// A residual is what is left of a shift once the fitted rates have taken their part, so the
// spread of estimates over resamples is too small on average, and rests on fewer degrees
// of freedom than there are shifts. Under the working model that every shift has a log
// effect of its own with one variance, both are known exactly (Bell and McCaffrey, Survey
// Methodology 28, 2002; Satterthwaite, Biometrics Bulletin 2, 1946).
type influence struct {
	// direct[s] is the estimate's change for a unit effect of shift s.
	direct []float64
	// weights (shifts × parameters) times response (parameters × shifts) is what the
	// fitted rates take out of the shifts' contributions.
	weights, response *mat.Dense
}

func newInfluence(shifts, parameters int) influence {
	return influence{
		direct: make([]float64, shifts), weights: mat.NewDense(shifts, parameters, nil), response: mat.NewDense(parameters, shifts, nil),
	}
}

// calibrate gives the share of the true variance that the sum of squared contributions
// has on average, and the degrees of freedom of that sum.
func (model influence) calibrate() (share, freedom float64) {
	shifts, parameters := model.weights.Dims()
	var weightProducts, responseProducts mat.Dense
	weightProducts.Mul(model.weights.T(), model.weights)
	responseProducts.Mul(model.response, model.response.T())
	var product mat.Dense
	product.Mul(&weightProducts, &responseProducts)
	squares, expected, fourth := 0.0, mat.Trace(&product), 0.0

	// M'M = A² + U K U', with U = [A·weights, response'].
	sides := mat.NewDense(shifts, 2*parameters, nil)
	column := make([]float64, parameters)
	for s, direct := range model.direct {
		cross, quadratic := 0.0, 0.0
		for p := range column {
			column[p] = model.response.At(p, s)
			cross += model.weights.At(s, p) * column[p]
			sides.Set(s, p, direct*model.weights.At(s, p))
			sides.Set(s, parameters+p, column[p])
		}
		for p, one := range column {
			if one == 0 {
				continue
			}
			for q, other := range column {
				quadratic += one * weightProducts.At(p, q) * other
			}
		}
		square := direct * direct
		squares += square
		expected += square - 2*direct*cross
		fourth += square*square + 2*square*(quadratic-2*direct*cross)
	}
	kernel := mat.NewDense(2*parameters, 2*parameters, nil)
	for p := range parameters {
		kernel.Set(p, parameters+p, -1)
		kernel.Set(parameters+p, p, -1)
		for q := range parameters {
			kernel.Set(parameters+p, parameters+q, weightProducts.At(p, q))
		}
	}
	var sideProducts, once, twice mat.Dense
	sideProducts.Mul(sides.T(), sides)
	once.Mul(kernel, &sideProducts)
	twice.Mul(&once, &once)
	fourth += mat.Trace(&twice)
	if !(squares > 0) || !(expected > 0) || !(fourth > 0) {
		return math.NaN(), math.NaN()
	}
	return expected / squares, max(1, expected*expected/fourth)
}

// leastReach is half the width of the narrowest log interval: the rounding of sums of
// minutes is no difference.
const leastReach = 1e-9

// logInterval is estimate ± Student's quantile × deviation on the log scale, as a ratio.
func logInterval(logarithm, deviation, freedom, level float64) Interval {
	if !(deviation >= 0) || !(freedom > 0) {
		return noInterval()
	}
	reach := max(leastReach, studentQuantile((1+level)/2, freedom)*deviation)
	return Interval{Low: math.Exp(logarithm - reach), High: math.Exp(logarithm + reach)}
}
