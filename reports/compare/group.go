package compare

import "math"

// group is the runs whose one rate (minutes a truss) enters a comparison: those of one unit
// in one class or, on the other side, those of several units that each have too few.
type group struct {
	class            int
	runs, shifts     int64
	trusses, minutes float64
	squares          float64
	entries          []groupEntry
}

// groupEntry is one shift's part of a group.
type groupEntry struct {
	shift            int
	trusses, minutes float64
	// spread is minutes with the residual widened for resampling.
	spread float64
}

func (g *group) add(tallies ...tally) {
	for _, tally := range tallies {
		g.runs += tally.runs
		g.shifts++
		g.trusses += tally.trusses
		g.minutes += tally.minutes
		g.squares += tally.squares
		g.entries = append(g.entries, groupEntry{shift: tally.shift, trusses: tally.trusses, minutes: tally.minutes})
	}
}

func (g *group) rate() float64 { return g.minutes / g.trusses }

func (g *group) enough() bool {
	return g.runs >= MinimumClassRuns && g.shifts >= MinimumClassShifts
}

// widen prepares the group for resampling with Rubin's weights, which spread a mean of n
// shifts by n/(n+1) too little; n is the effective number where shifts differ in size.
func (g *group) widen() {
	squares := 0.0
	for _, entry := range g.entries {
		squares += entry.trusses * entry.trusses
	}
	scale := math.Sqrt(1 + squares/(g.trusses*g.trusses))
	rate := g.rate()
	for i := range g.entries {
		entry := &g.entries[i]
		fitted := rate * entry.trusses
		entry.spread = fitted + scale*(entry.minutes-fitted)
	}
}

// resampled is the group's rate with each shift counted weights[shift] times.
func (g *group) resampled(weights []float64) float64 {
	trusses, minutes := 0.0, 0.0
	for i := range g.entries {
		entry := &g.entries[i]
		weight := weights[entry.shift]
		trusses += weight * entry.trusses
		minutes += weight * entry.spread
	}
	return minutes / trusses
}

// side is one side of a comparison: its groups, and each one's part in the figure on the
// common mix, minutes = Σ part × rate.
type side struct {
	groups []int
	parts  []float64
}

func (s side) minutes(rates []float64) float64 {
	sum := 0.0
	for i, g := range s.groups {
		sum += s.parts[i] * rates[g]
	}
	return sum
}

// runError is the standard error of the side's minutes if runs stood by themselves: the
// spread between runs of a cell pooled over all cells, as in a two-way layout with
// unequal numbers (Searle, Speed and Milliken, The American Statistician 34, 1980).
func (s side) runError(groups []*group, variance float64) float64 {
	sum := 0.0
	for i, g := range s.groups {
		sum += s.parts[i] * s.parts[i] / groups[g].trusses
	}
	return math.Sqrt(variance * sum)
}

// pooledVariance is that of one truss's minutes between the runs of a group; NaN where no
// group has two runs.
func pooledVariance(groups []*group) float64 {
	squares, freedom := 0.0, int64(0)
	for _, g := range groups {
		if g.runs > 0 {
			squares += max(0, g.squares-g.minutes*g.minutes/g.trusses)
			freedom += g.runs - 1
		}
	}
	if freedom == 0 {
		return math.NaN()
	}
	return squares / float64(freedom)
}
