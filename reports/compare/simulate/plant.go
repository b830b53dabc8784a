package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"trusstally/reports/compare"
)

// plant is a made plant: what was recorded, what was to be expected, and the truth.
type plant struct {
	// runs as recorded; expected are the same runs without luck.
	runs, expected []compare.Run
	study          []compare.StudyRun
	mix            map[string]float64
	// alike: no crew differs from another and the change does nothing.
	alike bool
	// effect of the change, 1 where it does nothing.
	effect float64
}

// crew of a made plant.
type crew struct {
	name string
	// night crews and day crews never meet at a table.
	night bool
	// firstWeek is above 0 for a crew that was hired later.
	firstWeek int
	pace      []float64
	// taste is how likely a run of each class comes to the crew, as running sums.
	taste []float64
}

// setting is what made plants have in common.
type setting struct {
	// weeks is how many; 0 for 13 to 26 by chance.
	weeks int
	// runLuck is the log deviation of what befalls a single run.
	runLuck float64
}

// newPlant makes one: 3 to 5 crews on two shifts, tables that they change every week, 13 to
// 26 weeks, 4 to 8 classes, mixes that go with pace (slow crews get the easy work), a
// luck of the shift with log deviation 0.08 to 0.15, and one of the run.
func newPlant(random *rand.Rand, common setting) plant {
	made := plant{mix: map[string]float64{}, alike: random.IntN(2) == 0, effect: 1}
	weeks := 13 + random.IntN(14)
	if common.weeks > 0 {
		weeks = common.weeks
	}
	classes := 4 + random.IntN(5)
	rates := make([]float64, classes)
	for class := range rates {
		rates[class] = 8 * math.Exp(random.Float64()*math.Log(7))
	}
	crews := newCrews(random, rates, weeks, made.alike)
	tables := max(2, (len(crews)+1)/2)
	treated := 1 + random.IntN(tables-1)
	changed := weeks/4 + random.IntN(weeks/2)
	if !made.alike && random.IntN(4) > 0 {
		size := 0.05 + 0.15*random.Float64()
		made.effect = math.Exp(-size)
		if random.IntN(4) == 0 {
			made.effect = math.Exp(size)
		}
	}
	fortune := luck{shift: 0.08 + 0.07*random.Float64(), run: common.runLuck}
	for week := range weeks {
		for day := range 5 {
			for number, crew := range crews {
				if week < crew.firstWeek || random.Float64() < 0.08 {
					continue
				}
				table := (number/2 + week) % tables
				made.work(random, crew, rates, fortune, shift{
					table: table, week: week, day: day, treated: table < treated, after: week >= changed,
				})
			}
		}
	}
	for _, run := range made.runs {
		made.mix[run.Class] += float64(run.Trusses)
	}
	return made
}

func newCrews(random *rand.Rand, rates []float64, weeks int, alike bool) []crew {
	crews := make([]crew, 3+random.IntN(3))
	for number := range crews {
		crews[number] = crew{name: fmt.Sprintf("crew %d", number+1), night: number%2 == 1}
		made := &crews[number]
		if number == len(crews)-1 && random.Float64() < 0.4 {
			made.firstWeek = weeks/3 + random.IntN(weeks-weeks/3)
		}
		pace := 0.0
		if !alike {
			pace = 0.09 * random.NormFloat64()
		}
		// A crew's lean to easy work: with its slowness, and with chance.
		lean := 6*pace + 0.6*random.NormFloat64()
		sum := 0.0
		for _, rate := range rates {
			own := pace
			if !alike {
				own += 0.02 * random.NormFloat64()
			}
			made.pace = append(made.pace, math.Exp(own))
			sum += math.Exp(-lean*math.Log(rate/20) + 0.5*random.NormFloat64())
			made.taste = append(made.taste, sum)
		}
	}
	return crews
}

// shift that a crew works at a table.
type shift struct {
	table, week, day int
	treated, after   bool
}

// luck is the log deviation of what befalls a shift and of what befalls a run.
type luck struct{ shift, run float64 }

// factor by which minutes come out otherwise than expected; its mean is 1.
func factor(random *rand.Rand, deviation float64) float64 {
	return math.Exp(deviation*random.NormFloat64() - deviation*deviation/2)
}

// work adds the runs of one crew's shift.
func (made *plant) work(random *rand.Rand, crew crew, rates []float64, fortune luck, at shift) {
	station := fmt.Sprintf("table %d", at.table+1)
	key := fmt.Sprintf("%s %s %03d", crew.name, station, 7*at.week+at.day)
	ofShift := factor(random, fortune.shift)
	for range 3 + random.IntN(6) {
		point := random.Float64() * crew.taste[len(crew.taste)-1]
		class := 0
		for crew.taste[class] < point {
			class++
		}
		trusses := int64(2 + random.IntN(16))
		expected := float64(trusses) * rates[class] * crew.pace[class]
		if at.treated && at.after {
			expected *= made.effect
		}
		minutes := expected * ofShift * factor(random, fortune.run)
		run := compare.Run{Unit: crew.name, Shift: key, Class: fmt.Sprintf("class %d", class+1), Trusses: trusses, Minutes: minutes}
		made.runs = append(made.runs, run)
		made.study = append(made.study, compare.StudyRun{
			Station: station, Treated: at.treated, After: at.after, Week: at.week, Class: run.Class, Crew: crew.name,
			Shift: key, Weight: float64(trusses), Minutes: minutes,
		})
		run.Minutes = expected
		made.expected = append(made.expected, run)
	}
}
