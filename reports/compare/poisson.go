package compare

import "math"

// aliasTolerance is the share of a column that must be left after the earlier columns have
// explained what they can; with less the column says nothing of its own.
const aliasTolerance = 1e-8

// fitRow is one row of a multiplicative fit: minutes are expected to be weight × the
// product of the effects named by columns.
type fitRow struct {
	columns         []int
	weight, minutes float64
}

// multiplicative is a fit of log effects by Poisson quasi-likelihood (McCullagh and Nelder,
// Generalized Linear Models, 1989): the fitted minutes of each class, crew and so on add up
// to its actual ones. Column 0 stands in every row.
type multiplicative struct {
	parameters int
	effects    []float64
	// factor is the lower Cholesky factor of the information; aliased columns are left
	// out of it and have the effect 0.
	factor    []float64
	aliased   []bool
	converged bool
}

// newMultiplicative starts from the one rate of all rows.
func newMultiplicative(parameters int, rows []fitRow) *multiplicative {
	fit := &multiplicative{
		parameters: parameters, effects: make([]float64, parameters),
		factor: make([]float64, parameters*parameters), aliased: make([]bool, parameters),
	}
	weight, minutes := 0.0, 0.0
	for _, row := range rows {
		weight += row.weight
		minutes += row.minutes
	}
	fit.effects[0] = math.Log(minutes / weight)
	return fit
}

// run fits the rows from the effects as they stand, by Fisher scoring.
func (fit *multiplicative) run(rows []fitRow, tolerance float64) {
	const mostSteps = 60
	score := make([]float64, fit.parameters)
	fit.converged = false
	for range mostSteps {
		fit.inform(rows, score)
		fit.solve(score)
		largest := 0.0
		for _, step := range score {
			largest = max(largest, math.Abs(step))
		}
		// A long step of the exponential overshoots; two e-folds at once are enough.
		scale := 1.0
		if largest > 2 {
			scale = 2 / largest
		}
		for p, step := range score {
			fit.effects[p] += scale * step
		}
		if largest < tolerance {
			fit.converged = true
			return
		}
		if math.IsNaN(largest) {
			return
		}
	}
}

// inform fills the score and the factor of the information at the present effects.
func (fit *multiplicative) inform(rows []fitRow, score []float64) {
	n := fit.parameters
	clear(fit.factor)
	clear(score)
	for i := range rows {
		row := &rows[i]
		expected := fit.expected(row)
		for _, p := range row.columns {
			score[p] += row.minutes - expected
			for _, q := range row.columns {
				if q <= p {
					fit.factor[p*n+q] += expected
				}
			}
		}
	}
	fit.decompose()
}

func (fit *multiplicative) expected(row *fitRow) float64 {
	sum := 0.0
	for _, p := range row.columns {
		sum += fit.effects[p]
	}
	return row.weight * math.Exp(sum)
}

// decompose turns the information into its Cholesky factor, in the order of the columns,
// leaving out those that the earlier ones explain.
func (fit *multiplicative) decompose() {
	n := fit.parameters
	for p := range n {
		whole := fit.factor[p*n+p]
		for q := 0; q <= p; q++ {
			if q < p && fit.aliased[q] {
				fit.factor[p*n+q] = 0
				continue
			}
			sum := fit.factor[p*n+q]
			for r := range q {
				sum -= fit.factor[p*n+r] * fit.factor[q*n+r]
			}
			if q < p {
				fit.factor[p*n+q] = sum / fit.factor[q*n+q]
				continue
			}
			fit.aliased[p] = !(sum > aliasTolerance*whole)
			if fit.aliased[p] {
				clear(fit.factor[p*n : p*n+p+1])
			} else {
				fit.factor[p*n+p] = math.Sqrt(sum)
			}
		}
	}
}

// solve replaces the vector by the information's inverse times it; 0 in aliased columns.
func (fit *multiplicative) solve(vector []float64) {
	n := fit.parameters
	for p := range n {
		if fit.aliased[p] {
			vector[p] = 0
			continue
		}
		for q := range p {
			vector[p] -= fit.factor[p*n+q] * vector[q]
		}
		vector[p] /= fit.factor[p*n+p]
	}
	for p := n - 1; p >= 0; p-- {
		if fit.aliased[p] {
			vector[p] = 0
			continue
		}
		for q := p + 1; q < n; q++ {
			vector[p] -= fit.factor[q*n+p] * vector[q]
		}
		vector[p] /= fit.factor[p*n+p]
	}
}
