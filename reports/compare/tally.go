package compare

import (
	"cmp"
	"slices"
)

// tally is what one shift built of one class.
type tally struct {
	shift, class     int
	runs             int64
	trusses, minutes float64
	// squares sums minutes² ÷ trusses of the runs, for the spread between runs.
	squares float64
}

// sample is a plant's runs by shift and class, in an order that does not depend on the
// order of the runs.
type sample struct {
	units   []string
	classes []string
	// unitOf and spans are by shift: its unit, and its tallies [from, until).
	unitOf  []int
	spans   [][2]int
	tallies []tally
	// faulty counts, by unit, runs without trusses or minutes.
	faulty map[string]int64
}

func newSample(runs []Run) *sample {
	plant := &sample{faulty: map[string]int64{}}
	good := make([]Run, 0, len(runs))
	units, classes := map[string]bool{}, map[string]bool{}
	for _, run := range runs {
		if !units[run.Unit] {
			units[run.Unit] = true
			plant.units = append(plant.units, run.Unit)
		}
		if !run.usable() {
			plant.faulty[run.Unit]++
			continue
		}
		if !classes[run.Class] {
			classes[run.Class] = true
			plant.classes = append(plant.classes, run.Class)
		}
		good = append(good, run)
	}
	slices.Sort(plant.units)
	slices.Sort(plant.classes)
	unitNumbers, classNumbers := numbers(plant.units), numbers(plant.classes)
	slices.SortFunc(good, func(a, b Run) int {
		return cmp.Or(cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Shift, b.Shift), cmp.Compare(a.Class, b.Class),
			cmp.Compare(a.Trusses, b.Trusses), cmp.Compare(a.Minutes, b.Minutes))
	})
	for i, run := range good {
		newShift := i == 0 || run.Unit != good[i-1].Unit || run.Shift != good[i-1].Shift
		if newShift {
			plant.unitOf = append(plant.unitOf, unitNumbers[run.Unit])
			plant.spans = append(plant.spans, [2]int{len(plant.tallies), len(plant.tallies)})
		}
		shift := len(plant.unitOf) - 1
		if newShift || run.Class != good[i-1].Class {
			plant.tallies = append(plant.tallies, tally{shift: shift, class: classNumbers[run.Class]})
			plant.spans[shift][1]++
		}
		last := &plant.tallies[len(plant.tallies)-1]
		last.runs++
		last.trusses += float64(run.Trusses)
		last.minutes += run.Minutes
		last.squares += run.Minutes * run.Minutes / float64(run.Trusses)
	}
	return plant
}

func numbers(names []string) map[string]int {
	places := make(map[string]int, len(names))
	for i, name := range names {
		places[name] = i
	}
	return places
}

// shares gives each class's share of the mix. Classes outside of the sample count in the
// whole, so that they lower coverage. Without any mix the sample's own trusses are it.
func (plant *sample) shares(mix map[string]float64) []float64 {
	shares := make([]float64, len(plant.classes))
	names := make([]string, 0, len(mix))
	for name := range mix {
		names = append(names, name)
	}
	slices.Sort(names)
	whole := 0.0
	for _, name := range names {
		if mix[name] > 0 {
			whole += mix[name]
		}
	}
	if whole > 0 {
		for class, name := range plant.classes {
			shares[class] = max(0, mix[name]) / whole
		}
		return shares
	}
	for _, tally := range plant.tallies {
		whole += tally.trusses
		shares[tally.class] += tally.trusses
	}
	for class := range shares {
		shares[class] /= whole
	}
	return shares
}
