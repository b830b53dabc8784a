package compare

import (
	"math"
	"testing"
)

// funnelOf gives units of a hundred shifts each, with the given scores (log ratio over its
// deviation).
func funnelOf(scores []float64) Funnel {
	funnel := Funnel{Deviation: 0.1, Shifts: int64(100 * len(scores)), Dispersion: 1, P: math.NaN()}
	for _, score := range scores {
		funnel.Points = append(funnel.Points, FunnelPoint{Shifts: 100, Ratio: math.Exp(score * funnel.deviationAt(100))})
	}
	funnel.disperse()
	return funnel
}

// Limits by hand: 25 shifts of 125 with a shift deviation of 0.1 have a log deviation of
// 0.1 × √(1/25 + 1/100) = 0.02236; times 1.95996 and 3.09023.
func TestFunnelLimits(t *testing.T) {
	funnel := Funnel{Deviation: 0.1, Shifts: 125, Dispersion: 1}
	limits95, limits998 := funnel.LimitsAt(25)
	deviation := 0.1 * math.Sqrt(0.05)
	near(t, "95 % low", math.Log(limits95.Low), -1.959964*deviation, 1e-8)
	near(t, "95 % high", math.Log(limits95.High), 1.959964*deviation, 1e-8)
	near(t, "99.8 % high", math.Log(limits998.High), 3.090232*deviation, 1e-8)
	if none, _ := funnel.LimitsAt(125); none.Known() {
		t.Error("a unit with all the shifts has limits")
	}
}

// Spiegelhalter, Statistics in Medicine 24, 2005: the factor is the mean of the squared
// scores with the largest and smallest tenth drawn in. Ten units at ±3 and ±2 by turns.
func TestFunnelOverdispersion(t *testing.T) {
	wide := funnelOf([]float64{3, -3, 2, -2, 2, -2, 2, -2, 2, -2})
	near(t, "factor", wide.Dispersion, 4, 1e-9)
	if !wide.Tested || !wide.Found || !(wide.P < 1e-6) {
		t.Errorf("%+v", wide)
	}
	limits, _ := wide.LimitsAt(100)
	near(t, "widened limit", math.Log(limits.High), 2*1.959964*wide.deviationAt(100), 1e-6)

	narrow := funnelOf([]float64{1, -1, 0.5, -0.5, 0.5, -0.5, 1, -1, 1, -1})
	if !narrow.Tested || narrow.Found || narrow.Dispersion != 1 {
		t.Errorf("%+v", narrow)
	}
	few := funnelOf([]float64{3, -3, 3})
	if want := "3 units: too few for a test of overdispersion (10 needed)"; few.Tested || few.Words != want || few.Dispersion != 1 {
		t.Errorf("%+v, want %q", few, want)
	}
}

// tau by hand: log ratios 0.1, -0.1 and 0, each with a standard error of 0.05, have the
// mean square 0.02 ÷ 3; less 0.0025 that is 0.0041667.
func TestShrinkByMoments(t *testing.T) {
	result := Comparisons{}
	for _, logarithm := range []float64{0.1, -0.1, 0} {
		result.Rows = append(result.Rows, Comparison{Ratio: math.Exp(logarithm), LogError: 0.05, Verdict: NoDifferenceShown})
	}
	result.shrink()
	near(t, "tau", result.Spread, math.Sqrt(0.02/3-0.0025), 1e-12)
	near(t, "weight", result.Rows[0].Weight, 0.625, 1e-9)
	near(t, "shrunk", math.Log(result.Rows[0].Shrunk), 0.0625, 1e-9)
	result.Rows = result.Rows[:2]
	result.shrink()
	if want := "2 units compared: too few to say how far units differ at large (3 needed), so nothing is shrunk"; result.SpreadWords != want {
		t.Errorf("%q, want %q", result.SpreadWords, want)
	}
}
