package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// stream tells the package's random numbers from any other use of the same seed.
const stream = 0x7472757373

// LikeForLike compares each unit with all the others together by direct standardisation:
// both sides' rates by class are applied to one mix, over the classes that both ran. mix is
// the plant's, trusses by class; without one the runs' own trusses are it.
//
// The other side's rate of a class is that of its trusses, whoever built them. Its
// interval therefore says how sure the ratio is for these units with these shares of the
// work; it does not say what a plant with other units would show.
func LikeForLike(runs []Run, mix map[string]float64, options Options) Comparisons {
	plant := newSample(runs)
	matching := newMatching(plant, mix)
	result := Comparisons{Rows: make([]Comparison, len(plant.units))}
	for unit := range plant.units {
		result.Rows[unit] = matching.row(unit, options)
	}
	matching.resample(result.Rows, options)
	result.UnitsDiffer = plant.unitsDiffer()
	result.ShiftDeviation = result.UnitsDiffer.ResidualDeviation
	for unit := range result.Rows {
		result.Rows[unit].judge()
	}
	result.shrink()
	result.Funnel = newFunnel(result)
	return result
}

// matching holds the two sides of every comparison of a plant.
type matching struct {
	plant  *sample
	shares []float64
	groups []*group
	// cells are the groups of one unit and class, nil where it has none.
	cells [][]*group
	// own and others are the sides by unit; scale is 1 ÷ the mix that they cover.
	own, others []side
}

func newMatching(plant *sample, mix map[string]float64) *matching {
	m := &matching{
		plant: plant, shares: plant.shares(mix), cells: make([][]*group, len(plant.units)),
		own: make([]side, len(plant.units)), others: make([]side, len(plant.units)),
	}
	for unit := range m.cells {
		m.cells[unit] = make([]*group, len(plant.classes))
	}
	for _, tally := range plant.tallies {
		cell := &m.cells[plant.unitOf[tally.shift]][tally.class]
		if *cell == nil {
			*cell = &group{class: tally.class}
		}
		(*cell).add(tally)
	}
	return m
}

// place gives a group's number, which it gets at its first use.
func (m *matching) place(known map[*group]int, g *group) int {
	if place, found := known[g]; found {
		return place
	}
	known[g] = len(m.groups)
	m.groups = append(m.groups, g)
	g.widen()
	return known[g]
}

// against gives the groups of all units but one in a class: each unit's own where it has
// enough, and one of all the rest together, if that has.
func (m *matching) against(unit, class int) (groups []*group) {
	rest := &group{class: class}
	for other := range m.cells {
		cell := m.cells[other][class]
		if other == unit || cell == nil {
			continue
		}
		if cell.enough() {
			groups = append(groups, cell)
			continue
		}
		for _, tally := range m.plant.tallies {
			if tally.class == class && m.plant.unitOf[tally.shift] == other {
				rest.add(tally)
			}
		}
	}
	if rest.enough() {
		groups = append(groups, rest)
	}
	return groups
}

// row fills what is known of a unit before resampling, and its two sides.
func (m *matching) row(unit int, options Options) Comparison {
	plant := m.plant
	name := plant.units[unit]
	row := Comparison{
		Unit: name, LeftOut: options.LeftOut[name], LeftOutFaulty: plant.faulty[name], Minutes: math.NaN(),
		OtherMinutes: math.NaN(), RunError: math.NaN(), ShiftError: math.NaN(), Ratio: math.NaN(), LogError: math.NaN(),
		Freedom: math.NaN(), Interval95: noInterval(), Interval998: noInterval(), Shrunk: math.NaN(), Weight: math.NaN(),
	}
	var minutes, otherMinutes, otherTrusses float64
	for _, tally := range plant.tallies {
		if plant.unitOf[tally.shift] != unit {
			otherMinutes += tally.minutes
			otherTrusses += tally.trusses
			continue
		}
		minutes += tally.minutes
		row.Runs += tally.runs
		row.Trusses += int64(tally.trusses)
	}
	for _, owner := range plant.unitOf {
		if owner == unit {
			row.Shifts++
		}
	}
	row.PeopleHours = minutes / 60
	row.RawMinutes = minutes / float64(row.Trusses)
	row.OtherRawMinutes = otherMinutes / otherTrusses

	known := make(map[*group]int, len(m.groups))
	for place, g := range m.groups {
		known[g] = place
	}
	shifts := make([]bool, len(plant.unitOf))
	for class, className := range plant.classes {
		cell := m.cells[unit][class]
		against := m.against(unit, class)
		if m.shares[class] == 0 || cell == nil || !cell.enough() || len(against) == 0 {
			continue
		}
		row.Classes = append(row.Classes, className)
		row.Coverage += m.shares[class]
		row.ClassRuns += cell.runs
		m.own[unit].take(m.place(known, cell), m.shares[class])
		mark(shifts, cell)
		trusses := 0.0
		for _, g := range against {
			trusses += g.trusses
		}
		for _, g := range against {
			row.OtherRuns += g.runs
			m.others[unit].take(m.place(known, g), m.shares[class]*g.trusses/trusses)
			mark(shifts, g)
		}
	}
	for shift, used := range shifts {
		switch {
		case used && plant.unitOf[shift] == unit:
			row.ClassShifts++
		case used:
			row.OtherShifts++
		}
	}
	row.LeftOutThin = row.Runs - row.ClassRuns
	if len(row.Classes) == 0 {
		return row
	}
	m.own[unit].divide(row.Coverage)
	m.others[unit].divide(row.Coverage)
	rates := m.rates()
	row.Minutes = m.own[unit].minutes(rates)
	row.OtherMinutes = m.others[unit].minutes(rates)
	row.Ratio = row.Minutes / row.OtherMinutes
	row.RunError = m.own[unit].runError(m.groups, pooledVariance(m.allCells()))
	return row
}

func (s *side) take(place int, part float64) {
	s.groups = append(s.groups, place)
	s.parts = append(s.parts, part)
}

func (s *side) divide(whole float64) {
	for i := range s.parts {
		s.parts[i] /= whole
	}
}

func mark(shifts []bool, g *group) {
	for _, entry := range g.entries {
		shifts[entry.shift] = true
	}
}

func (m *matching) rates() []float64 {
	rates := make([]float64, len(m.groups))
	for place, g := range m.groups {
		rates[place] = g.rate()
	}
	return rates
}

func (m *matching) allCells() (cells []*group) {
	for unit := range m.cells {
		for _, cell := range m.cells[unit] {
			if cell != nil {
				cells = append(cells, cell)
			}
		}
	}
	return cells
}

// resample fills the rows' standard errors: every shift gets a weight of mean 1 and
// variance 1 (the Bayesian bootstrap, Rubin, Annals of Statistics 9, 1981), so that no cell
// is ever empty, and all rates are taken anew.
func (m *matching) resample(rows []Comparison, options Options) {
	random := rand.New(rand.NewPCG(options.Seed, stream))
	weights := make([]float64, len(m.plant.unitOf))
	rates := make([]float64, len(m.groups))
	logarithms := make([]spread, len(rows))
	minutes := make([]spread, len(rows))
	for range options.resamples() {
		for shift := range weights {
			weights[shift] = random.ExpFloat64()
		}
		for place, g := range m.groups {
			rates[place] = g.resampled(weights)
		}
		for unit := range rows {
			if len(rows[unit].Classes) == 0 {
				continue
			}
			own := m.own[unit].minutes(rates)
			others := m.others[unit].minutes(rates)
			if !(own > 0) || !(others > 0) {
				continue
			}
			logarithms[unit].add(math.Log(own / others))
			minutes[unit].add(own)
		}
	}
	for unit := range rows {
		row := &rows[unit]
		if len(row.Classes) == 0 {
			continue
		}
		alone, _ := m.influence(m.own[unit]).calibrate()
		row.ShiftError = minutes[unit].deviation() / math.Sqrt(alone)
		share, freedom := m.influence(m.own[unit], m.others[unit]).calibrate()
		row.LogError = logarithms[unit].deviation() / math.Sqrt(share)
		row.Freedom = freedom
	}
}

// influence of the shifts on the logarithm of the sides' minutes.
func (m *matching) influence(sides ...side) influence {
	rates := m.rates()
	columns := 0
	for _, s := range sides {
		columns += len(s.groups)
	}
	model := newInfluence(len(m.plant.unitOf), columns)
	column := 0
	for number, s := range sides {
		sign := 1.0
		if number > 0 {
			sign = -1
		}
		whole := s.minutes(rates)
		for i, place := range s.groups {
			g := m.groups[place]
			part := sign * s.parts[i] * rates[place] / whole
			for _, entry := range g.entries {
				share := entry.trusses / g.trusses
				model.direct[entry.shift] += part * share
				model.weights.Set(entry.shift, column, part*share)
				model.response.Set(column, entry.shift, share)
			}
			column++
		}
	}
	return model
}

// judge fills a row's intervals and verdict. What does not reach the minima gets neither
// interval nor ratio's verdict.
func (row *Comparison) judge() {
	switch {
	case row.Runs == 0 || math.IsNaN(row.OtherRawMinutes):
		row.Verdict = OnlyOne
		if row.Runs == 0 {
			row.Verdict = NotEnoughData
		}
		row.Words = string(row.Verdict)
	case row.Shifts < MinimumShifts || row.Runs < MinimumRuns:
		row.Verdict = NotEnoughData
		row.Words = fmt.Sprintf("%s (n = %d shifts, %d runs; %d and %d needed)", NotEnoughData, row.Shifts, row.Runs, MinimumShifts, MinimumRuns)
	case row.Coverage < MinimumCoverage-1e-9:
		row.Verdict = MixTooDifferent
		row.Words = fmt.Sprintf("%s (%.0f %% of the plant's mix was run by both sides; %.0f %% needed)", MixTooDifferent, math.Floor(100*row.Coverage), 100*MinimumCoverage)
	case row.ClassShifts < MinimumShifts || row.ClassRuns < MinimumRuns || row.OtherShifts < MinimumShifts || row.OtherRuns < MinimumRuns:
		row.Verdict = NotEnoughData
		row.Words = fmt.Sprintf("%s (n = %d shifts against %d in the common classes; %d needed)", NotEnoughData, row.ClassShifts, row.OtherShifts, MinimumShifts)
	default:
		logarithm := math.Log(row.Ratio)
		row.Interval95 = logInterval(logarithm, row.LogError, row.Freedom, 0.95)
		row.Interval998 = logInterval(logarithm, row.LogError, row.Freedom, 0.998)
		row.Verdict = NoDifferenceShown
		if row.Interval998.Excludes(1) {
			row.Verdict = Different
		}
		row.Words = fmt.Sprintf("%s (n = %d shifts against %d)", row.Verdict, row.ClassShifts, row.OtherShifts)
	}
}

// judged says whether the row has come to a comparison.
func (row *Comparison) judged() bool {
	return row.Verdict == Different || row.Verdict == NoDifferenceShown
}

// shrink fills tau and the rows' shrunk ratios. The units' log ratios have the mean 0 by
// their making (each against all the others), so tau² is the mean of their squares less
// that of their variances (method of moments), at least 0.
func (result *Comparisons) shrink() {
	result.Spread = math.NaN()
	count, moment := 0, 0.0
	for i := range result.Rows {
		row := &result.Rows[i]
		if row.judged() && row.LogError > 0 {
			count++
			logarithm := math.Log(row.Ratio)
			moment += logarithm*logarithm - row.LogError*row.LogError
		}
	}
	if count < MinimumShrinkUnits {
		result.SpreadWords = fmt.Sprintf("%d units compared: too few to say how far units differ at large (%d needed), so nothing is shrunk", count, MinimumShrinkUnits)
		return
	}
	square := max(0, moment/float64(count))
	result.Spread = math.Sqrt(square)
	result.SpreadWords = fmt.Sprintf("%d units differ by a standard deviation of %.1f %% at large", count, 100*result.Spread)
	if square == 0 {
		result.SpreadWords = fmt.Sprintf("%d units differ no more than their shifts do", count)
	}
	for i := range result.Rows {
		row := &result.Rows[i]
		if row.judged() && row.LogError > 0 {
			row.Weight = square / (square + row.LogError*row.LogError)
			row.Shrunk = math.Exp(row.Weight * math.Log(row.Ratio))
		}
	}
}
