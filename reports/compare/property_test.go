package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// drawnRuns are those of some crews, each with its own classes and shifts.
func drawnRuns(t *rapid.T) (runs []Run) {
	crews := rapid.IntRange(1, 4).Draw(t, "crews")
	for crew := range crews {
		for shift := range rapid.IntRange(0, 25).Draw(t, "shifts") {
			for range rapid.IntRange(1, 3).Draw(t, "runs") {
				trusses := rapid.Int64Range(1, 20).Draw(t, "trusses")
				runs = append(runs, Run{
					Unit: fmt.Sprint("crew ", crew), Shift: fmt.Sprint(crew, " on ", shift),
					Class:   fmt.Sprint("class ", rapid.IntRange(0, 3).Draw(t, "class")),
					Trusses: trusses, Minutes: float64(trusses) * rapid.Float64Range(5, 60).Draw(t, "rate"),
				})
			}
		}
	}
	return runs
}

var few = Options{Resamples: 30, Seed: 5}

// Two sums of the same figures in another unit may differ in their last digits.
var almost = cmp.Options{cmpopts.EquateApprox(1e-9, 1e-12), cmpopts.EquateNaNs(), cmpopts.EquateEmpty()}

func TestTheOrderOfRunsIsOfNoMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runs := drawnRuns(t)
		want := LikeForLike(runs, nil, few)
		again := rapid.Permutation(runs).Draw(t, "order")
		if difference := cmp.Diff(want, LikeForLike(again, nil, few), cmpopts.EquateNaNs()); difference != "" {
			t.Fatal(difference)
		}
	})
}

func TestMinutesInAnotherUnitLeaveRatiosAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runs := drawnRuns(t)
		scale := rapid.SampledFrom([]float64{0.125, 4, 64}).Draw(t, "scale")
		before := LikeForLike(runs, nil, few)
		for i := range runs {
			runs[i].Minutes *= scale
		}
		after := LikeForLike(runs, nil, few)
		for i := range after.Rows {
			row := &after.Rows[i]
			for _, minutes := range []*float64{
				&row.PeopleHours, &row.RawMinutes, &row.OtherRawMinutes, &row.Minutes, &row.OtherMinutes, &row.RunError, &row.ShiftError,
			} {
				*minutes /= scale
			}
		}
		if difference := cmp.Diff(before, after, almost); difference != "" {
			t.Fatal(difference)
		}
	})
}

// Other names in the same order of names give the same rows under those names.
func TestNamesAreOfNoMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runs := drawnRuns(t)
		before := LikeForLike(runs, nil, few)
		for i := range runs {
			runs[i].Unit = "the " + runs[i].Unit
			runs[i].Shift = "the " + runs[i].Shift
		}
		after := LikeForLike(runs, nil, few)
		for i := range after.Rows {
			after.Rows[i].Unit = before.Rows[i].Unit
		}
		for i := range after.Funnel.Points {
			after.Funnel.Points[i].Unit = before.Funnel.Points[i].Unit
		}
		if difference := cmp.Diff(before, after, almost); difference != "" {
			t.Fatal(difference)
		}
	})
}

// Two units' ratios are each other's inverse, whatever their names: what one gains the
// other loses, and the intervals mirror.
func TestTwoUnitsMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runs := slices.DeleteFunc(drawnRuns(t), func(run Run) bool { return run.Unit > "crew 1" })
		rows := LikeForLike(runs, nil, few).Rows
		if len(rows) != 2 || !rows[0].judged() {
			t.Skip("nothing to compare")
		}
		mirror := Interval{Low: 1 / rows[1].Interval95.High, High: 1 / rows[1].Interval95.Low}
		if difference := cmp.Diff(rows[0].Interval95, mirror, almost); difference != "" {
			t.Fatal(difference)
		}
		if difference := cmp.Diff(rows[0].Ratio, 1/rows[1].Ratio, almost); difference != "" {
			t.Fatal(difference)
		}
	})
}

// Crews that work alike in each class have the ratio 1, whatever their mixes are.
func TestEqualCrewsHaveTheRatioOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		runs := drawnRuns(t)
		for i := range runs {
			runs[i].Minutes = float64(runs[i].Trusses) * (7 + 11*float64(len(runs[i].Class)+int(runs[i].Class[len(runs[i].Class)-1])))
		}
		for _, row := range LikeForLike(runs, nil, few).Rows {
			if len(row.Classes) > 0 && math.Abs(row.Ratio-1) > 1e-12 {
				t.Fatalf("%s: ratio %v", row.Unit, row.Ratio)
			}
			if row.Verdict == Different {
				t.Fatalf("%s: %s, interval %v", row.Unit, row.Words, row.Interval998)
			}
		}
	})
}

// A shrunk ratio lies between 1 and the raw one.
func TestShrinkingPullsTowardsOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		for _, row := range LikeForLike(drawnRuns(t), nil, few).Rows {
			if math.IsNaN(row.Shrunk) {
				continue
			}
			if row.Weight < 0 || row.Weight > 1 || row.Shrunk < min(1, row.Ratio)-1e-12 || row.Shrunk > max(1, row.Ratio)+1e-12 {
				t.Fatalf("%s: %v shrunk to %v with weight %v", row.Unit, row.Ratio, row.Shrunk, row.Weight)
			}
		}
	})
}

// calibrate's short way by low rank gives what the whole matrix gives.
func TestCalibrateAgainstTheWholeMatrix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shifts, parameters := rapid.IntRange(2, 9).Draw(t, "shifts"), rapid.IntRange(1, 3).Draw(t, "parameters")
		figure := rapid.Float64Range(0.1, 1)
		model := newInfluence(shifts, parameters)
		whole := make([][]float64, shifts)
		for s := range shifts {
			model.direct[s] = figure.Draw(t, "direct")
			for p := range parameters {
				model.weights.Set(s, p, figure.Draw(t, "weight"))
				model.response.Set(p, s, figure.Draw(t, "response"))
			}
		}
		squares, expected, fourth := 0.0, 0.0, 0.0
		for s := range shifts {
			whole[s] = make([]float64, shifts)
			squares += model.direct[s] * model.direct[s]
			for r := range shifts {
				for p := range parameters {
					whole[s][r] -= model.weights.At(s, p) * model.response.At(p, r)
				}
			}
			whole[s][s] += model.direct[s]
		}
		for r := range shifts {
			for q := range shifts {
				product := 0.0
				for s := range shifts {
					product += whole[s][r] * whole[s][q]
				}
				fourth += product * product
				if r == q {
					expected += product
				}
			}
		}
		share, freedom := model.calibrate()
		if math.Abs(share/(expected/squares)-1) > 1e-6 || math.Abs(freedom/max(1, expected*expected/fourth)-1) > 1e-6 {
			t.Fatalf("share %v, freedom %v; want %v, %v", share, freedom, expected/squares, expected*expected/fourth)
		}
	})
}

func BenchmarkLikeForLike(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	var runs []Run
	for range 20_000 {
		crew, day, class := random.IntN(4), random.IntN(130), random.IntN(8)
		trusses := int64(1 + random.IntN(12))
		runs = append(runs, Run{
			Unit: fmt.Sprint("crew ", crew), Shift: fmt.Sprint(crew, " on ", day), Class: fmt.Sprint("class ", class), Trusses: trusses,
			Minutes: float64(trusses) * float64(8+6*class) * math.Exp(0.25*random.NormFloat64()),
		})
	}
	for b.Loop() {
		LikeForLike(runs, nil, Options{})
	}
}

func BenchmarkStudy(b *testing.B) {
	runs := madeStudy{effect: 0.9, period: 1, weeks: 52, changed: 26, luck: 0.1, untreated: true}.runs()
	for b.Loop() {
		Study(runs, evenMix, Options{})
	}
}
