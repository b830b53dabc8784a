package compare

import (
	"fmt"

	"gonum.org/v1/gonum/stat/distuv"
)

// PoissonInterval returns the exact interval of the expected number of cases when so many
// were counted, at a confidence between 0 and 1: half the chi-squared quantile of 2 × cases
// degrees of freedom at (1 − confidence) ÷ 2, and half that of 2 × cases + 2 at
// (1 + confidence) ÷ 2 (Garwood, Biometrika 1936;28:437–442). With 0 cases low is 0. It
// panics when cases is below 0 or confidence is not between 0 and 1.
func PoissonInterval(cases int, confidence float64) (low, high float64) {
	if cases < 0 || !(confidence > 0 && confidence < 1) {
		panic(fmt.Sprintf("no Poisson interval of %d cases at %v", cases, confidence))
	}
	if cases > 0 {
		low = distuv.ChiSquared{K: 2 * float64(cases)}.Quantile((1-confidence)/2) / 2
	}
	return low, distuv.ChiSquared{K: 2*float64(cases) + 2}.Quantile((1+confidence)/2) / 2
}
