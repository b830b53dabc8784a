package compare

import "math"

const (
	residualFit = 1e-10 // how near the fit behind the residuals comes
	// leastResidual is the deviation of log residuals below which they differ by the fit and by
	// rounding alone: units whose shifts are all alike, to the last digits, are no test.
	leastResidual = 1e-9
)

// unitsDiffer tests the units' log shift residuals. A shift's residual is the logarithm of
// its minutes over what its trusses take at the plant's class rates, with the rates from a
// fit of class × unit, so that who built what does not bear on them.
func (plant *sample) unitsDiffer() FTest {
	groups := make([][]float64, len(plant.units))
	if len(plant.tallies) == 0 {
		return OneWay(groups)
	}
	classes, units := len(plant.classes), len(plant.units)
	rows := make([]fitRow, 0, classes*units)
	places := make(map[[2]int]int, classes*units)
	for _, tally := range plant.tallies {
		key := [2]int{tally.class, plant.unitOf[tally.shift]}
		place, found := places[key]
		if !found {
			place = len(rows)
			places[key] = place
			columns := []int{0}
			if key[0] > 0 {
				columns = append(columns, key[0])
			}
			if key[1] > 0 {
				columns = append(columns, classes-1+key[1])
			}
			rows = append(rows, fitRow{columns: columns})
		}
		rows[place].weight += tally.trusses
		rows[place].minutes += tally.minutes
	}
	fit := newMultiplicative(classes+units-1, rows)
	fit.run(rows, residualFit)
	for _, aliased := range fit.aliased {
		if aliased {
			return OneWay(nil)
		}
	}
	for shift, span := range plant.spans {
		expected, minutes := 0.0, 0.0
		for _, tally := range plant.tallies[span[0]:span[1]] {
			effect := fit.effects[0]
			if tally.class > 0 {
				effect += fit.effects[tally.class]
			}
			expected += tally.trusses * math.Exp(effect)
			minutes += tally.minutes
		}
		unit := plant.unitOf[shift]
		groups[unit] = append(groups[unit], math.Log(minutes/expected))
	}
	test := OneWay(groups)
	if test.ResidualDeviation < leastResidual {
		test.F, test.P, test.Enough, test.ResidualDeviation = math.NaN(), math.NaN(), false, 0
	}
	return test
}
