package warehouse_test

import (
	"math/big"
	"sort"
)

// payModel works out seconds and pay of a random plant a second time, from the written
// rules alone. Walls are seconds of the wall clock since 1970, moments seconds of UTC,
// days whole days since 1970.
type payModel struct {
	rules payRules
	cards []*card // as in the file
	wages []wage
	extra []extraPay

	counted map[string][]*countedCard // employee = what counts
	faults  map[fault]bool

	covered map[*card]bool // within an earlier punch, under rounding
}

type payRules struct {
	daily, double, mealAfter, round int64 // seconds; 0: none
	seventh, cent                   bool
	weekDay                         int64 // 0 Sunday
	weekAt                          int64 // seconds after midnight
}

const (
	noTime       = int64(-1)
	day          = int64(24 * 3600)
	weekly       = int64(40 * 3600)
	longest      = int64(16 * 3600)
	doubleWithin = int64(2 * 60)
	longestLunch = int64(2 * 3600)
)

// clockChange is the moment when the clocks of 2026-11-01 went from 02:00 back to 01:00.
var clockChange = wall(3*24*60).Unix() + 7*3600

type card struct {
	line                          int
	record, employee, crew, shift string
	station, payCode              string
	workDate                      int64 // day, or noTime
	start, end                    int64 // walls, or noTime
	unpaid                        int64 // seconds
	hours                         int64 // seconds, or noTime
	rate                          int64 // ten-thousandths of a dollar, or 0
}

func (c *card) shiftDate() int64 {
	if c.workDate != noTime {
		return c.workDate
	}
	return c.start / day
}

func (c *card) bothEnds() bool { return c.start != noTime && c.end != noTime }

type fault struct {
	line int
	code string
}

type countedCard struct {
	*card
	from, until int64 // moments; equal when the time has no place
	paid        int64
	plain       bool // paid is just what elapsed
	leave       bool
	parts       []cardPart
}

// cardPart is the part of a card in one calendar day and one workday.
type cardPart struct {
	day, workday int64
	seconds      int64
}

// moments are those at which the clocks showed a wall time.
func moments(w int64) []int64 {
	var found []int64
	if m := w + 5*3600; m < clockChange {
		found = append(found, m)
	}
	if m := w + 6*3600; m >= clockChange {
		found = append(found, m)
	}
	return found
}

func wallOf(moment int64) int64 {
	if moment < clockChange {
		return moment - 5*3600
	}
	return moment - 6*3600
}

// weekOf is the first day of a workday's workweek.
func (m *payModel) weekOf(workday int64) int64 {
	return workday - (workday+4-m.rules.weekDay+7)%7
}

// weekOfCard is the workweek of a card, whether it counts or not.
func (m *payModel) weekOfCard(c *card) int64 {
	for _, w := range []int64{c.start, c.end} {
		if w != noTime {
			return m.weekOf((w - m.rules.weekAt) / day)
		}
	}
	return m.weekOf(c.workDate)
}

// settle says of each card whether and for how many seconds it counts.
func (m *payModel) settle() {
	m.counted, m.faults, m.covered = map[string][]*countedCard{}, map[fault]bool{}, map[*card]bool{}
	byEmployee := map[string][]*card{}
	for _, c := range m.cards {
		if c.payCode == "worked" {
			byEmployee[c.employee] = append(byEmployee[c.employee], c)
		} else {
			m.count(&countedCard{card: c, paid: c.hours, leave: true})
		}
	}
	for _, cards := range byEmployee {
		m.settleWorked(cards)
	}
	for _, counted := range m.counted {
		for _, c := range counted {
			if m.rateOf(c.card, true) == nil {
				m.faults[fault{c.line, "no-wage"}] = true
			}
		}
	}
}

func (m *payModel) count(c *countedCard) {
	if c.parts == nil && c.paid > 0 {
		c.parts = []cardPart{{c.shiftDate(), c.shiftDate(), c.paid}}
	}
	if c.paid > 0 {
		m.counted[c.employee] = append(m.counted[c.employee], c)
	}
}

// settleWorked settles the worked cards of one employee.
func (m *payModel) settleWorked(cards []*card) {
	var certain []*countedCard
	var unsettled []*card
	doubles := doublePunches(cards)
	for _, c := range cards {
		switch {
		case doubles[c]:
			m.faults[fault{c.line, "double-punch"}] = true
		case c.start == noTime && c.end == noTime && c.hours != noTime:
			m.count(&countedCard{card: c, paid: c.hours})
		case !c.bothEnds() && (c.hours == noTime || c.start == noTime && c.end == noTime):
			m.faults[fault{c.line, "missing-punch"}] = true
		case c.start == noTime:
			m.faults[fault{c.line, "corrected-total"}] = true
			end := moments(c.end)[0]
			certain = append(certain, &countedCard{card: c, from: end - c.hours - c.unpaid, until: end})
		case c.end == noTime:
			m.faults[fault{c.line, "corrected-total"}] = true
			start := moments(c.start)[0]
			certain = append(certain, &countedCard{card: c, from: start, until: start + c.hours + c.unpaid})
		case len(moments(c.start))+len(moments(c.end)) > 2:
			unsettled = append(unsettled, c)
		default:
			from, until := moments(c.start)[0], moments(c.end)[0]
			if until <= from {
				m.faults[fault{c.line, "odd-punch"}] = true
			} else {
				certain = append(certain, &countedCard{card: c, from: from, until: until})
			}
		}
	}
	clocked := append(certain, m.settleReadings(unsettled, certain)...)
	sort.SliceStable(clocked, func(i, j int) bool {
		if clocked[i].from != clocked[j].from {
			return clocked[i].from < clocked[j].from
		}
		return clocked[i].until < clocked[j].until
	})
	shifts := map[int64][]*countedCard{}
	busy := int64(0)
	for _, c := range clocked {
		if c.until-c.from > longest {
			m.faults[fault{c.line, "long-punch"}] = true
			continue
		}
		m.cutAndRound(c, busy)
		busy = max(busy, c.until)
		shifts[c.shiftDate()] = append(shifts[c.shiftDate()], c)
	}
	for _, shift := range shifts {
		m.takeLunches(shift)
		for _, c := range shift {
			if c.until > c.from && c.paid == 0 {
				// Rounding or unpaid minutes leave nothing: that is told, whatever was cut off.
				delete(m.faults, fault{c.line, "overlapping-punches"})
				m.faults[fault{c.line, "odd-punch"}] = true
			}
			m.place(c)
			m.count(c)
		}
	}
}

// doublePunches are the cards that repeat a card of the same shift date.
func doublePunches(cards []*card) map[*card]bool {
	ranked := append([]*card{}, cards...)
	last := func(w int64) int64 {
		if w == noTime {
			return 1 << 60
		}
		return w
	}
	sort.SliceStable(ranked, func(i, j int) bool {
		a, b := ranked[i], ranked[j]
		switch {
		case a.bothEnds() != b.bothEnds():
			return a.bothEnds()
		case a.start != b.start:
			return last(a.start) < last(b.start)
		case a.end != b.end:
			return last(a.end) < last(b.end)
		case (a.record == "") != (b.record == ""):
			return a.record != ""
		default:
			return a.record < b.record
		}
	})
	near := func(of, to int64) bool {
		return of == noTime || to != noTime && max(of-to, to-of) <= doubleWithin
	}
	doubles := map[*card]bool{}
	for i, c := range ranked {
		if c.start == noTime && c.end == noTime || !c.bothEnds() && c.hours != noTime {
			continue
		}
		for _, before := range ranked[:i] {
			if before.shiftDate() == c.shiftDate() && near(c.start, before.start) && near(c.end, before.end) {
				doubles[c] = true
			}
		}
	}
	return doubles
}

// settleReadings chooses between the readings of punches in the repeated hour.
func (m *payModel) settleReadings(unsettled []*card, certain []*countedCard) []*countedCard {
	sort.SliceStable(unsettled, func(i, j int) bool { return unsettled[i].start < unsettled[j].start })
	type reading struct{ from, until int64 }
	readings := make([][]reading, len(unsettled))
	for i, c := range unsettled {
		for _, from := range moments(c.start) {
			for _, until := range moments(c.end) {
				free := until > from
				for _, other := range certain {
					if from < other.until && other.from < until {
						free = false
					}
				}
				if free {
					readings[i] = append(readings[i], reading{from, until})
				}
			}
		}
	}
	// A reading is left where each other punch has a reading on its side.
	fits := func(i int, r reading) bool {
		for j, others := range readings {
			if j == i || max(unsettled[i].start-unsettled[j].start, unsettled[j].start-unsettled[i].start) > day {
				continue
			}
			found := false
			for _, other := range others {
				found = found || j < i && other.until <= r.from || j > i && r.until <= other.from
			}
			if !found {
				return false
			}
		}
		return true
	}
	var settled []*countedCard
	for i, c := range unsettled {
		var left []reading
		for _, r := range readings[i] {
			if fits(i, r) {
				left = append(left, r)
			}
		}
		if len(left) == 1 {
			settled = append(settled, &countedCard{card: c, from: left[0].from, until: left[0].until})
		} else {
			m.faults[fault{c.line, "clock-change"}] = true
		}
	}
	return settled
}

// cutAndRound counts a punch from the end of the earlier ones and rounds its ends; paid is
// what elapses, unpaid minutes still in it.
func (m *payModel) cutAndRound(c *countedCard, busy int64) {
	shiftOf := func(w int64) int64 {
		if m.rules.round == 0 || !c.bothEnds() {
			return 0
		}
		return (w+m.rules.round/2)/m.rules.round*m.rules.round - w
	}
	shift := shiftOf(c.end)
	if c.from < busy {
		m.faults[fault{c.line, "overlapping-punches"}] = true
		c.from = min(busy, c.until)
	} else {
		shift -= shiftOf(c.start)
	}
	if c.until > c.from {
		c.paid = max(0, c.until-c.from+shift)
	}
	c.plain = shift == 0
	m.covered[c.card] = m.rules.round > 0 && c.until == c.from
}

// takeLunches takes unpaid minutes off the punches of one shift date, in order of start.
func (m *payModel) takeLunches(shift []*countedCard) {
	takes := func(c *countedCard) bool {
		return c.unpaid > 0 && c.until > c.from && c.until-c.from >= m.rules.mealAfter
	}
	deduction, lunches, end := int64(0), 0, int64(0)
	for _, c := range shift {
		if takes(c) {
			deduction = max(deduction, c.unpaid)
		}
	}
	for i, c := range shift {
		if gap := c.from - end; i > 0 && gap > 0 && gap >= deduction && gap <= longestLunch {
			lunches++
		}
		end = max(end, c.until)
	}
	for _, c := range shift {
		switch {
		case !takes(c):
		case lunches > 0:
			lunches--
			m.faults[fault{c.line, "lunch-twice"}] = true
		default:
			c.paid -= min(c.paid, c.unpaid)
			c.plain = false
		}
	}
}

// place cuts a punch at midnights and where workdays begin. Unpaid minutes and rounding
// are spread evenly over what elapsed.
func (m *payModel) place(c *countedCard) {
	elapsed, before := c.until-c.from, int64(0)
	for at := c.from; at < c.until; {
		w := wallOf(at)
		today := w / day
		workday := (w - m.rules.weekAt) / day
		next := c.until
		for _, cut := range []int64{(today + 1) * day, today*day + m.rules.weekAt, (today+1)*day + m.rules.weekAt} {
			if moment := moments(cut)[0]; moment > at {
				next = min(next, moment)
			}
		}
		until := halfUpBig(next-c.from, c.paid, elapsed)
		c.parts = append(c.parts, cardPart{today, workday, until - before})
		before, at = until, next
	}
}

// rateOf is the hourly rate of a card: its own, else that of the wage as owed or as paid;
// nil for none.
func (m *payModel) rateOf(c *card, owed bool) *big.Rat {
	if c.rate > 0 {
		return big.NewRat(c.rate, 10000)
	}
	w := m.wageOn(c.employee, c.shiftDate(), owed)
	if w == nil {
		return nil
	}
	return big.NewRat(w.rate, 10000)
}
