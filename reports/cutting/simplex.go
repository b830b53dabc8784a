package cutting

import "math"

// refresh works levels and duals out of the basis.
func (m *master) refresh() {
	copy(m.byRow, m.right)
	m.factors.solve(m.byRow, m.level)
	for place, c := range m.basis {
		m.byPlace[place] = m.columns[c].cost
	}
	m.factors.solveRows(m.byPlace, m.dual)
	m.work.spend(m.factors.entries())
}

// refactor decomposes the basis anew. A column that depends on the others, which only
// rounding can bring about, makes way for the surplus of a row.
func (m *master) refactor() {
	places, rows := m.factors.factorise(m.columns, m.basis)
	m.work.spend(8 * m.factors.entries())
	for n, place := range places {
		m.position[m.basis[place]] = -1
		surplus := m.surplusOf(rows[n])
		m.basis[place] = surplus
		m.position[surplus] = int(place)
	}
	if len(places) > 0 {
		m.factors.factorise(m.columns, m.basis)
	}
}

// surplusOf is the column that stands in the row alone and costs nothing.
func (m *master) surplusOf(row int32) int {
	for c := range m.columns {
		if column := &m.columns[c]; column.stock < 0 && !column.foreign && column.rows[0] == row {
			return c
		}
	}
	return -1
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

// price works the reduced costs out anew; weights start again from one.
func (m *master) price(anew bool) {
	m.reduced = resized(m.reduced, len(m.columns))
	for c := range m.columns {
		m.reduced[c] = m.reducedCost(&m.columns[c])
	}
	if anew {
		m.weight = resized(m.weight, len(m.columns))
		for c := range m.weight {
			m.weight[c] = 1
		}
	}
	m.work.spend(int64(len(m.columns)))
}

// choose is the column that makes the program cheapest per length of its edge; -1 when
// none makes it cheaper.
func (m *master) choose() int {
	entering, most := -1, 0.0
	for c, cost := range m.reduced {
		if cost < -tiny && m.position[c] < 0 {
			if gain := float64(cost*cost) / m.weight[c]; gain > most {
				entering, most = c, gain
			}
		}
	}
	return entering
}

// optimise is the primal method: from a basis whose levels are not negative. With many
// lengths columns are chosen by Devex reference weights (Harris 1973, from memory), else by
// reduced cost alone (Dantzig).
func (m *master) optimise() {
	m.price(true)
	if m.byEdge {
		m.listRows()
	}
	for range 20*m.size + 1000 {
		entering := m.choose()
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
		m.findAcross(leaving)
		least := m.reducedCost(&m.columns[entering])
		if least >= -tiny { // it was only rounding
			m.reduced[entering] = least
			continue
		}
		if m.byEdge {
			m.reprice(entering, leaving, least)
		}
		if anew := m.pivot(entering, leaving, least); anew || !m.byEdge {
			m.price(false)
		}
	}
	m.refactor()
	m.refresh()
}

// reprice brings reduced costs and weights to where they are after the pivot that comes. It
// needs lists of rows.
func (m *master) reprice(entering, leaving int, least float64) {
	scale := 1 / m.alpha[leaving]
	weight := m.weight[entering]
	m.spread()
	for c, alpha := range m.along {
		if alpha == 0 {
			continue
		}
		m.along[c] = 0
		if m.position[c] >= 0 {
			continue
		}
		alpha *= scale
		m.reduced[c] -= float64(least * alpha)
		m.weight[c] = max(m.weight[c], float64(float64(alpha*alpha)*weight))
	}
	out := m.basis[leaving]
	m.reduced[out] = float64(-least * scale)
	m.weight[out] = max(float64(weight*float64(scale*scale)), 1)
}

// spread sets along, by column, to what across is of each.
func (m *master) spread() {
	touched := int64(0)
	for row, value := range m.across {
		if value == 0 {
			continue
		}
		columns, entries := m.byRows.list(row)
		for t, c := range columns {
			m.along[c] += float64(value * entries[t])
		}
		touched += int64(len(columns))
	}
	m.work.spend((touched + int64(len(m.columns))) / 4)
}

// listRows lists the entries of all columns by row; to be called again when columns have come
// or gone.
func (m *master) listRows() {
	m.along = resized(m.along, len(m.columns))
	clear(m.along)
	counts := make([]int32, m.size+1)
	for c := range m.columns {
		for _, row := range m.columns[c].rows {
			counts[row+1]++
		}
	}
	for row := range m.size {
		counts[row+1] += counts[row]
	}
	total := int(counts[m.size])
	m.byRows.start = append(m.byRows.start[:0], counts...)
	m.byRows.index, m.byRows.values = resized(m.byRows.index, total), resized(m.byRows.values, total)
	for c := range m.columns {
		column := &m.columns[c]
		for t, row := range column.rows {
			m.byRows.index[counts[row]], m.byRows.values[counts[row]] = int32(c), column.entries[t]
			counts[row]++
		}
	}
}

// repair is the dual method: from a basis whose reduced costs are not negative, after the
// right side has changed. It needs lists of rows. False when nothing is possible, or not worth
// the while.
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
		m.findAcross(leaving)
		entering, least, entry := -1, math.Inf(1), 0.0
		m.spread()
		for c, alpha := range m.along {
			m.along[c] = 0
			if alpha >= -tiny || m.position[c] >= 0 {
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
	for t, row := range entering.rows {
		m.byRow[row] = entering.entries[t]
	}
	m.factors.solve(m.byRow, m.alpha)
	m.work.spend(m.factors.entries())
}

// findAcross sets across to the row of the inverse at a place.
func (m *master) findAcross(place int) {
	clear(m.byPlace)
	m.byPlace[place] = 1
	m.factors.solveRows(m.byPlace, m.across)
	m.work.spend(m.factors.entries())
}

// pivot puts the column that alpha is of in the place that across is of.
func (m *master) pivot(entering, leaving int, reducedCost float64) (anew bool) {
	level := m.level[leaving] / m.alpha[leaving]
	for r, alpha := range m.alpha {
		if alpha != 0 {
			m.level[r] -= float64(alpha * level)
		}
	}
	m.level[leaving] = level
	step := reducedCost / m.alpha[leaving]
	for i, value := range m.across {
		if value != 0 {
			m.dual[i] += float64(step * value)
		}
	}
	m.factors.change(leaving, m.alpha)
	m.position[m.basis[leaving]] = -1
	m.basis[leaving] = entering
	m.position[entering] = leaving
	m.pivots++
	if m.factors.stale() {
		m.refactor()
		m.refresh()
		return true
	}
	return false
}

// uncut says that the linear program still leaves parts uncut.
func (m *master) uncut() bool {
	for r, c := range m.basis {
		if m.columns[c].foreign && m.level[r] > 1e-7 {
			return true
		}
	}
	return false
}
