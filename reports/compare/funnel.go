package compare

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// FunnelPoint is one unit of a funnel chart.
type FunnelPoint struct {
	Unit   string
	Shifts int64
	Ratio  float64
	// Limits95 and Limits998 around 1 at the point's number of shifts.
	Limits95, Limits998 Interval
}

// Funnel is the chart of ratios against numbers of shifts, with limits around 1
// (Spiegelhalter, Statistics in Medicine 24, 2005). It shows how far chance alone carries a
// unit with so many shifts; verdicts are the comparisons', not the funnel's.
type Funnel struct {
	// Points by the units' names, of the units that could be compared.
	Points []FunnelPoint
	// Deviation is the standard deviation of a shift's log minutes, Shifts all of them.
	Deviation float64
	Shifts    int64
	// Tested says that there were units enough to test for overdispersion. Dispersion is
	// the winsorised factor by which the limits' variance is widened, 1 unless Found; P is
	// the test's.
	Tested, Found bool
	Dispersion, P float64
	// Words give the test's outcome, or say that the units are too few for one.
	Words string
}

// winsorised is the share of units at each end that is drawn in to the next.
const winsorised = 0.1

func newFunnel(result Comparisons) Funnel {
	funnel := Funnel{Deviation: result.ShiftDeviation, Dispersion: 1, P: math.NaN()}
	for _, row := range result.Rows {
		funnel.Shifts += row.Shifts
		if row.judged() {
			funnel.Points = append(funnel.Points, FunnelPoint{Unit: row.Unit, Shifts: row.Shifts, Ratio: row.Ratio})
		}
	}
	funnel.disperse()
	for i := range funnel.Points {
		point := &funnel.Points[i]
		point.Limits95, point.Limits998 = funnel.LimitsAt(point.Shifts)
	}
	return funnel
}

// disperse tests whether the units lie wider than chance alone would have them, and widens
// the limits if so: the units' squared scores add up to a chi-square with one degree of
// freedom a unit; the factor is the mean of the winsorised ones.
func (funnel *Funnel) disperse() {
	count := len(funnel.Points)
	if count < MinimumDispersionUnits {
		funnel.Words = fmt.Sprintf("%d units: too few for a test of overdispersion (%d needed)", count, MinimumDispersionUnits)
		return
	}
	scores := make([]float64, 0, count)
	sum := 0.0
	for _, point := range funnel.Points {
		score := math.Log(point.Ratio) / funnel.deviationAt(point.Shifts)
		scores = append(scores, score)
		sum += score * score
	}
	slices.Sort(scores)
	cut := int(winsorised * float64(count))
	factor := 0.0
	for i := range scores {
		score := scores[min(max(i, cut), count-1-cut)]
		factor += score * score
	}
	factor /= float64(count)
	funnel.Tested = true
	funnel.P = distuv.ChiSquared{K: float64(count)}.Survival(sum)
	funnel.Found = funnel.P < 0.05 && factor > 1
	if funnel.Found {
		funnel.Dispersion = factor
		funnel.Words = fmt.Sprintf("%d units lie wider than their shifts explain (P = %.3f): limits widened by the root of %.2f", count, funnel.P, factor)
		return
	}
	funnel.Words = fmt.Sprintf("%d units lie no wider than their shifts explain (P = %.3f)", count, funnel.P)
}

// deviationAt is that of the log ratio of a unit with so many shifts against the rest.
func (funnel Funnel) deviationAt(shifts int64) float64 {
	if shifts < 1 || shifts >= funnel.Shifts {
		return math.NaN()
	}
	return funnel.Deviation * math.Sqrt(1/float64(shifts)+1/float64(funnel.Shifts-shifts))
}

// LimitsAt gives the limits around 1 for a unit with so many shifts against all the others
// together, to draw the curves with; none outside of 1 to all shifts but one.
func (funnel Funnel) LimitsAt(shifts int64) (limits95, limits998 Interval) {
	deviation := funnel.deviationAt(shifts) * math.Sqrt(funnel.Dispersion)
	if math.IsNaN(deviation) {
		return noInterval(), noInterval()
	}
	around := func(level float64) Interval {
		reach := distuv.UnitNormal.Quantile((1+level)/2) * deviation
		return Interval{Low: math.Exp(-reach), High: math.Exp(reach)}
	}
	return around(0.95), around(0.998)
}
