package compare

import (
	"fmt"
	"math"
)

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

func (run StudyRun) usable() bool {
	return run.Weight > 0 && !math.IsInf(run.Weight, 0) && run.Minutes > 0 && !math.IsInf(run.Minutes, 0)
}

// StudyCell is one of the four cells of a study.
type StudyCell struct {
	// Runs and Shifts in the common classes.
	Runs, Shifts int64
	// Minutes for one set-up or truss on the common mix, with crews and the cell's
	// stations as they are over the whole study.
	Minutes float64
}

// StudyResult is what a change did. Figures that can't be had are NaN.
type StudyResult struct {
	TreatedBefore, TreatedAfter     StudyCell
	UntreatedBefore, UntreatedAfter StudyCell
	// Compared is true when there were untreated stations before and after, false for
	// before and after alone.
	Compared bool
	// Classes that the treated stations ran before and after, and the share of the mix
	// that they make up.
	Classes  []string
	Coverage float64
	// LeftOutThin and LeftOutFaulty count runs left out, as in Comparison.
	LeftOutThin, LeftOutFaulty int64
	// Effect is the ratio of minutes that the change brought: 0.9 is a tenth less.
	Effect                 float64
	LogError, Freedom      float64
	Interval95, Interval99 Interval
	// Welch and Ranks are second views: treated log shift residuals after, less before.
	// They take the rates and the untreated stations' change as known, so their intervals
	// are somewhat too narrow.
	Welch WelchTest
	Ranks RankTest
	// Drift is the line through the treated stations' weekly log residuals before the
	// change, less the untreated ones' of the same week where there are any.
	Drift      Regression
	DriftWords string
	// Verdict, and its words with the figures that it rests on.
	Verdict Verdict
	Words   string
}

// Study says what a change did to minutes: differences in differences, like for like.
//
// Minutes are taken as weight × class × crew × station × period, and × Effect where a
// changed station is past the change. So a crew that moves between tables takes its pace
// along, and what changed everywhere (weather, season, lumber) is not put down to the
// change. Only classes that the changed stations ran both before and after count. Without
// unchanged stations there is no such correction, and the words say so.
//
// ChangeFound needs the 99 % interval to exclude 1, since a plant asks about more than one
// change; the 95 % interval is what to quote.
func Study(runs []StudyRun, mix map[string]float64, options Options) StudyResult {
	design := newDesign(runs, mix)
	result := StudyResult{
		Compared: design.compared, Coverage: design.coverage, LeftOutThin: design.thin, LeftOutFaulty: design.faulty,
		Effect: math.NaN(), LogError: math.NaN(), Freedom: math.NaN(), Interval95: noInterval(), Interval99: noInterval(),
		Welch: Welch(nil, nil), Ranks: Ranks(nil, nil), Drift: Line(nil, nil),
	}
	for _, class := range design.classes {
		result.Classes = append(result.Classes, class.name)
	}
	cells := []*StudyCell{&result.UntreatedBefore, &result.UntreatedAfter, &result.TreatedBefore, &result.TreatedAfter}
	for number, cell := range cells {
		*cell = StudyCell{Runs: design.runs[number], Shifts: design.shifts[number], Minutes: math.NaN()}
	}
	if !result.ready() {
		result.DriftWords = result.Words
		return result
	}
	fit := newMultiplicative(design.parameters, design.rows)
	fit.run(design.rows, 1e-10)
	last := design.parameters - 1
	if fit.aliased[last] || !fit.converged {
		result.Verdict = CannotTellApart
		result.Words = string(CannotTellApart) + ": the change came together with another crew or station"
		result.DriftWords = result.Words
		return result
	}
	result.Effect = math.Exp(fit.effects[last])
	for number, cell := range cells {
		cell.Minutes = design.minutes(fit, number)
	}
	result.LogError, result.Freedom = design.resample(fit, options)
	if math.IsNaN(result.LogError) {
		result.Verdict = CannotTellApart
		result.Words = string(CannotTellApart) + ": what tells the change from crews and stations hangs on a few shifts"
		result.DriftWords = result.Words
		return result
	}
	result.Interval95 = logInterval(fit.effects[last], result.LogError, result.Freedom, 0.95)
	result.Interval99 = logInterval(fit.effects[last], result.LogError, result.Freedom, 0.99)
	result.Verdict = ChangeNotShown
	if result.Interval99.Excludes(1) {
		result.Verdict = ChangeFound
	}
	result.Words = result.words()
	design.secondViews(fit, &result)
	return result
}

// ready says whether there is data enough, and sets the verdict where there isn't.
func (result *StudyResult) ready() bool {
	cells := []StudyCell{result.TreatedBefore, result.TreatedAfter}
	if result.Compared {
		cells = append(cells, result.UntreatedBefore, result.UntreatedAfter)
	}
	least := cells[0].Shifts
	for _, cell := range cells {
		least = min(least, cell.Shifts)
	}
	switch {
	case len(result.Classes) > 0 && result.Coverage < MinimumCoverage-1e-9:
		result.Verdict = MixTooDifferent
		result.Words = fmt.Sprintf("%s (%.0f %% of the mix was run before and after; %.0f %% needed)",
			MixTooDifferent, math.Floor(100*result.Coverage), 100*MinimumCoverage)
	case least < MinimumStudyShifts:
		result.Verdict = NotEnoughData
		result.Words = fmt.Sprintf("%s (n = %d and %d shifts at the changed stations", NotEnoughData, cells[0].Shifts, cells[1].Shifts)
		if result.Compared {
			result.Words += fmt.Sprintf(", %d and %d at the others", cells[2].Shifts, cells[3].Shifts)
		}
		result.Words += fmt.Sprintf("; %d needed in each)", MinimumStudyShifts)
	default:
		return true
	}
	return false
}

func (result *StudyResult) words() string {
	words := fmt.Sprintf("%s (n = %d shifts before, %d after", result.Verdict, result.TreatedBefore.Shifts, result.TreatedAfter.Shifts)
	if !result.Compared {
		return words + "): before and after alone, with no unchanged station to compare with"
	}
	words += fmt.Sprintf("; unchanged stations %d and %d)", result.UntreatedBefore.Shifts, result.UntreatedAfter.Shifts)
	if result.Verdict == ChangeNotShown && result.Interval95.Excludes(1) {
		words += ": the 95 % interval excludes no change, the 99 % interval does not"
	}
	return words
}
