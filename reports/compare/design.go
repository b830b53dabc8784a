package compare

import (
	"cmp"
	"maps"
	"math"
	"slices"
)

// design is a study's runs laid out for the multiplicative fit.
type design struct {
	classes  []designClass
	coverage float64
	compared bool
	// runs and shifts by cell: 0 untreated before, 1 untreated after, 2 treated before,
	// 3 treated after.
	runs, shifts [4]int64
	thin, faulty int64
	// crews and stations: their share of the weight, the stations' of their own group.
	crews, stations []designLevel
	parameters      int
	// rows are the patterns of effects that occur; parts each shift's share of them.
	rows  []fitRow
	parts []designPart
	// cellOf, treatedOf and weekOf by shift.
	cellOf, weekOf []int
}

type designClass struct {
	name  string
	share float64
}

type designLevel struct {
	name    string
	treated bool
	share   float64
}

// designPart is what one shift did of one pattern.
type designPart struct {
	shift, row      int
	weight, minutes float64
	// spread is minutes with the residual widened for resampling.
	spread float64
}

func cellNumber(treated, after bool) int {
	number := 0
	if treated {
		number += 2
	}
	if after {
		number++
	}
	return number
}

func newDesign(runs []StudyRun, mix map[string]float64) *design {
	d := &design{}
	good := make([]StudyRun, 0, len(runs))
	for _, run := range runs {
		if run.usable() {
			good = append(good, run)
		} else {
			d.faulty++
		}
	}
	slices.SortFunc(good, func(a, b StudyRun) int {
		return cmp.Or(cmp.Compare(cellNumber(a.Treated, a.After), cellNumber(b.Treated, b.After)), cmp.Compare(a.Shift, b.Shift),
			cmp.Compare(a.Station, b.Station), cmp.Compare(a.Crew, b.Crew), cmp.Compare(a.Class, b.Class),
			cmp.Compare(a.Week, b.Week), cmp.Compare(a.Weight, b.Weight), cmp.Compare(a.Minutes, b.Minutes))
	})
	common := d.commonClasses(good, mix)
	kept := good[:0]
	both := [4]bool{}
	for _, run := range good {
		if _, found := common[run.Class]; !found {
			d.thin++
			continue
		}
		kept = append(kept, run)
		both[cellNumber(run.Treated, run.After)] = true
	}
	d.compared = both[0] && both[1]
	if !d.compared {
		d.thin += int64(len(kept))
		kept = slices.DeleteFunc(kept, func(run StudyRun) bool { return !run.Treated })
		d.thin -= int64(len(kept))
	}
	d.lay(kept, common)
	return d
}

// commonClasses finds the classes that the treated stations ran both before and after,
// with enough runs and shifts each time, and their shares of the mix.
func (d *design) commonClasses(good []StudyRun, mix map[string]float64) map[string]int {
	type seen struct {
		runs   [2]int
		shifts [2]map[string]bool
	}
	classes := map[string]*seen{}
	own := map[string]float64{}
	for _, run := range good {
		if !run.Treated {
			continue
		}
		class := classes[run.Class]
		if class == nil {
			class = &seen{shifts: [2]map[string]bool{{}, {}}}
			classes[run.Class] = class
		}
		period := cellNumber(false, run.After)
		class.runs[period]++
		class.shifts[period][run.Shift] = true
		own[run.Class] += run.Weight
	}
	whole := mixSum(mix)
	if whole == 0 {
		mix, whole = own, mixSum(own)
	}
	common := map[string]int{}
	for _, name := range slices.Sorted(maps.Keys(classes)) {
		class := classes[name]
		enough := mix[name] > 0
		for period := range 2 {
			enough = enough && class.runs[period] >= MinimumClassRuns && len(class.shifts[period]) >= MinimumClassShifts
		}
		if enough {
			common[name] = len(d.classes)
			d.classes = append(d.classes, designClass{name: name, share: mix[name] / whole})
			d.coverage += mix[name] / whole
		}
	}
	return common
}

// mixSum adds up a mix in the order of its names.
func mixSum(mix map[string]float64) float64 {
	whole := 0.0
	for _, name := range slices.Sorted(maps.Keys(mix)) {
		whole += max(0, mix[name])
	}
	return whole
}

// lay numbers the effects (one rate, classes, crews, stations, period, effect) and gathers
// the runs, sorted, by shift and pattern.
func (d *design) lay(runs []StudyRun, common map[string]int) {
	crews, stations := map[string]int{}, map[string]int{}
	crewWeight, stationWeight := map[string]float64{}, map[string]float64{}
	stationTreated := map[string]bool{}
	whole, group := 0.0, [2]float64{}
	for _, run := range runs {
		crewWeight[run.Crew] += run.Weight
		stationWeight[run.Station] += run.Weight
		stationTreated[run.Station] = run.Treated
		whole += run.Weight
		group[cellNumber(false, run.Treated)] += run.Weight
	}
	for _, name := range slices.Sorted(maps.Keys(crewWeight)) {
		crews[name] = len(d.crews)
		d.crews = append(d.crews, designLevel{name: name, share: crewWeight[name] / whole})
	}
	for _, name := range slices.Sorted(maps.Keys(stationWeight)) {
		stations[name] = len(d.stations)
		treated := stationTreated[name]
		d.stations = append(d.stations, designLevel{name: name, treated: treated, share: stationWeight[name] / group[cellNumber(false, treated)]})
	}
	d.parameters = max(1, len(d.classes)) + max(0, len(d.crews)-1) + max(0, len(d.stations)-1) + 1
	if d.compared {
		d.parameters++
	}
	patterns := map[[4]int]int{}
	for i, run := range runs {
		cell := cellNumber(run.Treated, run.After)
		key := [4]int{common[run.Class], crews[run.Crew], stations[run.Station], cell}
		row, found := patterns[key]
		if !found {
			row = len(d.rows)
			patterns[key] = row
			d.rows = append(d.rows, fitRow{columns: d.columns(key[0], key[1], key[2], cell)})
		}
		newShift := i == 0 || run.Shift != runs[i-1].Shift || cell != d.cellOf[len(d.cellOf)-1]
		if newShift {
			d.cellOf = append(d.cellOf, cell)
			d.weekOf = append(d.weekOf, run.Week)
			d.shifts[cell]++
		}
		d.runs[cell]++
		shift := len(d.cellOf) - 1
		if newShift || d.parts[len(d.parts)-1].row != row {
			d.parts = append(d.parts, designPart{shift: shift, row: row})
		}
		part := &d.parts[len(d.parts)-1]
		part.weight += run.Weight
		part.minutes += run.Minutes
		d.rows[row].weight += run.Weight
		d.rows[row].minutes += run.Minutes
	}
}

// columns of a pattern. The change's own effect is the last column, so that it is the one
// left out where the others explain it.
func (d *design) columns(class, crew, station, cell int) []int {
	columns := []int{0}
	base := 0
	if class > 0 {
		columns = append(columns, base+class)
	}
	base += len(d.classes) - 1
	if crew > 0 {
		columns = append(columns, base+crew)
	}
	base += len(d.crews) - 1
	if station > 0 {
		columns = append(columns, base+station)
	}
	if d.compared && cell%2 == 1 {
		columns = append(columns, d.parameters-2)
	}
	if cell == 3 {
		columns = append(columns, d.parameters-1)
	}
	return columns
}

// minutes for one set-up or truss in a cell: the common mix, all crews by their share of
// the study, the cell's stations by theirs.
func (d *design) minutes(fit *multiplicative, cell int) float64 {
	if !d.compared && cell < 2 {
		return math.NaN()
	}
	effect := func(column int, first bool) float64 {
		if first {
			return 1
		}
		return math.Exp(fit.effects[column])
	}
	class, crew, station := 0.0, 0.0, 0.0
	for i, level := range d.classes {
		class += level.share / d.coverage * effect(i, i == 0)
	}
	base := len(d.classes) - 1
	for i, level := range d.crews {
		crew += level.share * effect(base+i, i == 0)
	}
	base += len(d.crews) - 1
	for i, level := range d.stations {
		if level.treated == (cell >= 2) {
			station += level.share * effect(base+i, i == 0)
		}
	}
	minutes := math.Exp(fit.effects[0]) * class * crew * station
	if d.compared && cell%2 == 1 {
		minutes *= math.Exp(fit.effects[d.parameters-2])
	}
	if cell == 3 {
		minutes *= math.Exp(fit.effects[d.parameters-1])
	}
	return minutes
}
