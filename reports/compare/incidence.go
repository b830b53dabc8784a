package compare

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// IncidenceHours are the hours of a hundred people for a year (50 weeks of 40 hours), the
// base of incidence rates in US safety statistics (BLS and OSHA).
const IncidenceHours = 200_000

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

// Incidence is a rate of cases per 200,000 hours worked.
type Incidence struct {
	Cases int64
	Hours float64
	// Rate and Interval95 (exact) per 200,000 hours; NaN without hours.
	Rate       float64
	Interval95 Interval
}

// IncidenceRate of cases in hours worked, leave left out.
func IncidenceRate(cases int64, hours float64) Incidence {
	incidence := Incidence{Cases: cases, Hours: hours, Rate: math.NaN(), Interval95: noInterval()}
	if !(hours > 0) || math.IsInf(hours, 0) || cases < 0 {
		return incidence
	}
	base := IncidenceHours / hours
	counted := PoissonInterval(cases, 0.95)
	incidence.Rate = float64(cases) * base
	incidence.Interval95 = Interval{Low: counted.Low * base, High: counted.High * base}
	return incidence
}
