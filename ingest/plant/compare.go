package plant

import (
	"fmt"
	"math"
)

// Compare is how crews are compared and changes are valued.
type Compare struct {
	TrailingWeeks int    // how far back comparisons look
	LearningWeeks int    // weeks of a new crew, and of a change at its stations, that are left out
	DiscountPct   string // interest a year for net present values, a fraction
	Years         int    // over which a change is valued
}

// whole reads a whole number from low to high.
func (r *reader) whole(section, key string, value *float64, standard, low, high int) int {
	if value == nil {
		return standard
	}
	if *value != math.Trunc(*value) || *value < float64(low) || *value > float64(high) {
		r.fail("out-of-range", section, key, fmt.Sprintf("%s is out of range (%v)", key, *value), fmt.Sprintf("a whole number from %d to %d", low, high))
		return standard
	}
	return int(*value)
}

// changes checks the changes under study against the stations of the plant.
func (r *reader) changes(changes []Change, stations []Station) {
	known := map[string]bool{}
	for _, station := range stations {
		known[station.Code] = true
	}
	seen := map[string]bool{}
	for _, change := range changes {
		switch {
		case change.Code == "":
			r.fail(CodeMissingSetting, "change", "code", "a change has no code", `add code = "…" under its [[change]]`)
		case seen[change.Code]:
			r.fail(CodeBadSetting, "change", "code", fmt.Sprintf("two changes have one code (%s)", change.Code), "each change has its own code")
		case change.On.Year == 0:
			r.fail(CodeMissingSetting, "change", "on", fmt.Sprintf("the change %s has no date", change.Code), "add on = 2026-10-05, the first day with it")
		case len(change.Stations) == 0:
			r.fail(CodeMissingSetting, "change", "stations", fmt.Sprintf("the change %s names no station", change.Code), `add stations = ["T1"]`)
		case change.CostUSD < 0 || change.CostUSD > 1e9 || math.Abs(change.CostUSD*100-math.Round(change.CostUSD*100)) > 1e-6:
			r.fail("out-of-range", "change", "cost_usd", fmt.Sprintf("the cost of the change %s is out of range (%v)", change.Code, change.CostUSD), "dollars and cents, 0 or more")
		}
		for _, station := range change.Stations {
			if !known[station] {
				r.fail("unknown-station", "change", "stations", fmt.Sprintf("the change %s names a station that the plant doesn't have (%s)", change.Code, station), "each station has a [[station]] of its own")
			}
		}
		seen[change.Code] = true
	}
}
