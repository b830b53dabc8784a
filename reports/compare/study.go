package compare

// StudyRun is one run at a station that had the change, or at one that hadn't.
type StudyRun struct {
	Station string
	// Treated: the station is one of those that were changed.
	Treated bool
	// After: the run finished after the change. Runs of the time of the change itself are
	// for the caller to leave out.
	After bool
	// Week counts weeks in order of time, from any start; for the drift before the change.
	Week  int
	Class string
	Crew  string
	// Shift is the shift worked: station, crew and shift date as one text.
	Shift string
	// Weight is set-ups or trusses, above 0; Minutes those of people for them, above 0.
	Weight  float64
	Minutes float64
}

// StudyCell is one of the four cells of a study.
type StudyCell struct {
	Runs, Shifts int64
	// Minutes for one set-up or truss on the common mix, crews and stations alike.
	Minutes float64
}

// StudyResult is what a change did. Figures that can't be had are NaN.
type StudyResult struct {
	TreatedBefore, TreatedAfter     StudyCell
	UntreatedBefore, UntreatedAfter StudyCell
	// Compared is true when there were untreated stations, false for before and after alone.
	Compared bool
	// Classes that the treated stations ran before and after, and the share of mix that
	// they make up.
	Classes  []string
	Coverage float64
	// LeftOutThin and LeftOutFaulty count runs left out, as in Comparison.
	LeftOutThin, LeftOutFaulty int64
	// Effect is the ratio of minutes that the change brought: 0.9 is a tenth less.
	Effect                 float64
	LogError, Freedom      float64
	Interval95, Interval99 Interval
	// Welch and Ranks are second views: treated log shift residuals after against before.
	Welch WelchTest
	Ranks RankTest
	// Drift is the slope of the treated stations' weekly log residuals before the change.
	Drift      Regression
	DriftWords string
	Verdict    Verdict
	Words      string
}
