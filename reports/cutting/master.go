package cutting

import (
	"cmp"
	"math"
	"slices"
)

// master is the linear program over the patterns known so far, solved by the revised
// simplex method with an explicit inverse. Its figures are floating point: they choose
// patterns and values, and prove nothing. Products are converted before they are added, so
// that no machine fuses the two and all get the same bits.
//
// Rows are parts (at least the demand is cut) and then the stock that is limited (at most
// the boards at hand are taken). Costs are in units of the dearest board.
type master struct {
	inst *instance
	work *work

	size     int
	rowOf    []int // of a stock: its row, or -1
	right    []float64
	columns  []column
	position []int // of a column: its row in the basis, or -1
	basis    []int
	inverse  []float64
	level    []float64 // how often each basic column is taken
	dual     []float64
	pivots   int

	alpha   []float64
	nonzero []int32
}

type column struct {
	rows    []int32
	entries []float64
	cost    float64
	stock   int // -1: not a pattern
	items   []int32
	foreign bool // stands for parts that are not cut
}

const (
	tiny = 1e-9
	// costOfUncut is what a part that is not cut costs, in dearest boards: within what a
	// filler may count.
	costOfUncut = 24
)

func newMaster(inst *instance, work *work) *master {
	m := &master{inst: inst, work: work, size: len(inst.weight)}
	for _, limit := range inst.limit {
		row := -1
		if limit != Unlimited {
			row = m.size
			m.size++
		}
		m.rowOf = append(m.rowOf, row)
	}
	m.right = make([]float64, m.size)
	m.level = make([]float64, m.size)
	m.dual = make([]float64, m.size)
	m.alpha = make([]float64, m.size)
	m.basis = make([]int, m.size)
	m.inverse = make([]float64, m.size*m.size)
	for i, demand := range inst.demand {
		m.right[i] = float64(demand)
		m.add(column{rows: []int32{int32(i)}, entries: []float64{-1}, stock: -1})
	}
	for i, weight := range inst.weight {
		row := int32(i)
		// The basis to start with: as many of one part as fit, on the board that is cheapest
		// for it; where boards are limited, nothing is cut.
		best, bestCost, bestFit := -1, 0.0, 0
		for k, capacity := range inst.capacity {
			if fit := min(capacity/weight, inst.demand[i]); fit > 0 && inst.limit[k] == Unlimited {
				if cost := float64(inst.price[k]) / float64(fit); best < 0 || cost < bestCost {
					best, bestCost, bestFit = k, cost, fit
				}
			}
		}
		if best < 0 {
			m.add(column{rows: []int32{row}, entries: []float64{1}, cost: costOfUncut, stock: -1, foreign: true})
		} else {
			m.addPattern(best, slices.Repeat([]int32{row}, bestFit))
		}
		m.enter(len(m.columns)-1, i)
	}
	for k, row := range m.rowOf {
		if row >= 0 {
			m.right[row] = float64(inst.limit[k])
			m.add(column{rows: []int32{int32(row)}, entries: []float64{1}, stock: -1})
			m.enter(len(m.columns)-1, row)
		}
	}
	m.refresh()
	return m
}

// enter puts a column that stands in one row alone into the first basis.
func (m *master) enter(c, row int) {
	m.basis[row] = c
	m.position[c] = row
	m.inverse[row*m.size+row] = 1 / m.columns[c].entries[0]
}

func (m *master) add(c column) {
	m.columns = append(m.columns, c)
	m.position = append(m.position, -1)
}

// addPattern adds a way of filling a board; items in ascending order.
func (m *master) addPattern(stock int, items []int32) {
	c := column{stock: stock, items: items, cost: m.costOf(stock)}
	for _, item := range items {
		if last := len(c.rows) - 1; last >= 0 && c.rows[last] == item {
			c.entries[last]++
		} else {
			c.rows = append(c.rows, item)
			c.entries = append(c.entries, 1)
		}
	}
	if row := m.rowOf[stock]; row >= 0 {
		c.rows = append(c.rows, int32(row))
		c.entries = append(c.entries, 1)
	}
	m.add(c)
}

func (m *master) removeLast() {
	m.columns = m.columns[:len(m.columns)-1]
	m.position = m.position[:len(m.columns)]
}

// keepBest keeps the columns of the basis, those that are not patterns, and of the other
// patterns the n of the least reduced cost.
func (m *master) keepBest(n int) {
	type candidate struct {
		column int
		cost   float64
	}
	var others []candidate
	for c := range m.columns {
		if m.columns[c].stock >= 0 && m.position[c] < 0 {
			others = append(others, candidate{c, m.reducedCost(&m.columns[c])})
		}
	}
	if len(others) <= n {
		return
	}
	slices.SortFunc(others, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.column, b.column))
	})
	dropped := make([]bool, len(m.columns))
	for _, other := range others[n:] {
		dropped[other.column] = true
	}
	kept := 0
	for c := range m.columns {
		if !dropped[c] {
			m.columns[kept], m.position[kept] = m.columns[c], m.position[c]
			if row := m.position[kept]; row >= 0 {
				m.basis[row] = kept
			}
			kept++
		}
	}
	m.columns, m.position = m.columns[:kept], m.position[:kept]
}

func (m *master) dearest() float64 { return float64(slices.Max(m.inst.price)) }

func (m *master) costOf(stock int) float64 { return float64(m.inst.price[stock]) / m.dearest() }

// refresh works levels and duals out of the inverse.
func (m *master) refresh() {
	clear(m.dual)
	for r := range m.size {
		row := m.inverse[r*m.size : (r+1)*m.size]
		cost := m.columns[m.basis[r]].cost
		sum := 0.0
		for i, value := range row {
			if value != 0 {
				sum += float64(value * m.right[i])
				m.dual[i] += float64(value * cost)
			}
		}
		m.level[r] = sum
	}
	m.work.spend(int64(m.size*m.size) / 2)
}

func (m *master) value() float64 {
	sum := 0.0
	for r, c := range m.basis {
		sum += float64(m.level[r] * m.columns[c].cost)
	}
	return sum
}

func (m *master) reducedCost(c *column) float64 {
	cost := c.cost
	for t, row := range c.rows {
		cost -= float64(m.dual[row] * c.entries[t])
	}
	return cost
}

// optimise is the primal method: from a basis whose levels are not negative.
func (m *master) optimise() {
	for range 20*m.size + 1000 {
		entering, least := -1, -tiny
		for c := range m.columns {
			if m.position[c] < 0 {
				if cost := m.reducedCost(&m.columns[c]); cost < least {
					entering, least = c, cost
				}
			}
		}
		if entering < 0 || !m.work.spend(int64(len(m.columns))) {
			break
		}
		m.transform(entering)
		leaving, ratio := -1, math.Inf(1)
		for r, alpha := range m.alpha {
			if alpha <= tiny {
				continue
			}
			step := max(m.level[r], 0) / alpha
			if step < ratio-tiny || step < ratio+tiny && (alpha > m.alpha[leaving] ||
				alpha == m.alpha[leaving] && m.basis[r] < m.basis[leaving]) {
				leaving, ratio = r, min(step, ratio)
			}
		}
		if leaving < 0 {
			break
		}
		m.pivot(entering, leaving, least)
	}
	m.refresh()
}

// repair is the dual method: from a basis whose reduced costs are not negative, after the
// right side has changed. False when nothing is possible, or not worth the while.
func (m *master) repair() bool {
	for pivots := 0; ; pivots++ {
		leaving, worst := -1, -1e-7
		for r, level := range m.level {
			if level < worst {
				leaving, worst = r, level
			}
		}
		if leaving < 0 {
			break
		}
		if pivots > m.size+50 {
			return false
		}
		row := m.inverse[leaving*m.size : (leaving+1)*m.size]
		entering, least, entry := -1, math.Inf(1), 0.0
		for c := range m.columns {
			if m.position[c] >= 0 {
				continue
			}
			alpha := 0.0
			for t, r := range m.columns[c].rows {
				alpha += float64(row[r] * m.columns[c].entries[t])
			}
			if alpha >= -tiny {
				continue
			}
			ratio := max(m.reducedCost(&m.columns[c]), 0) / -alpha
			if ratio < least-tiny || ratio < least+tiny && alpha < entry {
				entering, least, entry = c, min(ratio, least), alpha
			}
		}
		if entering < 0 || !m.work.spend(2*int64(len(m.columns))) {
			return false
		}
		m.transform(entering)
		if m.alpha[leaving] > -tiny {
			return false
		}
		m.pivot(entering, leaving, m.reducedCost(&m.columns[entering]))
	}
	m.refresh()
	return true
}

// transform sets alpha to the column in terms of the basis.
func (m *master) transform(c int) {
	entering := &m.columns[c]
	for r := range m.size {
		sum := 0.0
		row := m.inverse[r*m.size : (r+1)*m.size]
		for t, i := range entering.rows {
			sum += float64(row[i] * entering.entries[t])
		}
		m.alpha[r] = sum
	}
	m.work.spend(int64(m.size))
}

func (m *master) pivot(entering, leaving int, reducedCost float64) {
	size := m.size
	pivot := m.inverse[leaving*size : (leaving+1)*size]
	scale := 1 / m.alpha[leaving]
	m.nonzero = m.nonzero[:0]
	for i, value := range pivot {
		if value != 0 {
			pivot[i] = float64(value * scale)
			m.nonzero = append(m.nonzero, int32(i))
		}
	}
	m.level[leaving] *= scale
	level := m.level[leaving]
	for r, alpha := range m.alpha {
		if r == leaving || math.Abs(alpha) < 1e-13 {
			continue
		}
		m.work.spend(int64(len(m.nonzero)) / 4)
		row := m.inverse[r*size : (r+1)*size]
		for _, i := range m.nonzero {
			row[i] -= float64(alpha * pivot[i])
		}
		m.level[r] -= float64(alpha * level)
	}
	for _, i := range m.nonzero {
		m.dual[i] += float64(reducedCost * pivot[i])
	}
	m.position[m.basis[leaving]] = -1
	m.basis[leaving] = entering
	m.position[entering] = leaving
	m.pivots++
}
