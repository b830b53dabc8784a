package cutting

import (
	"cmp"
	"math"
	"slices"
)

// factors is the basis of a linear program as two triangles and the changes since they were
// worked out: the product form of the inverse over a sparse LU decomposition. Columns of a
// cutting problem have a handful of entries, so that solving with the triangles takes a few
// thousand products where the inverse has a million. Products are converted before they are
// added, as everywhere in the linear program.
//
// Places are where a column stands in the basis; rows are those of the program. The k-th
// pivot stands at rowAt[k] and placeAt[k].
type factors struct {
	size    int
	rowAt   []int32
	placeAt []int32
	// lower: by pivot, multiples of its row that were taken off rows of later pivots.
	lower sparse
	// upper: by pivot, its column's entries at pivots before it, and the one at itself.
	upper    sparse
	diagonal []float64
	// changes: for each column that has entered since, its entries in terms of the basis then,
	// but for the one where it stands.
	changes   sparse
	changedAt []int32
	changedBy []float64

	work []float64 // by row, nothing but zeros between calls
	// Of factorise.
	pivotOf  []int32
	touched  []int32
	seen     []bool
	left     []int32 // active entries of a row or column
	rowStart []int32
	rowSlots []int32
	nucleus  []int32 // pivots whose lower entries later columns can meet
}

// sparse is lists of entries, one after the other.
type sparse struct {
	start  []int32
	index  []int32
	values []float64
}

func (s *sparse) reset() {
	s.start, s.index, s.values = append(s.start[:0], 0), s.index[:0], s.values[:0]
}

func (s *sparse) add(index int32, value float64) {
	s.index, s.values = append(s.index, index), append(s.values, value)
}

func (s *sparse) close() { s.start = append(s.start, int32(len(s.index))) }

func (s *sparse) list(k int) ([]int32, []float64) {
	from, until := s.start[k], s.start[k+1]
	return s.index[from:until], s.values[from:until]
}

func newFactors(size int) *factors {
	f := &factors{size: size, work: make([]float64, size), pivotOf: make([]int32, size), seen: make([]bool, size)}
	f.lower.reset()
	f.upper.reset()
	f.changes.reset()
	return f
}

// stale says that the changes have grown to where a new decomposition is cheaper.
func (f *factors) stale() bool {
	return len(f.changedAt) >= 64 || len(f.changes.index) > 4*(len(f.lower.index)+len(f.upper.index)+f.size)
}

// entries is how many figures a solution goes through.
func (f *factors) entries() int64 {
	return int64(len(f.lower.index) + len(f.upper.index) + len(f.changes.index) + f.size)
}

// factorise decomposes the basis anew. Places whose columns depend on the others are
// returned with rows that nobody stands for, one for each; the decomposition is then not to
// be used.
func (f *factors) factorise(columns []column, basis []int) (places, rows []int32) {
	f.lower.reset()
	f.upper.reset()
	f.changes.reset()
	f.changedAt, f.changedBy = f.changedAt[:0], f.changedBy[:0]
	f.rowAt, f.placeAt, f.diagonal, f.nucleus = f.rowAt[:0], f.placeAt[:0], f.diagonal[:0], f.nucleus[:0]
	for row := range f.pivotOf {
		f.pivotOf[row] = -1
	}
	rest := f.singletons(columns, basis)
	rowCount := f.left[:f.size]
	slices.SortStableFunc(rest, func(a, b int32) int {
		return cmp.Compare(f.active(&columns[basis[a]]), f.active(&columns[basis[b]]))
	})
	for _, place := range rest {
		if !f.eliminate(&columns[basis[place]], place, rowCount) {
			places = append(places, place)
		}
	}
	if len(places) > 0 {
		for row, pivot := range f.pivotOf {
			if pivot < 0 {
				rows = append(rows, int32(row))
			}
		}
	}
	return places, rows
}

// active is the number of the column's entries in rows without a pivot.
func (f *factors) active(c *column) int {
	count := 0
	for _, row := range c.rows {
		if f.pivotOf[row] < 0 {
			count++
		}
	}
	return count
}

// singletons takes every pivot that stands alone in its column or its row among those that
// are left, as long as there are any, and returns the places that remain. The counts of
// active entries of the rows are left in f.left.
func (f *factors) singletons(columns []column, basis []int) []int32 {
	size := f.size
	f.left = resized(f.left, 2*size) // rows, then places
	clear(f.left)
	rowCount, columnCount := f.left[:size], f.left[size:]
	for place, c := range basis {
		columnCount[place] = int32(len(columns[c].rows))
		for _, row := range columns[c].rows {
			rowCount[row]++
		}
	}
	// The places of each row.
	f.rowStart = resized(f.rowStart, size+1)
	total := int32(0)
	for row, count := range rowCount {
		f.rowStart[row] = total
		total += count
	}
	f.rowStart[size] = total
	f.rowSlots = resized(f.rowSlots, int(total))
	next := slices.Clone(f.rowStart[:size])
	for place, c := range basis {
		for _, row := range columns[c].rows {
			f.rowSlots[next[row]] = int32(place)
			next[row]++
		}
	}
	done := make([]bool, size)
	var queue []int32 // rows as they are, places beyond size
	for place, count := range columnCount {
		if count == 1 {
			queue = append(queue, int32(size+place))
		}
	}
	for row, count := range rowCount {
		if count == 1 {
			queue = append(queue, int32(row))
		}
	}
	for at := 0; at < len(queue); at++ {
		row, place := int32(-1), int32(-1)
		if queue[at] >= int32(size) {
			place = queue[at] - int32(size)
			if done[place] || columnCount[place] != 1 {
				continue
			}
			for _, r := range columns[basis[place]].rows {
				if f.pivotOf[r] < 0 {
					row = r
				}
			}
		} else {
			row = queue[at]
			if f.pivotOf[row] >= 0 || rowCount[row] != 1 {
				continue
			}
			for _, p := range f.rowSlots[f.rowStart[row]:f.rowStart[row+1]] {
				if !done[p] {
					place = p
				}
			}
		}
		c := &columns[basis[place]]
		f.takeSingleton(c, row, place)
		done[place] = true
		for _, r := range c.rows {
			if rowCount[r]--; rowCount[r] == 1 && f.pivotOf[r] < 0 {
				queue = append(queue, r)
			}
		}
		for _, p := range f.rowSlots[f.rowStart[row]:f.rowStart[row+1]] {
			if columnCount[p]--; columnCount[p] == 1 && !done[p] {
				queue = append(queue, int32(size)+p)
			}
		}
	}
	var rest []int32
	for place := range basis {
		if !done[place] {
			rest = append(rest, int32(place))
		}
	}
	return rest
}

// takeSingleton takes a pivot that needs no elimination.
func (f *factors) takeSingleton(c *column, row, place int32) {
	pivot := 0.0
	for t, r := range c.rows {
		if r == row {
			pivot = c.entries[t]
		}
	}
	for t, r := range c.rows {
		if before := f.pivotOf[r]; before >= 0 {
			f.upper.add(before, c.entries[t])
		} else if r != row {
			f.lower.add(r, c.entries[t]/pivot)
		}
	}
	f.closePivot(row, place, pivot)
}

func (f *factors) closePivot(row, place int32, pivot float64) {
	f.upper.close()
	f.lower.close()
	f.pivotOf[row] = int32(len(f.rowAt))
	f.rowAt, f.placeAt, f.diagonal = append(f.rowAt, row), append(f.placeAt, place), append(f.diagonal, pivot)
}

// eliminate takes the pivots so far off a column and makes one of what is left: of the
// entries that are not small, the one whose row has the fewest entries. False when nothing is
// left.
func (f *factors) eliminate(c *column, place int32, rowCount []int32) bool {
	f.touched = f.touched[:0]
	touch := func(row int32) {
		if !f.seen[row] {
			f.seen[row] = true
			f.touched = append(f.touched, row)
		}
	}
	for t, row := range c.rows {
		touch(row)
		f.work[row] = c.entries[t]
	}
	for _, k := range f.nucleus {
		value := f.work[f.rowAt[k]]
		if value == 0 {
			continue
		}
		index, values := f.lower.list(int(k))
		for t, row := range index {
			touch(row)
			f.work[row] -= float64(values[t] * value)
		}
	}
	largest := 0.0
	for _, row := range f.touched {
		if f.pivotOf[row] < 0 {
			largest = max(largest, math.Abs(f.work[row]))
		}
	}
	best := int32(-1)
	if largest > 1e-9 {
		for _, row := range f.touched {
			if f.pivotOf[row] >= 0 || math.Abs(f.work[row]) < 0.1*largest {
				continue
			}
			if best < 0 || rowCount[row] < rowCount[best] || rowCount[row] == rowCount[best] && row < best {
				best = row
			}
		}
		pivot := f.work[best]
		for _, row := range f.touched {
			value := f.work[row]
			if before := f.pivotOf[row]; before >= 0 {
				if value != 0 {
					f.upper.add(before, value)
				}
			} else if row != best && math.Abs(value) > 1e-13 {
				f.lower.add(row, value/pivot)
			}
		}
		f.nucleus = append(f.nucleus, int32(len(f.rowAt)))
		f.closePivot(best, place, pivot)
	}
	for _, row := range f.touched {
		f.work[row], f.seen[row] = 0, false
	}
	return best >= 0
}

// solve writes to result, by place, how often each column of the basis goes into right, by
// row. Right is used up and left as zeros.
func (f *factors) solve(right, result []float64) {
	for k := range f.size {
		value := right[f.rowAt[k]]
		if value == 0 {
			continue
		}
		index, values := f.lower.list(k)
		for t, row := range index {
			right[row] -= float64(values[t] * value)
		}
	}
	for k := f.size - 1; k >= 0; k-- {
		value := right[f.rowAt[k]]
		if value == 0 {
			result[f.placeAt[k]] = 0
			continue
		}
		right[f.rowAt[k]] = 0
		value /= f.diagonal[k]
		result[f.placeAt[k]] = value
		index, values := f.upper.list(k)
		for t, before := range index {
			right[f.rowAt[before]] -= float64(values[t] * value)
		}
	}
	for n, place := range f.changedAt {
		value := result[place]
		if value == 0 {
			continue
		}
		value /= f.changedBy[n]
		result[place] = value
		index, values := f.changes.list(n)
		for t, other := range index {
			result[other] -= float64(values[t] * value)
		}
	}
}

// solveRows writes to result, by row, what each row counts so that every column of the basis
// is worth what costs says of its place. Costs are used up.
func (f *factors) solveRows(costs, result []float64) {
	for n := len(f.changedAt) - 1; n >= 0; n-- {
		place := f.changedAt[n]
		sum := costs[place]
		index, values := f.changes.list(n)
		for t, other := range index {
			sum -= float64(values[t] * costs[other])
		}
		costs[place] = sum / f.changedBy[n]
	}
	for k := range f.size {
		sum := costs[f.placeAt[k]]
		index, values := f.upper.list(k)
		for t, before := range index {
			sum -= float64(values[t] * result[f.rowAt[before]])
		}
		result[f.rowAt[k]] = sum / f.diagonal[k]
	}
	for k := f.size - 1; k >= 0; k-- {
		index, values := f.lower.list(k)
		sum := result[f.rowAt[k]]
		for t, row := range index {
			sum -= float64(values[t] * result[row])
		}
		result[f.rowAt[k]] = sum
	}
}

// change notes that a column, alpha in terms of the basis, takes the place.
func (f *factors) change(place int, alpha []float64) {
	for other, value := range alpha {
		if other != place && math.Abs(value) > 1e-13 {
			f.changes.add(int32(other), value)
		}
	}
	f.changes.close()
	f.changedAt, f.changedBy = append(f.changedAt, int32(place)), append(f.changedBy, alpha[place])
}
