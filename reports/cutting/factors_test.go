package cutting

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A basis that is drawn, and changed as the simplex method changes it: what solve and
// solveRows give must come back to the right side and the costs by plain multiplication.
func TestFactorsSolveTheBasis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(1, 30).Draw(t, "size")
		draw := func(row int) column {
			c := column{rows: []int32{int32(row)}, entries: []float64{float64(rapid.IntRange(1, 6).Draw(t, "own"))}}
			for range rapid.IntRange(0, 4).Draw(t, "others") {
				other := int32(rapid.IntRange(0, size-1).Draw(t, "row"))
				twice := false
				for _, known := range c.rows {
					twice = twice || known == other
				}
				if !twice {
					c.rows = append(c.rows, other)
					c.entries = append(c.entries, float64(rapid.IntRange(1, 6).Draw(t, "entry")))
				}
			}
			return c
		}
		var columns []column
		basis := make([]int, size)
		for place := range size {
			columns = append(columns, draw(place))
			basis[place] = place
		}
		f := newFactors(size)
		places, rows := f.factorise(columns, basis)
		if len(places) != len(rows) {
			t.Fatalf("%d places that depend on others, %d rows without a pivot", len(places), len(rows))
		}
		for n, place := range places { // a dependent column makes way for one that stands alone
			columns = append(columns, column{rows: []int32{rows[n]}, entries: []float64{-1}})
			basis[place] = len(columns) - 1
		}
		if len(places) > 0 {
			if places, _ = f.factorise(columns, basis); len(places) > 0 {
				t.Fatalf("places %v depend on others still", places)
			}
		}
		byRow, byPlace := make([]float64, size), make([]float64, size)
		alpha, across := make([]float64, size), make([]float64, size)
		for range rapid.IntRange(0, 8).Draw(t, "changes") {
			c := draw(rapid.IntRange(0, size-1).Draw(t, "row"))
			for at, row := range c.rows {
				byRow[row] = c.entries[at]
			}
			f.solve(byRow, alpha)
			leaving := rapid.IntRange(0, size-1).Draw(t, "leaving")
			if math.Abs(alpha[leaving]) < 0.05 {
				continue // no pivot that the simplex method would take
			}
			f.change(leaving, alpha)
			columns = append(columns, c)
			basis[leaving] = len(columns) - 1
		}
		right, costs := make([]float64, size), make([]float64, size)
		for i := range size {
			right[i] = float64(rapid.IntRange(-9, 9).Draw(t, "right"))
			costs[i] = float64(rapid.IntRange(-9, 9).Draw(t, "cost"))
		}
		copy(byRow, right)
		f.solve(byRow, alpha)
		copy(byPlace, costs)
		f.solveRows(byPlace, across)
		sums := make([]float64, size)
		largest := 1.0
		for place, c := range basis {
			worth := 0.0
			for at, row := range columns[c].rows {
				sums[row] += alpha[place] * columns[c].entries[at]
				worth += across[row] * columns[c].entries[at]
				largest = max(largest, math.Abs(alpha[place]), math.Abs(across[row]))
			}
			if math.Abs(worth-costs[place]) > 1e-6*largest {
				t.Errorf("place %d: worth %g, costs %g", place, worth, costs[place])
			}
		}
		for row, sum := range sums {
			if math.Abs(sum-right[row]) > 1e-6*largest {
				t.Errorf("row %d: %g, want %g", row, sum, right[row])
			}
			if byRow[row] != 0 {
				t.Errorf("row %d is left at %g", row, byRow[row])
			}
		}
	})
}
