package warehouse_test

import "strconv"

var changeDay = wall(2*24*60).Unix() / day // 2026-10-31: the night shift that begins on it is an hour longer

// drawCards draws an employee's weeks, with punches as clocks and people spoil them.
func (p *payPlant) drawCards(employee string) {
	starts := []int64{6 * 3600, 14 * 3600, 21*3600 + 1800}[p.r.IntN(3)]
	for week := p.first; week < p.last; week += 7 {
		days := []int64{0, 4, 5, 6, 7, 7}[p.r.IntN(6)]
		for date := week; date < week+7; date++ {
			switch {
			case date == changeDay && p.chance(2):
				before := len(p.model.cards)
				p.drawRepeatedHour(employee)
				if p.chance(3) {
					p.spoil(p.model.cards[before+p.r.IntN(len(p.model.cards)-before)])
				}
			case p.r.Int64N(7) >= days && days < 7:
				if p.chance(6) {
					p.draw(card{employee: employee, payCode: p.pick("leave", "holiday"), workDate: date, start: noTime, end: noTime, hours: p.between(1, 8, 1) * 3600})
				}
			default:
				p.drawShift(employee, date, starts)
			}
		}
	}
}

// draw adds a card with a station and perhaps a rate of its own.
func (p *payPlant) draw(c card) *card {
	if c.payCode == "" {
		c.payCode, c.shift = "worked", p.pick("day", "night")
		c.crew, c.station = p.pick("RED", "BLUE", "", "NONE"), p.pick("", "S1", "T1", "T2", "Y1")
		if p.chance(8) && c.employee[0] != 'A' { // the rules don't say whether an agency bills such a rate
			c.rate = p.between(150000, 299999, 1)
		}
	}
	p.model.cards = append(p.model.cards, &c)
	return &c
}

// drawShift draws one shift of one to three punches, and perhaps a fault.
func (p *payPlant) drawShift(employee string, date, starts int64) {
	from := date*day + starts + p.between(-1800, 1800, 1)
	length := p.between(5*3600, 11*3600, 60)
	if p.chance(12) {
		length = p.between(11*3600, 16*3600, 60)
	}
	var shift []*card
	pieces := int64(1 + p.r.IntN(3))
	for range pieces {
		c := card{employee: employee, workDate: date, start: from, end: from + length/pieces, hours: noTime}
		if p.chance(3) {
			c.unpaid = []int64{20, 30, 45}[p.r.IntN(3)] * 60
		}
		shift = append(shift, p.draw(c))
		from = c.end
		if p.chance(3) {
			from += p.between(10, 140, 1) * 60 // a lunch that is punched
		}
	}
	for _, c := range shift {
		if len(moments(c.start))+len(moments(c.end)) > 2 {
			return // such punches are planted with care elsewhere
		}
	}
	if date >= changeDay-1 && date <= changeDay+1 {
		return
	}
	if p.chance(3) {
		p.spoil(shift[p.r.IntN(len(shift))])
	}
	if first := shift[0]; first.start/day == date && pieces == 1 && p.chance(3) {
		first.workDate = noTime
	}
}

// spoil plants one fault at a punch.
func (p *payPlant) spoil(c *card) {
	hours := max(360, (c.end-c.start)/360*360)
	kind := p.r.IntN(9)
	repeated := len(moments(c.start))+len(moments(c.end)) > 2
	if (kind == 2 || kind == 3) && (repeated || c.workDate == changeDay && !plantCompletedReadings) {
		kind = 5 // of a repeated time the rules don't say from which moment the hours are counted
	}
	if kind == 5 && c.workDate == changeDay && !plantDoubleReadings {
		kind = 6
	}
	switch kind {
	case 0:
		c.end = noTime
	case 1:
		c.start = noTime
	case 2:
		c.end, c.hours = noTime, hours
	case 3:
		c.start, c.hours = noTime, hours
	case 4:
		c.start, c.end, c.hours = noTime, noTime, hours
		if !plantUnpaidOffHours {
			c.unpaid = 0
		}
	case 5: // punched twice, perhaps with one end
		again := *c
		again.start += p.between(-150, 150, 10)
		again.end += p.between(-150, 150, 10)
		switch p.r.IntN(5) {
		case 0:
			again.start = noTime
		case 1:
			again.end = noTime
		case 2:
			again.start, again.end = c.start, c.end
		}
		p.model.cards = append(p.model.cards, &again)
	case 6: // overlaps
		p.draw(card{
			employee: c.employee, workDate: c.workDate, hours: noTime,
			start: c.start + p.between(0, max(0, c.end-c.start-60), 1), end: c.end + p.between(-1800, 7200, 1),
		})
		if last := p.model.cards[len(p.model.cards)-1]; last.end <= last.start {
			last.end = last.start + 600
		}
	case 7: // forgotten until the next day
		c.end = c.start + p.between(16*3600-300, 22*3600, 60)
	case 8:
		c.end = c.start - p.between(0, 7200, 600)
	}
}

// drawRepeatedHour draws punches about the hour that the clocks showed twice: some as a
// person may truly have worked them, some at random.
func (p *payPlant) drawRepeatedHour(employee string) {
	midnight := (changeDay + 1) * day
	if p.chance(2) {
		at := midnight + 5*3600 - p.between(0, 4*3600, 300)
		for range 1 + p.r.IntN(4) {
			from := at + p.between(0, 5400, 300)
			at = from + p.between(300, 3*3600, 300)
			p.draw(card{employee: employee, workDate: changeDay, start: wallOf(from), end: wallOf(at), hours: noTime})
		}
		return
	}
	for range 1 + p.r.IntN(3) {
		start := midnight + p.between(-4*3600, 2*3600-300, 300)
		end := start + p.between(300, 4*3600, 300)
		if p.chance(3) {
			start, end = midnight+p.between(3600, 2*3600-300, 300), midnight+p.between(3600, 2*3600-300, 300)
		}
		p.draw(card{employee: employee, workDate: changeDay, start: start, end: end, hours: noTime})
	}
}

// writeCards writes the cards in a random order.
func (p *payPlant) writeCards() {
	for _, c := range p.model.cards {
		p.makePlain(c)
	}
	p.leaveOutDisputed()
	cards := p.model.cards
	p.r.Shuffle(len(cards), func(i, j int) { cards[i], cards[j] = cards[j], cards[i] })
	feed := &feedText{heading: "record,employee,crew,shift,station,work_date,started_at,ended_at,unpaid_min,pay_code,hours,rate_usd"}
	p.feeds["timecards"] = feed
	for i, c := range cards {
		c.line = i + 2
		if p.chance(4) {
			c.record = "K" + strconv.Itoa(i)
		}
		workDate, hours, rate := "", "", ""
		if c.workDate != noTime {
			workDate = dateText(c.workDate)
		}
		if c.hours != noTime {
			hours = strconv.FormatFloat(float64(c.hours)/3600, 'f', -1, 64)
		}
		if c.rate > 0 {
			rate = usdE4(c.rate)
		}
		feed.add(c.employee+dateText(c.shiftDate()), "%s,%s,%s,%s,%s,%s,%s,%s,%d,%s,%s,%s", c.record, c.employee, c.crew, c.shift, c.station, workDate,
			timeText(c.start), timeText(c.end), c.unpaid/60, c.payCode, hours, rate)
	}
	p.model.settle()
}

// makePlain takes unpaid minutes and rounding off a punch over midnight or the start of a
// workday: the rules don't say how seconds are rounded on either side of it. At the yard,
// where no run cuts time further, one cut leaves no choice.
func (p *payPlant) makePlain(c *card) {
	start, end := c.start, c.end
	switch {
	case c.payCode != "worked" || c.start == noTime && c.end == noTime:
		return
	case c.start == noTime:
		start = end - c.hours - c.unpaid
	case c.end == noTime:
		end = start + c.hours + c.unpaid
	}
	at := p.model.rules.weekAt
	cuts := (end-1)/day - start/day
	if at > 0 {
		cuts += (end-1-at)/day - (start-at)/day
	}
	if cuts == 0 || cuts == 1 && c.station == "Y1" {
		return
	}
	c.unpaid = 0
	if step := p.model.rules.round; step > 0 && c.bothEnds() {
		c.start, c.end = c.start/step*step, c.end/step*step
	}
}

// leaveOutDisputed takes away cards of which the ledgers think otherwise.
func (p *payPlant) leaveOutDisputed() {
	for again := true; again; {
		p.model.settle()
		again = false
		var left []*card
		for _, c := range p.model.cards {
			if p.disputed(c) {
				again = true
			} else {
				left = append(left, c)
			}
		}
		p.model.cards = left
	}
}

func (p *payPlant) disputed(c *card) bool {
	m := &p.model
	if m.covered[c] && !plantCoveredRounded {
		return true
	}
	if c.employee[0] != 'S' {
		return false
	}
	if !m.counts(c.employee, m.weekOfCard(c)) && !plantSalaryWithoutHours {
		return true
	}
	for _, counted := range m.counted[c.employee] {
		for _, part := range counted.parts {
			if counted.card == c && p.retroWithoutCards(c.employee, m.weekOf(part.workday)) && !plantSalaryRetroDays {
				return true
			}
		}
	}
	return false
}

// retroWithoutCards says that a back-dated wage was in force in a workweek, and that none
// of the week's cards is of its days.
func (p *payPlant) retroWithoutCards(employee string, week int64) bool {
	for _, w := range p.model.wages {
		if w.employee != employee || w.paid <= max(week, w.effective) || w.effective >= week+7 {
			continue
		}
		found := false
		for _, c := range p.model.counted[employee] {
			for _, part := range c.parts {
				date := c.shiftDate()
				found = found || p.model.weekOf(part.workday) == week && date >= w.effective && date < w.paid
			}
		}
		if !found {
			return true
		}
	}
	return false
}
