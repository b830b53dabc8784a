package compare

import (
	"fmt"
	"maps"
	"math"
	"slices"
)

// driftLevel is below which probability a drift before the change is called one.
const driftLevel = 0.05

// minimumDriftWeeks is how many weeks before the change a drift takes.
const minimumDriftWeeks = 4

// secondViews fills Welch, Ranks and Drift from the shifts' log residuals: the logarithm of
// a shift's minutes over what the fit expects of it without the change's effect.
func (d *design) secondViews(fit *multiplicative, result *StudyResult) {
	last := d.parameters - 1
	without := &multiplicative{parameters: d.parameters, effects: slices.Clone(fit.effects)}
	without.effects[last] = 0
	minutes := make([]float64, len(d.cellOf))
	expected := make([]float64, len(d.cellOf))
	for i := range d.parts {
		part := &d.parts[i]
		minutes[part.shift] += part.minutes
		expected[part.shift] += d.expected(without, part)
	}
	var before, after []float64
	weeks := [2]map[int][]float64{{}, {}}
	for shift, cell := range d.cellOf {
		residual := math.Log(minutes[shift] / expected[shift])
		switch cell {
		case 0:
			weeks[0][d.weekOf[shift]] = append(weeks[0][d.weekOf[shift]], residual)
		case 2:
			before = append(before, residual)
			weeks[1][d.weekOf[shift]] = append(weeks[1][d.weekOf[shift]], residual)
		case 3:
			after = append(after, residual)
		}
	}
	result.Welch = Welch(after, before)
	result.Ranks = Ranks(after, before)
	var x, y []float64
	for _, week := range slices.Sorted(maps.Keys(weeks[1])) {
		value, _ := meanAndSquares(weeks[1][week])
		if d.compared {
			if len(weeks[0][week]) == 0 {
				continue
			}
			others, _ := meanAndSquares(weeks[0][week])
			value -= others
		}
		x = append(x, float64(week))
		y = append(y, value)
	}
	result.drift(x, y)
}

func (result *StudyResult) drift(weeks, residuals []float64) {
	if len(weeks) < minimumDriftWeeks {
		result.DriftWords = fmt.Sprintf("drift before the change: %s (n = %d weeks, %d needed)", NotEnoughData, len(weeks), minimumDriftWeeks)
		return
	}
	result.Drift = Line(weeks, residuals)
	percent := 100 * math.Abs(math.Expm1(result.Drift.Slope))
	switch {
	case !(result.Drift.SlopeP < driftLevel):
		result.DriftWords = fmt.Sprintf("no drift shown in the %d weeks before the change (P = %.2f)", len(weeks), result.Drift.SlopeP)
	case result.Drift.Slope < 0:
		result.DriftWords = fmt.Sprintf("was already improving before the change, by %.1f %% a week (P = %.3f)", percent, result.Drift.SlopeP)
	default:
		result.DriftWords = fmt.Sprintf("was getting slower before the change, by %.1f %% a week (P = %.3f)", percent, result.Drift.SlopeP)
	}
}
