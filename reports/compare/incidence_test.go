package compare

import (
	"math"
	"testing"
)

// atMost is the chance of so many cases or fewer where so many are expected, term by term.
func atMost(cases int64, expected float64) float64 {
	term := math.Exp(-expected)
	sum := term
	for k := int64(1); k <= cases; k++ {
		term *= expected / float64(k)
		sum += term
	}
	return sum
}

// TestPoissonInterval holds the bounds against their definition, by sums that share nothing
// with chi-squared quantiles: at the low bound so many cases or more have a chance of half
// the error, at the high bound so many or fewer.
func TestPoissonInterval(t *testing.T) {
	for _, confidence := range []float64{0.90, 0.95, 0.998} {
		for _, cases := range []int64{0, 1, 2, 3, 7, 10, 30, 100} {
			interval := PoissonInterval(cases, confidence)
			low, high := interval.Low, interval.High
			tail := (1 - confidence) / 2
			if got := atMost(cases, high); math.Abs(got-tail) > 1e-9 {
				t.Errorf("%d cases at %v: chance of as few at %v is %v", cases, confidence, high, got)
			}
			if cases == 0 {
				if low != 0 {
					t.Errorf("0 cases: low bound %v", low)
				}
				continue
			}
			if got := 1 - atMost(cases-1, low); math.Abs(got-tail) > 1e-9 {
				t.Errorf("%d cases at %v: chance of as many at %v is %v", cases, confidence, low, got)
			}
		}
	}
	// 0 cases: the high bound is −ln 0.025.
	if high := PoissonInterval(0, 0.95).High; math.Abs(high+math.Log(0.025)) > 1e-12 {
		t.Errorf("0 cases: high bound %v", high)
	}
}

func TestPoissonIntervalOfNonsenseIsNone(t *testing.T) {
	for _, c := range []struct {
		cases      int64
		confidence float64
	}{{-1, 0.95}, {1, 0}, {1, 1}, {1, math.NaN()}} {
		if got := PoissonInterval(c.cases, c.confidence); !math.IsNaN(got.Low) || !math.IsNaN(got.High) {
			t.Errorf("%v: %v", c, got)
		}
	}
}
