package compare

// Signal of an individuals chart.
type Signal struct {
	// Rule is 1 to 4, Index the point (from 0) at which the rule is met.
	Rule  int
	Index int
	// Above says on which side of the mean.
	Above bool
	Words string
}

// Individuals is a chart of single values over time.
type Individuals struct {
	Points                 int
	Mean, MovingRange      float64
	LowerLimit, UpperLimit float64
	// Signals by index, then rule.
	Signals []Signal
	// Enough is false below MinimumChartPoints; Words then say so, and there are neither
	// limits nor signals.
	Enough bool
	Words  string
}
