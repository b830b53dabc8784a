package compare

// FunnelPoint is one unit of a funnel chart.
type FunnelPoint struct {
	Unit   string
	Shifts int64
	Ratio  float64
	// Limits95 and Limits998 around 1 at the point's number of shifts.
	Limits95, Limits998 Interval
}

// Funnel is the chart of ratios against numbers of shifts, with limits around 1.
type Funnel struct {
	// Points by the units' names.
	Points []FunnelPoint
	// Deviation is the standard deviation of a shift's log minutes, Shifts all of them.
	Deviation float64
	Shifts    int64
	// Dispersion is the winsorised factor, 1 unless Tested and found; P its test's.
	Tested        bool
	Dispersion, P float64
	// Words about the test: its outcome, or that the units are too few for one.
	Words string
}
