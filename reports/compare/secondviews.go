package compare

// FTest is a one-way analysis of variance.
type FTest struct {
	F, P              float64
	Between, Within   int
	ResidualDeviation float64
	Enough            bool
}

// WelchTest compares two means without equal variances.
type WelchTest struct {
	// Difference is the first mean less the second.
	Difference, T, Freedom, P float64
	Interval95                Interval
	Enough                    bool
}

// RankTest is the two-sample rank test of Wilcoxon.
type RankTest struct {
	// W counts pairs in which the first sample's value is larger.
	W float64
	// PGreater that the first sample's values are not larger; P of both sides.
	PGreater, P float64
	// Shift is the median difference (Hodges and Lehmann).
	Shift      float64
	Interval95 Interval
	Exact      bool
	Enough     bool
}

// Regression is a straight line by least squares.
type Regression struct {
	Points                     int
	Intercept, Slope           float64
	InterceptError, SlopeError float64
	ResidualDeviation, SlopeP  float64
	Enough                     bool
}
