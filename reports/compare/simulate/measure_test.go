package main

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"

	"trusstally/reports/compare"
)

// Sixty plants with few resamples. Some 230 intervals of crews and sixty of changes are
// tried: a method that covers 95 % lies within the bounds below for nearly every seed, and
// one that takes runs for independent, or forgets class, crew or station, does not.
func TestIntervalsCoverTheTruthOfMadePlants(t *testing.T) {
	found := measure(60, 250, 1, setting{runLuck: usualRunLuck})
	if found.crews95.of < 200 || found.changes95.of < 50 || found.falsePlants.of < 20 || found.alone95.of < 50 {
		t.Fatalf("too little was tried: %+v", found)
	}
	for _, line := range out([]bound{
		{"crews", found.crews95, 0.91, 0.99},
		{"changes", found.changes95, 0.87, 1},
		{"changes alone", found.alone95, 0.87, 1},
		{"false calls", found.falsePlants, 0, 0.05},
	}) {
		t.Error(line)
	}
	if found.seenCrews.value() < 0.4 || found.seenChanges.value() < 0.3 {
		t.Errorf("crews seen %s, changes seen %s: the method has gone blind", found.seenCrews, found.seenChanges)
	}
}

// The check itself can fail: where shifts matter more than runs and each run is taken for
// a shift of its own, far fewer intervals cover.
func TestRunsTakenForShiftsDoNotCover(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	covered := share{}
	for range 30 {
		made := newPlant(random, setting{runLuck: 0.1})
		for i := range made.runs {
			made.runs[i].Shift += " run " + string(rune('A'+i%26))
			made.expected[i].Shift = made.runs[i].Shift
		}
		result := compare.LikeForLike(made.runs, made.mix, compare.Options{Resamples: 200})
		truth := compare.LikeForLike(made.expected, made.mix, compare.Options{Resamples: 2})
		for i, row := range result.Rows {
			if row.Interval95.Known() {
				covered.add(!row.Interval95.Excludes(truth.Rows[i].Ratio))
			}
		}
	}
	if covered.value() > 0.80 {
		t.Errorf("intervals from single runs cover %s", covered)
	}
}

func TestTheCommandPrintsItsFigures(t *testing.T) {
	var first, second, errors bytes.Buffer
	arguments := []string{"--plants", "3", "--resamples", "40", "--seed", "4"}
	run(arguments, &first, &errors)
	run(arguments, &second, &errors)
	if first.String() != second.String() || !strings.HasPrefix(first.String(), "3 plants, 13 to 26 weeks, 40 resamples, seed 4, luck of a run 0.25\n") {
		t.Errorf("%s\n%s", first.String(), second.String())
	}
	if code := run([]string{"--plants", "0"}, &first, &errors); code != 2 {
		t.Errorf("no plants: exit %d, want 2", code)
	}
}
