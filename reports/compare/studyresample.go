package compare

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// resample gives the standard error of the change's log effect and its degrees of freedom:
// each shift gets a weight of mean 1 and variance 1, and the whole fit is done anew. NaN
// where a tenth of the fits and more fail: the effect then hangs on a few shifts.
func (d *design) resample(fit *multiplicative, options Options) (deviation, freedom float64) {
	share, freedom := d.influence(fit).calibrate()
	d.widen(fit)
	random := rand.New(rand.NewPCG(options.Seed, stream))
	weights := make([]float64, len(d.cellOf))
	rows := make([]fitRow, len(d.rows))
	for i, row := range d.rows {
		rows[i].columns = row.columns
	}
	again := newMultiplicative(d.parameters, d.rows)
	last := d.parameters - 1
	effects := spread{}
	for range options.resamples() {
		for shift := range weights {
			weights[shift] = random.ExpFloat64()
		}
		for i := range rows {
			rows[i].weight, rows[i].minutes = 0, 0
		}
		for i := range d.parts {
			part := &d.parts[i]
			weight := weights[part.shift]
			rows[part.row].weight += weight * part.weight
			rows[part.row].minutes += weight * part.spread
		}
		copy(again.effects, fit.effects)
		again.run(rows, 1e-6)
		if again.converged && !again.aliased[last] {
			effects.add(again.effects[last])
		}
	}
	if effects.count < options.resamples()*9/10 {
		return math.NaN(), math.NaN()
	}
	return effects.deviation() / math.Sqrt(share), freedom
}

// widen makes up for Rubin's weights, as group.widen does, by the number of shifts of the
// cell: the change's effect is a contrast of the cells' means.
func (d *design) widen(fit *multiplicative) {
	fitted := make([]float64, len(d.cellOf))
	for i := range d.parts {
		part := &d.parts[i]
		fitted[part.shift] += d.expected(fit, part)
	}
	sums, squares := [4]float64{}, [4]float64{}
	for shift, minutes := range fitted {
		sums[d.cellOf[shift]] += minutes
		squares[d.cellOf[shift]] += minutes * minutes
	}
	for i := range d.parts {
		part := &d.parts[i]
		cell := d.cellOf[part.shift]
		scale := math.Sqrt(1 + squares[cell]/(sums[cell]*sums[cell]))
		expected := d.expected(fit, part)
		part.spread = expected + scale*(part.minutes-expected)
	}
}

func (d *design) expected(fit *multiplicative, part *designPart) float64 {
	return fit.expected(&fitRow{columns: d.rows[part.row].columns, weight: part.weight})
}

// influence of the shifts on the change's log effect. fit must stand at its solution.
func (d *design) influence(fit *multiplicative) influence {
	shifts, n := len(d.cellOf), d.parameters
	last := make([]float64, n)
	last[n-1] = 1
	fit.solve(last)
	model := newInfluence(shifts, n)
	for i := range d.parts {
		part := &d.parts[i]
		expected := d.expected(fit, part)
		columns := d.rows[part.row].columns
		lever := 0.0
		for _, p := range columns {
			lever += last[p]
		}
		model.direct[part.shift] += lever * expected
		for _, p := range columns {
			model.weights.Set(part.shift, p, model.weights.At(part.shift, p)+lever*expected)
			model.response.Set(p, part.shift, model.response.At(p, part.shift)+expected)
		}
	}
	column := make([]float64, n)
	for shift := range shifts {
		mat.Col(column, shift, model.response)
		fit.solve(column)
		model.response.SetCol(shift, column)
	}
	return model
}
