package compare

import (
	"fmt"
	"math"
	"testing"
)

// lucks of ten shifts, near 1, whose minutes a truss vary by 4.27 % (standard deviation).
var lucks = []float64{0.95, 1.02, 1.07, 0.94, 1.01, 0.99, 1.05, 0.96, 0.98, 1.03}

// With one class and equal shifts the comparison is that of two means, whose standard error
// and degrees of freedom the textbook has: variance ÷ n of each side, and 2 × (n - 1). An
// interval without either correction is five in a hundred off.
func TestErrorOfTwoMeansOfEqualShifts(t *testing.T) {
	var runs []Run
	var study []StudyRun
	for shift, luck := range lucks {
		for _, unit := range []string{"A", "B"} {
			key := fmt.Sprintf("%s %d", unit, shift)
			for range 2 {
				runs = append(runs, Run{Unit: unit, Shift: key, Class: "simple", Trusses: 5, Minutes: 50 * luck})
			}
			study = append(study, StudyRun{
				Station: "table", Treated: true, After: unit == "B", Week: shift, Class: "simple", Crew: "crew", Shift: key,
				Weight: 10, Minutes: 100 * luck,
			})
		}
	}
	mean, squares := meanAndSquares(lucks)
	one := math.Sqrt(squares/9/10) / mean
	row := LikeForLike(runs, nil, Options{Resamples: 20_000}).Rows[0]
	near(t, "log error", row.LogError/(one*math.Sqrt2), 1, 0.02)
	near(t, "degrees of freedom", row.Freedom, 18, 1e-6)
	near(t, "error of the unit's minutes", row.ShiftError/(10*mean*one), 1, 0.02)
	near(t, "95 % high", math.Log(row.Interval95.High), studentQuantile(0.975, 18)*row.LogError, 1e-9)
	near(t, "99.8 % low", math.Log(row.Interval998.Low), -studentQuantile(0.999, 18)*row.LogError, 1e-9)
	result := Study(study, nil, Options{Resamples: 20_000})
	near(t, "log error of a study", result.LogError/(one*math.Sqrt2), 1, 0.02)
	near(t, "its degrees of freedom", result.Freedom, 18, 1e-6)
	near(t, "its 99 % high", math.Log(result.Interval99.High), studentQuantile(0.995, 18)*result.LogError, 1e-9)
}

// Student's quantiles from the usual tables: 18 degrees of freedom, 2.5 % and 0.5 %.
func TestStudentQuantiles(t *testing.T) {
	near(t, "97.5 %", studentQuantile(0.975, 18), 2.101, 5e-4)
	near(t, "99.5 %", studentQuantile(0.995, 18), 2.878, 5e-4)
}
