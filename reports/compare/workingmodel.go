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
// has on average, and the degrees of freedom of that sum. A shift bears on few of the
// rates, so products over shifts are taken of what is not 0 alone, and of products of
// which only the trace is needed no more than that is worked out.
func (model influence) calibrate() (share, freedom float64) {
	shifts, parameters := model.weights.Dims()
	weightProducts := mat.NewDense(parameters, parameters, nil)
	responseProducts := mat.NewDense(parameters, parameters, nil)
	// M'M = A² + U K U', with U = [A·weights, response'] and U'U the products of its sides.
	sideProducts := mat.NewDense(2*parameters, 2*parameters, nil)
	weights, responses, sides := make([][]entry, shifts), make([][]entry, shifts), make([]entry, 0, 2*parameters)
	for s, direct := range model.direct {
		sides = sides[:0]
		for p := range parameters {
			if weight := model.weights.At(s, p); weight != 0 {
				weights[s] = append(weights[s], entry{p, weight})
				sides = append(sides, entry{p, direct * weight})
			}
		}
		for p := range parameters {
			if response := model.response.At(p, s); response != 0 {
				responses[s] = append(responses[s], entry{p, response})
				sides = append(sides, entry{parameters + p, response})
			}
		}
		addProducts(weightProducts, weights[s])
		addProducts(responseProducts, responses[s])
		addProducts(sideProducts, sides)
	}
	squares, expected, fourth := 0.0, traceOfProduct(weightProducts, responseProducts), 0.0
	for s, direct := range model.direct {
		cross, quadratic := 0.0, 0.0
		for _, one := range responses[s] {
			cross += model.weights.At(s, one.at) * one.value
			for _, other := range responses[s] {
				quadratic += one.value * weightProducts.At(one.at, other.at) * other.value
			}
		}
		square := direct * direct
		squares += square
		expected += square - 2*direct*cross
		fourth += square*square + 2*square*(quadratic-2*direct*cross)
	}
	// K = [0, -1; -1, weights'weights], so the upper half of K U'U is the lower half of U'U
	// turned about, and only the lower half takes a product.
	upper, lower := sideProducts.Slice(0, parameters, 0, 2*parameters), sideProducts.Slice(parameters, 2*parameters, 0, 2*parameters)
	once := mat.NewDense(2*parameters, 2*parameters, nil)
	if parameters > 0 {
		below := once.Slice(parameters, 2*parameters, 0, 2*parameters).(*mat.Dense)
		below.Mul(weightProducts, lower)
		below.Sub(below, upper)
		once.Slice(0, parameters, 0, 2*parameters).(*mat.Dense).Scale(-1, lower)
	}
	fourth += traceOfProduct(once, once)
	if !(squares > 0) || !(expected > 0) || !(fourth > 0) {
		return math.NaN(), math.NaN()
	}
	return expected / squares, max(1, expected*expected/fourth)
}

// entry is one number of a sparse row.
type entry struct {
	at    int
	value float64
}

// addProducts adds the products of a row's entries with one another.
func addProducts(to *mat.Dense, row []entry) {
	for _, one := range row {
		values := to.RawRowView(one.at)
		for _, other := range row {
			values[other.at] += one.value * other.value
		}
	}
}

// traceOfProduct is the trace of one times other, without their product.
func traceOfProduct(one, other *mat.Dense) float64 {
	rows, _ := one.Dims()
	sum := 0.0
	for i := range rows {
		for k, value := range one.RawRowView(i) {
			sum += value * other.At(k, i)
		}
	}
	return sum
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
