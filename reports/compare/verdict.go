package compare

import "math"

// Verdict is what may be said of a comparison or of a change.
type Verdict string

// The verdicts. There is no other, and none ranks.
const (
	// Different: the 99.8 % interval of the ratio excludes 1.
	Different Verdict = "different"
	// NoDifferenceShown: it doesn't. That is not a proof that there is none.
	NoDifferenceShown Verdict = "no difference shown"
	// MixTooDifferent: the classes that both sides ran make up too little of the mix.
	MixTooDifferent Verdict = "mix too different"
	// NotEnoughData: fewer shifts or runs than the method needs.
	NotEnoughData Verdict = "not enough data"
	// ChangeFound: the 99 % interval of a change's effect excludes 1.
	ChangeFound Verdict = "found"
	// ChangeNotShown: it doesn't.
	ChangeNotShown Verdict = "not shown"
	// CannotTellApart: the change fell together with another one (a crew that came with
	// it, a class that only then was built), so that no figures can say which it was.
	CannotTellApart Verdict = "cannot be told apart"
	// OnlyOne: there is nothing to compare with.
	OnlyOne Verdict = "nothing to compare with"
)

// Interval of a ratio or of another figure. Both ends are NaN where there is none.
type Interval struct {
	Low, High float64
}

// Excludes says whether the value lies outside of the interval; never where there is none.
func (interval Interval) Excludes(value float64) bool {
	return value < interval.Low || value > interval.High
}

// Known says whether there is an interval.
func (interval Interval) Known() bool {
	return !math.IsNaN(interval.Low) && !math.IsNaN(interval.High)
}

func noInterval() Interval { return Interval{Low: math.NaN(), High: math.NaN()} }
