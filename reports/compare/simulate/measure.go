package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"trusstally/reports/compare"
)

// share counts how many of how many.
type share struct{ of, hits int }

func (s *share) add(hit bool) {
	s.of++
	if hit {
		s.hits++
	}
}

func (s share) value() float64 {
	if s.of == 0 {
		return math.NaN()
	}
	return float64(s.hits) / float64(s.of)
}

func (s share) String() string {
	return fmt.Sprintf("%.1f %% (%d of %d)", 100*s.value(), s.hits, s.of)
}

// figures of a simulation.
type figures struct {
	plants, resamples int
	seed              uint64
	setting           setting
	// crews95 and crews998 count comparisons whose interval covers the truth; new crews'
	// apart as well. changes95 and alone95 do so for changes, with and without unchanged
	// stations.
	crews95, crews998, fewShifts95 share
	changes95, changes99, alone95  share
	// falseCrews, falseChanges and falsePlants count plants where nothing differs in which
	// a crew, a change, either is called.
	falseCrews, falseChanges, falsePlants share
	// seenCrews and seenChanges count true differences of a tenth and more that are called.
	seenCrews, seenChanges share
	// silent counts comparisons that were refused for want of data or of common classes.
	silent share
}

// measure tries so many plants.
func measure(plants, resamples int, seed uint64, common setting) figures {
	found := figures{plants: plants, resamples: resamples, seed: seed, setting: common}
	random := rand.New(rand.NewPCG(seed, 1))
	for range plants {
		found.try(newPlant(random, common))
	}
	return found
}

func (found *figures) try(made plant) {
	options := compare.Options{Resamples: found.resamples, Seed: found.seed}
	result := compare.LikeForLike(made.runs, made.mix, options)
	truth := compare.LikeForLike(made.expected, made.mix, compare.Options{Resamples: 2})
	crewCalled := false
	for i, row := range result.Rows {
		judged := row.Verdict == compare.Different || row.Verdict == compare.NoDifferenceShown
		found.silent.add(!judged)
		if !judged {
			continue
		}
		ratio := truth.Rows[i].Ratio
		covered := !row.Interval95.Excludes(ratio)
		found.crews95.add(covered)
		found.crews998.add(!row.Interval998.Excludes(ratio))
		if row.ClassShifts < 30 {
			found.fewShifts95.add(covered)
		}
		called := row.Verdict == compare.Different
		crewCalled = crewCalled || called
		if math.Abs(math.Log(ratio)) >= math.Log(1.1) {
			found.seenCrews.add(called)
		}
	}
	study := compare.Study(made.study, made.mix, options)
	if study.Interval95.Known() {
		found.changes95.add(!study.Interval95.Excludes(made.effect))
		found.changes99.add(!study.Interval99.Excludes(made.effect))
		if math.Abs(math.Log(made.effect)) >= math.Log(1.1) {
			found.seenChanges.add(study.Verdict == compare.ChangeFound)
		}
	}
	var treated []compare.StudyRun
	for _, run := range made.study {
		if run.Treated {
			treated = append(treated, run)
		}
	}
	alone := compare.Study(treated, made.mix, options)
	if alone.Interval95.Known() {
		found.alone95.add(!alone.Interval95.Excludes(made.effect))
	}
	if made.alike {
		changeCalled := study.Verdict == compare.ChangeFound
		found.falseCrews.add(crewCalled)
		found.falseChanges.add(changeCalled)
		found.falsePlants.add(crewCalled || changeCalled)
	}
}

// bound is what a figure must lie within.
type bound struct {
	name        string
	value       share
	least, most float64
}

func (found figures) bounds(least, most, mostFalse float64) []bound {
	return []bound{
		{"95 % intervals of crews that cover", found.crews95, least, most},
		{"95 % intervals of changes that cover", found.changes95, least, most},
		{"95 % intervals of changes without unchanged stations that cover", found.alone95, least, most},
		{"plants where nothing differs and something is called", found.falsePlants, 0, mostFalse},
	}
}

// out lists the bounds that do not hold.
func out(bounds []bound) (names []string) {
	for _, one := range bounds {
		value := one.value.value()
		if !(value >= one.least && value <= one.most) {
			names = append(names, fmt.Sprintf("%s: %s, not within %.0f to %.0f %%", one.name, one.value, 100*one.least, 100*one.most))
		}
	}
	return names
}

func (found figures) print(output io.Writer) {
	weeks := "13 to 26 weeks"
	if found.setting.weeks > 0 {
		weeks = fmt.Sprintf("%d weeks", found.setting.weeks)
	}
	fmt.Fprintf(output, "%d plants, %s, %d resamples, seed %d, luck of a run %.2f\n",
		found.plants, weeks, found.resamples, found.seed, found.setting.runLuck)
	for _, line := range []struct {
		name  string
		value share
	}{
		{"95 % intervals of crews that cover", found.crews95},
		{"  of these, crews with fewer than 30 shifts", found.fewShifts95},
		{"99.8 % intervals of crews that cover", found.crews998},
		{"95 % intervals of changes that cover", found.changes95},
		{"99 % intervals of changes that cover", found.changes99},
		{"95 % intervals of changes without unchanged stations", found.alone95},
		{"nothing differs, yet a crew is called different", found.falseCrews},
		{"nothing differs, yet a change is found", found.falseChanges},
		{"nothing differs, yet either is called", found.falsePlants},
		{"crews a tenth or more apart called different", found.seenCrews},
		{"changes of a tenth or more found", found.seenChanges},
		{"crews refused for want of data or common work", found.silent},
	} {
		fmt.Fprintf(output, "%-54s %s\n", line.name, line.value)
	}
}
