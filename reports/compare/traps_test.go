package compare

import (
	"fmt"
	"math"
	"testing"
)

// recorded makes runs of one unit: count shifts with the given trusses and minutes a truss
// by class, and a little luck that cancels out over each two shifts.
func recorded(unit string, shifts int, trusses map[string]int64, rate map[string]float64) (runs []Run) {
	for shift := range shifts {
		luck := 1 + 0.05*float64(shift%2*2-1)
		for _, class := range []string{"simple", "complex"} {
			if trusses[class] == 0 {
				continue
			}
			runs = append(runs, Run{
				Unit: unit, Shift: fmt.Sprintf("%s %03d", unit, shift), Class: class, Trusses: trusses[class],
				Minutes: float64(trusses[class]) * rate[class] * luck,
			})
		}
	}
	return runs
}

func alike(runs ...[]Run) (all []Run) {
	for _, some := range runs {
		all = append(all, some...)
	}
	return all
}

// Simpson's trap, computed by hand: crew A takes 8 and 30 minutes with a mix of 20 to 80,
// crew B 9 and 33 with 80 to 20. Raw 25.6 against 13.8; on an equal mix 19.0 against 21.0.
func TestSimpsonsTrap(t *testing.T) {
	runs := alike(
		recorded("A", 20, map[string]int64{"simple": 2, "complex": 8}, map[string]float64{"simple": 8, "complex": 30}),
		recorded("B", 20, map[string]int64{"simple": 8, "complex": 2}, map[string]float64{"simple": 9, "complex": 33}),
	)
	result := LikeForLike(runs, map[string]float64{"simple": 50, "complex": 50}, Options{})
	a, b := result.Rows[0], result.Rows[1]
	near(t, "raw A", a.RawMinutes, 25.6, 1e-9)
	near(t, "raw B", b.RawMinutes, 13.8, 1e-9)
	near(t, "standardised A", a.Minutes, 19, 1e-9)
	near(t, "standardised B", b.Minutes, 21, 1e-9)
	near(t, "ratio B", b.Ratio, 21.0/19, 1e-9)
	near(t, "ratios mirror", a.Ratio*b.Ratio, 1, 1e-12)
	if a.Verdict != Different || a.Interval998.High >= 1 {
		t.Errorf("A: %s %v, want different and faster", a.Words, a.Interval998)
	}
	if b.Verdict != Different || b.Interval998.Low <= 1 {
		t.Errorf("B: %s %v, want different and slower", b.Words, b.Interval998)
	}
}

// The trap of actual ÷ expected, computed by hand: both crews take exactly 10 and 30, the
// reference 8 and 32; mixes of 90 to 10 and of 10 to 90 give 1.154 and 0.946 for the same
// work. Direct standardisation gives both the same figure and the same verdict.
func TestIndirectTrap(t *testing.T) {
	own := map[string]float64{"simple": 10, "complex": 30}
	x := map[string]int64{"simple": 90, "complex": 10}
	y := map[string]int64{"simple": 10, "complex": 90}
	indirect := func(trusses map[string]int64) float64 {
		s, c := float64(trusses["simple"]), float64(trusses["complex"])
		return (s*10 + c*30) / (s*8 + c*32)
	}
	near(t, "indirect X", indirect(x), 1.154, 5e-4)
	near(t, "indirect Y", indirect(y), 0.946, 5e-4)
	result := LikeForLike(alike(recorded("X", 20, x, own), recorded("Y", 20, y, own)), nil, Options{})
	for _, row := range result.Rows {
		near(t, "ratio "+row.Unit, row.Ratio, 1, 1e-12)
		near(t, "minutes "+row.Unit, row.Minutes, 20, 1e-9)
		if row.Verdict != NoDifferenceShown {
			t.Errorf("%s: %s, want %s", row.Unit, row.Words, NoDifferenceShown)
		}
	}
}

func TestVerdictsThatRefuse(t *testing.T) {
	both := map[string]int64{"simple": 5, "complex": 5}
	rate := map[string]float64{"simple": 10, "complex": 30}
	mix := map[string]float64{"simple": 50, "complex": 50}
	for _, one := range []struct {
		name    string
		runs    []Run
		mix     map[string]float64
		verdict Verdict
		words   string
	}{
		{
			"nine shifts", alike(recorded("A", 9, both, rate), recorded("B", 20, both, rate)), mix,
			NotEnoughData, "not enough data (n = 9 shifts, 18 runs; 10 and 20 needed)",
		},
		{
			"the others have nine", alike(recorded("A", 20, both, rate), recorded("B", 9, both, rate)), mix,
			NotEnoughData, "not enough data (n = 20 shifts against 9 in the common classes; 10 needed)",
		},
		{
			"one class in common", alike(recorded("A", 30, map[string]int64{"simple": 5}, rate), recorded("B", 20, both, rate)), mix,
			MixTooDifferent, "mix too different (50 % of the plant's mix was run by both sides; 80 % needed)",
		},
		{
			"a class of the mix that nobody ran", alike(recorded("A", 20, both, rate), recorded("B", 20, both, rate)),
			map[string]float64{"simple": 39, "complex": 40, "attic": 21},
			MixTooDifferent, "mix too different (79 % of the plant's mix was run by both sides; 80 % needed)",
		},
		{"alone", recorded("A", 30, both, rate), mix, OnlyOne, "nothing to compare with"},
		{
			"exactly enough", alike(recorded("A", 10, both, rate), recorded("B", 10, both, rate)),
			map[string]float64{"simple": 40, "complex": 40, "attic": 20},
			NoDifferenceShown, "no difference shown (n = 10 shifts against 10)",
		},
	} {
		t.Run(one.name, func(t *testing.T) {
			row := LikeForLike(one.runs, one.mix, Options{Resamples: 200}).Rows[0]
			if row.Verdict != one.verdict || row.Words != one.words {
				t.Errorf("%q %q, want %q", row.Verdict, row.Words, one.words)
			}
			if judged := row.judged(); row.Interval95.Known() != judged || row.Interval998.Known() != judged {
				t.Errorf("intervals %v %v with verdict %q", row.Interval95, row.Interval998, row.Verdict)
			}
		})
	}
}

func TestLeftOutRunsAreCounted(t *testing.T) {
	both := map[string]int64{"simple": 5, "complex": 5}
	rate := map[string]float64{"simple": 10, "complex": 30}
	runs := alike(recorded("A", 12, both, rate), recorded("B", 12, both, rate), []Run{
		{Unit: "A", Shift: "A 000", Class: "attic", Trusses: 1, Minutes: 90},
		{Unit: "A", Shift: "A 001", Class: "simple", Trusses: 0, Minutes: 90},
		{Unit: "A", Shift: "A 001", Class: "simple", Trusses: 3, Minutes: math.NaN()},
		{Unit: "A", Shift: "A 001", Class: "simple", Trusses: 3, Minutes: math.Inf(1)},
	})
	row := LikeForLike(runs, nil, Options{Resamples: 50, LeftOut: map[string]int64{"A": 7}}).Rows[0]
	if row.LeftOut != 7 || row.LeftOutThin != 1 || row.LeftOutFaulty != 3 || row.Runs != 25 {
		t.Errorf("left out %d, %d thin, %d faulty of %d runs; want 7, 1, 3 of 25", row.LeftOut, row.LeftOutThin, row.LeftOutFaulty, row.Runs)
	}
}

func TestNothingAtAll(t *testing.T) {
	result := LikeForLike(nil, nil, Options{})
	if len(result.Rows) != 0 || result.SpreadWords == "" || result.Funnel.Words == "" {
		t.Errorf("%+v", result)
	}
	faulty := LikeForLike([]Run{{Unit: "A", Shift: "1", Class: "simple"}}, nil, Options{})
	if len(faulty.Rows) != 1 || faulty.Rows[0].Verdict != NotEnoughData || faulty.Rows[0].LeftOutFaulty != 1 {
		t.Errorf("%+v", faulty.Rows)
	}
	if study := Study(nil, nil, Options{}); study.Verdict != NotEnoughData {
		t.Errorf("%+v", study)
	}
}
