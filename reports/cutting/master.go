package cutting

import (
	"cmp"
	"slices"
)

// master is the linear program over the patterns known so far, solved by the revised
// simplex method (Dantzig) over a factorised basis. Its figures are floating point: they choose
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
	factors  *factors
	level    []float64 // how often each basic column is taken
	dual     []float64
	pivots   int
	byEdge   bool      // columns are chosen by reference weights
	byRows   sparse    // entries of all columns, of reprice
	along    []float64 // by column, zeros between calls
	bought   int       // the first column of narrow

	alpha   []float64 // the entering column in terms of the basis, by place
	across  []float64 // the leaving place's row of the inverse
	byRow   []float64 // to work with; zeros between calls
	byPlace []float64
	reduced []float64 // costs of columns, in optimise
	weight  []float64
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
	m.across = make([]float64, m.size)
	m.byRow = make([]float64, m.size)
	m.byPlace = make([]float64, m.size)
	m.factors = newFactors(m.size)
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
	m.refactor()
	m.refresh()
	return m
}

// narrow keeps the duals of parts between two multiples of worth: a part more may be had at the
// one, a part too many is paid for at the other. The basis is then nothing but parts that are
// had. What duals are like is known beforehand, and a program that starts from there takes a
// small part of the pivots.
func (m *master) narrow(worth []float64, least, most float64) {
	m.bought = len(m.columns)
	for i, value := range worth {
		m.columns[i].cost = float64(-least * value)
		m.add(column{rows: []int32{int32(i)}, entries: []float64{1}, cost: float64(most * value), stock: -1, foreign: true})
		m.position[m.basis[i]] = -1
		m.enter(len(m.columns)-1, i)
	}
	m.refactor()
	m.refresh()
}

// widen lets go of the duals.
func (m *master) widen() {
	for i := range m.inst.weight {
		m.columns[i].cost = 0
		m.columns[m.bought+i].cost = costOfUncut
	}
	m.refresh()
}

// enter puts a column that stands in one row alone into the first basis.
func (m *master) enter(c, row int) {
	m.basis[row] = c
	m.position[c] = row
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
	kept, bought := 0, m.bought
	for c := range m.columns {
		if dropped[c] && c < bought {
			m.bought--
		}
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
