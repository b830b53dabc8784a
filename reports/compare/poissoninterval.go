package compare

import "gonum.org/v1/gonum/stat/distuv"

// PoissonInterval is the exact interval of the mean of a Poisson count at the given level
// (0.95): quantiles of chi-square (Garwood, Biometrika 28, 1936). It is never too narrow.
func PoissonInterval(count int64, level float64) Interval {
	if count < 0 || !(level > 0 && level < 1) {
		return noInterval()
	}
	tail := (1 - level) / 2
	interval := Interval{Low: 0, High: chiSquareQuantile(1-tail, 2*float64(count)+2) / 2}
	if count > 0 {
		interval.Low = chiSquareQuantile(tail, 2*float64(count)) / 2
	}
	return interval
}

func chiSquareQuantile(probability, freedom float64) float64 {
	return distuv.ChiSquared{K: freedom}.Quantile(probability)
}
