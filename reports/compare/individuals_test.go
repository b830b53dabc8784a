package compare

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// quiet gives points half a unit above and below 0 by turns: their moving range is 1, so
// one deviation is 0.887 as long as few other points are among them.
func quiet(points int) (values []float64) {
	for point := range points {
		values = append(values, 0.5-float64(point%2))
	}
	return values
}

// Each series is forty quiet points, what is tried, and ten quiet points more. With what is
// tried the mean lies between 0 and 0.15 and a deviation between 0.88 and 0.97.
func TestRunRules(t *testing.T) {
	type found struct {
		Rule, Index int
		Above       bool
	}
	for _, one := range []struct {
		name  string
		tried []float64
		want  []found
	}{
		{"quiet", nil, nil},
		{"one beyond three deviations", []float64{3.4}, []found{{1, 40, true}}},
		{"one just within", []float64{2.6}, nil},
		{"two of three beyond two deviations", []float64{2.4, -0.5, 2.4}, []found{{2, 42, true}}},
		{"two of four are none", []float64{2.4, -0.5, 0.5, 2.4}, nil},
		{"two of three on both sides are none", []float64{2.4, -0.5, -2.4}, nil},
		{"four of five beyond one deviation", []float64{1.3, 1.3, -0.5, 1.3, 1.3}, []found{{3, 44, true}}},
		{"four of six are none", []float64{1.3, 1.3, -0.5, -0.5, 1.3, 1.3}, nil},
		{"eight on one side", []float64{0.5, 0.4, 0.5, 0.4, 0.5, 0.4, 0.5, 0.4, -0.5}, []found{{4, 47, true}}},
		{"seven on one side are none", []float64{0.5, 0.4, 0.5, 0.4, 0.5, 0.4, 0.5, -0.5}, nil},
	} {
		t.Run(one.name, func(t *testing.T) {
			values := append(append(quiet(40), one.tried...), quiet(10)...)
			chart := IndividualsChart(values)
			var got []found
			for _, signal := range chart.Signals {
				got = append(got, found{signal.Rule, signal.Index, signal.Above})
			}
			if difference := cmp.Diff(one.want, got); difference != "" {
				t.Errorf("mean %.3f, limits %.3f to %.3f:\n%s", chart.Mean, chart.LowerLimit, chart.UpperLimit, difference)
			}
			for i, value := range values {
				values[i] = 100 - value
			}
			mirrored := IndividualsChart(values).Signals
			if len(mirrored) != len(got) {
				t.Fatalf("%d signals in the mirror, want %d", len(mirrored), len(got))
			}
			for i, signal := range mirrored {
				if signal.Rule != got[i].Rule || signal.Index != got[i].Index || signal.Above {
					t.Errorf("in the mirror %+v, want rule %d at %d below", signal, got[i].Rule, got[i].Index)
				}
			}
		})
	}
}

func TestASignalInWords(t *testing.T) {
	chart := IndividualsChart(append(append(quiet(40), 3.4), quiet(10)...))
	if want := "one signal, at point 41"; chart.Words != want {
		t.Errorf("%q, want %q", chart.Words, want)
	}
	if want := "one point beyond three deviations, above the mean"; chart.Signals[0].Words != want {
		t.Errorf("%q, want %q", chart.Signals[0].Words, want)
	}
}

func TestTooFewPointsForLimits(t *testing.T) {
	chart := IndividualsChart(quiet(9))
	if want := "not enough data (n = 9, 10 needed)"; chart.Enough || chart.Words != want || chart.LowerLimit == chart.LowerLimit {
		t.Errorf("%+v, want %q and no limits", chart, want)
	}
}
