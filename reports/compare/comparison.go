package compare

// Comparison is one unit against all the others together. Figures that can't be had are
// NaN, never 0.
type Comparison struct {
	Unit string
	// Runs, Shifts, Trusses and PeopleHours of the unit, of all classes.
	Runs, Shifts, Trusses int64
	PeopleHours           float64
	// ClassRuns and ClassShifts are those in the classes that both sides ran, OtherRuns
	// and OtherShifts the other side's in those classes.
	ClassRuns, ClassShifts int64
	OtherRuns, OtherShifts int64
	// LeftOut is the caller's count of runs that never came here; LeftOutThin that of the
	// unit's runs in classes too thin on one side; LeftOutFaulty that of its runs without
	// trusses or minutes.
	LeftOut, LeftOutThin, LeftOutFaulty int64
	// Classes that both sides ran, sorted.
	Classes []string
	// Coverage is the share of the plant's mix that those classes make up, 0 to 1.
	Coverage float64
	// RawMinutes and OtherRawMinutes are people-minutes a truss as they stand, all classes.
	RawMinutes, OtherRawMinutes float64
	// Minutes and OtherMinutes are people-minutes a truss on the plant's mix over Classes.
	Minutes, OtherMinutes float64
	// RunError is the standard error of Minutes if each run stood by itself; ShiftError
	// the one from resampling shifts, which is what the intervals rest on.
	RunError, ShiftError float64
	// Ratio is Minutes over OtherMinutes: below 1, fewer minutes for the same work.
	Ratio float64
	// LogError is the standard error of the ratio's logarithm, Freedom its degrees.
	LogError, Freedom float64
	// Interval95 and Interval998 of the ratio.
	Interval95, Interval998 Interval
	// Shrunk is the ratio pulled towards 1 by Weight = tau² ÷ (tau² + LogError²), where
	// tau is how far units differ at large: what to expect of the unit next time.
	Shrunk, Weight float64
	// Verdict, and its words with the figures that it rests on.
	Verdict Verdict
	Words   string
}

// Comparisons of a plant's units, like for like.
type Comparisons struct {
	// Rows by the units' names: no ranking.
	Rows []Comparison
	// Spread is tau, the standard deviation of the units' true log ratios by moments; NaN
	// with too few units. SpreadWords say which.
	Spread      float64
	SpreadWords string
	// UnitsDiffer is a second view: a one-way F test over the units' log shift residuals,
	// taken from a multiplicative fit of class × unit.
	UnitsDiffer FTest
	// ShiftDeviation is the standard deviation of one shift's log minutes around its own
	// unit's pace.
	ShiftDeviation float64
	Funnel         Funnel
}
