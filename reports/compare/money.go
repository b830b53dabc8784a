package compare

import "math"

// Payback is the time in years until yearly savings have made up the outlay, without
// interest. The savings come evenly over each year; when the years listed don't suffice,
// the last one's saving goes on for ever, so that one figure means the same every year.
// known is false when the outlay is never made up.
func Payback(outlay float64, savings ...float64) (years float64, known bool) {
	if outlay <= 0 {
		return 0, true
	}
	left := outlay
	last := 0.0
	for year, saving := range savings {
		if saving > 0 && left <= saving {
			return float64(year) + left/saving, true
		}
		left -= saving
		last = saving
	}
	if last <= 0 {
		return math.NaN(), false
	}
	return float64(len(savings)) + left/last, true
}

// NetPresentValue of yearly savings at the end of each year, less the outlay of today, at
// the yearly rate (0.08 is 8 %). The rate must be above -1.
func NetPresentValue(rate, outlay float64, savings ...float64) float64 {
	value := -outlay
	factor := 1.0
	for _, saving := range savings {
		factor /= 1 + rate
		value += saving * factor
	}
	return value
}

// Yearly is the same saving for a number of years.
func Yearly(saving float64, years int) []float64 {
	savings := make([]float64, years)
	for year := range savings {
		savings[year] = saving
	}
	return savings
}
