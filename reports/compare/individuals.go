package compare

import (
	"fmt"
	"math"
)

// movingRangeFactor is the mean range of two values of a normal distribution with
// deviation 1: d2 for n = 2 (NIST/SEMATECH e-Handbook 6.3.2.2, which uses three decimals).
const movingRangeFactor = 1.128

// Signal of an individuals chart.
type Signal struct {
	// Rule is 1 to 4, Index the point (from 0) at which the rule is met.
	Rule, Index int
	// Above says on which side of the mean.
	Above bool
	Words string
}

// Individuals is a chart of single values over time.
type Individuals struct {
	Points                 int
	Mean, MovingRange      float64
	LowerLimit, UpperLimit float64
	// Signals by index, then rule.
	Signals []Signal
	// Enough is false below MinimumChartPoints. Words say so; there are then neither
	// limits nor signals.
	Enough bool
	Words  string
}

// runRule is one of the four rules of Western Electric: so many of so many points in a row
// beyond so many deviations, on one side of the mean.
type runRule struct {
	need, of   int
	deviations float64
	words      string
}

var runRules = [4]runRule{
	{1, 1, 3, "one point beyond three deviations"},
	{2, 3, 2, "two of three points beyond two deviations"},
	{4, 5, 1, "four of five points beyond one deviation"},
	{8, 8, 0, "eight points in a row on one side"},
}

// IndividualsChart of values in order of time: limits at the mean ± 3 × mean moving range ÷
// 1.128, and the run rules of Western Electric as the NIST/SEMATECH e-Handbook 6.3.2 lists
// them. A signal stands at the point that completes it, which must itself lie beyond.
func IndividualsChart(values []float64) Individuals {
	chart := Individuals{
		Points: len(values), Mean: math.NaN(), MovingRange: math.NaN(), LowerLimit: math.NaN(), UpperLimit: math.NaN(),
	}
	if len(values) < MinimumChartPoints {
		chart.Words = fmt.Sprintf("%s (n = %d, %d needed)", NotEnoughData, len(values), MinimumChartPoints)
		return chart
	}
	chart.Enough = true
	chart.Mean, _ = meanAndSquares(values)
	ranges := 0.0
	for i := 1; i < len(values); i++ {
		ranges += math.Abs(values[i] - values[i-1])
	}
	chart.MovingRange = ranges / float64(len(values)-1)
	deviation := chart.MovingRange / movingRangeFactor
	chart.LowerLimit = chart.Mean - 3*deviation
	chart.UpperLimit = chart.Mean + 3*deviation
	for i := range values {
		for number, rule := range runRules {
			for _, above := range []bool{true, false} {
				if rule.met(values[:i+1], chart.Mean, deviation, above) {
					chart.Signals = append(chart.Signals, signalAt(number+1, i, above, rule))
				}
			}
		}
	}
	if len(chart.Signals) == 0 {
		chart.Words = "no signal"
	} else {
		chart.Words = fmt.Sprintf("%d signals, the first at point %d", len(chart.Signals), chart.Signals[0].Index+1)
		if len(chart.Signals) == 1 {
			chart.Words = fmt.Sprintf("one signal, at point %d", chart.Signals[0].Index+1)
		}
	}
	return chart
}

func signalAt(number, index int, above bool, rule runRule) Signal {
	side := "below"
	if above {
		side = "above"
	}
	return Signal{Rule: number, Index: index, Above: above, Words: rule.words + ", " + side + " the mean"}
}

// met says whether the last of the values completes the rule.
func (rule runRule) met(values []float64, mean, deviation float64, above bool) bool {
	if len(values) < rule.need {
		return false
	}
	beyond := func(value float64) bool {
		if above {
			return value > mean+rule.deviations*deviation
		}
		return value < mean-rule.deviations*deviation
	}
	if !beyond(values[len(values)-1]) {
		return false
	}
	count := 0
	for _, value := range values[max(0, len(values)-rule.of):] {
		if beyond(value) {
			count++
		}
	}
	return count >= rule.need
}
