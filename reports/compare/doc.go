// Package compare holds the statistics behind the owner's book: which crews and shifts do
// differ when the work is alike, whether a value over time is out of its limits, and what
// a change did.
//
// Its entries are
//
//	LikeForLike(runs []Run, mix map[string]float64, options Options) Comparisons
//	Study(runs []StudyRun, mix map[string]float64, options Options) StudyResult
//	IndividualsChart(values []float64) Individuals
//
// with Payback, NetPresentValue, IncidenceRate and PoissonInterval beside them.
//
// Pipeline: beside the ledgers; a caller reads runs from the warehouse, hands them over,
// and puts what comes back where the sheets' SQL reads it.
//
// It must not know: the warehouse, wages, or how a figure is printed.
package compare
