package warehouse_test

import "math/big"

type wage struct {
	employee        string
	effective, paid int64 // days
	basis, overtime string
	rate            int64 // ten-thousandths of a dollar
	billRate        int64 // past the threshold, or 0
	salaryHours     int64
}

type extraPay struct {
	employee, kind string
	week           int64 // first day of the workweek that pays it
	cents          int64
	from, until    int64 // days, or both noTime
}

func (x extraPay) counts() bool {
	return x.kind == "bonus" || x.kind == "differential" || x.kind == "piecework"
}

// spread says that it was earned outside the workweek that pays it.
func (x extraPay) spread() bool {
	return x.counts() && x.from != noTime && (x.from < x.week || x.until > x.week+7)
}

// weekPay is one employee's workweek, in cents.
type weekPay struct {
	worked, overtime, double int64 // seconds
	base                     int64 // straight pay, leave and rate variance
	premium, bonus, retro    int64
	reimbursed               int64
}

func (p weekPay) gross() int64 { return p.base + p.premium + p.bonus + p.retro }

// wageOn is the wage in force on a day, as owed or as paid.
func (m *payModel) wageOn(employee string, day int64, owed bool) *wage {
	var found *wage
	for i, w := range m.wages {
		if w.employee == employee && w.effective <= day && (owed || w.paid <= day) && (found == nil || w.effective > found.effective) {
			found = &m.wages[i]
		}
	}
	return found
}

func roundedCents(usd *big.Rat) int64 {
	cents := new(big.Rat).Mul(usd, big.NewRat(100, 1))
	n, d := new(big.Int).Set(cents.Num()), cents.Denom()
	negative := n.Sign() < 0
	n.Abs(n).Mul(n, big.NewInt(2)).Add(n, d).Quo(n, new(big.Int).Mul(d, big.NewInt(2)))
	if negative {
		n.Neg(n)
	}
	return n.Int64()
}

func toCent(usd *big.Rat) *big.Rat { return big.NewRat(roundedCents(usd), 100) }

func hoursOf(seconds int64) *big.Rat { return big.NewRat(seconds, 3600) }

func add(a, b *big.Rat) *big.Rat { return new(big.Rat).Add(a, b) }

func times(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }

// tiers is how the hours of a workweek earn: premium at time and a half, double at double
// time.
func (m *payModel) tiers(employee string, week int64) (worked, premium, double int64) {
	var days [7]int64
	for _, c := range m.counted[employee] {
		for _, part := range c.parts {
			if !c.leave && m.weekOf(part.workday) == week {
				days[part.workday-week] += part.seconds
			}
		}
	}
	all := true
	for _, seconds := range days {
		all = all && seconds > 0
	}
	towards := int64(0)
	for i, seconds := range days {
		worked += seconds
		half, twice := int64(0), int64(0)
		if m.rules.seventh && all && i == 6 {
			if m.rules.double > 0 {
				twice = max(0, seconds-m.rules.daily)
			}
			half = seconds - twice
		} else if m.rules.daily > 0 {
			if m.rules.double > 0 {
				twice = max(0, seconds-m.rules.double)
			}
			half = max(0, seconds-m.rules.daily) - twice
		}
		premium, double = premium+half, double+twice
		towards += seconds - half - twice
	}
	return worked, premium + max(0, towards-weekly), double
}

// baseAndPremium is a workweek's straight pay with leave and rate variance, and its premium
// on what was earned in the week itself, at the rates as owed or as paid, in cents.
func (m *payModel) baseAndPremium(employee string, week int64, owed bool) (base, premium int64) {
	worked, half, twice := m.tiers(employee, week)
	straight, leave, piecework, beside := new(big.Rat), new(big.Rat), new(big.Rat), new(big.Rat)
	leaveSeconds := int64(0)
	for _, c := range m.counted[employee] {
		rate := m.rateOf(c.card, owed)
		for _, part := range c.parts {
			if m.weekOf(part.workday) != week {
				continue
			}
			if c.leave {
				leaveSeconds += part.seconds
			}
			if rate == nil {
				continue
			}
			if usd := times(rate, hoursOf(part.seconds)); c.leave {
				leave = add(leave, usd)
			} else {
				straight = add(straight, usd)
			}
		}
	}
	for _, x := range m.extra {
		if x.employee != employee || x.week != week || !x.counts() || x.spread() {
			continue
		}
		if x.kind == "piecework" && worked > 0 {
			piecework = add(piecework, big.NewRat(x.cents, 100))
		} else {
			beside = add(beside, big.NewRat(x.cents, 100))
		}
	}
	// The wage at the week's end says how the employee is paid: none changes its basis.
	w := m.wageOn(employee, week+6, owed)
	switch {
	case w != nil && w.basis == "salary":
		return m.salaryPay(w, week, owed, worked, leaveSeconds, half, twice, piecework, beside)
	case w != nil && w.basis == "agency":
		straight = add(straight, piecework)
		if w.billRate > 0 {
			// Premium hours are billed at their own rate instead of the week's.
			premium = roundedCents(add(straight, m.billedBesides(employee, week, owed, half+twice))) - roundedCents(straight)
		}
		return roundedCents(straight) + roundedCents(leave), premium
	default:
		straight = add(straight, piecework)
		if worked > 0 && (w == nil || w.overtime != "no") {
			regular := times(add(straight, beside), new(big.Rat).Inv(hoursOf(worked)))
			premium = m.premiumOn(regular, half, twice, straight)
		}
		return roundedCents(straight) + roundedCents(leave), premium
	}
}

// premiumOn is the premium at a regular rate. Unrounded, it is the last step of a running
// total that begins with already.
func (m *payModel) premiumOn(regular *big.Rat, half, twice int64, already *big.Rat) int64 {
	if m.rules.cent {
		regular = toCent(regular)
		atHalf := times(toCent(times(regular, big.NewRat(1, 2))), hoursOf(half))
		return roundedCents(add(atHalf, times(regular, hoursOf(twice))))
	}
	exact := times(regular, weightedHours(half, twice))
	return roundedCents(add(already, exact)) - roundedCents(already)
}

// weightedHours is premium hours times what of the rate they earn besides.
func weightedHours(half, twice int64) *big.Rat {
	return add(times(hoursOf(half), big.NewRat(1, 2)), hoursOf(twice))
}

// billedBesides is what an agency bills for premium hours besides their straight rate.
func (m *payModel) billedBesides(employee string, week int64, owed bool, seconds int64) *big.Rat {
	w := m.wageOn(employee, week+6, owed)
	return times(hoursOf(seconds), big.NewRat(w.billRate-w.rate, 10000))
}

// salaryPay is the pay of a salaried workweek.
func (m *payModel) salaryPay(w *wage, week int64, owed bool, worked, leave, half, twice int64, piecework, beside *big.Rat) (base, premium int64) {
	if !m.present(w.employee, week) {
		return roundedCents(piecework), 0
	}
	salary := new(big.Rat)
	for i := range int64(7) {
		if in := m.wageOn(w.employee, week+i, owed); in != nil {
			salary = add(salary, big.NewRat(in.rate, 7*10000))
		}
	}
	regular := times(salary, big.NewRat(1, w.salaryHours))
	total := add(salary, piecework)
	if w.overtime == "yes" {
		total = add(total, times(regular, hoursOf(max(0, worked+leave-w.salaryHours*3600))))
		if worked > 0 {
			regular = add(regular, times(add(piecework, beside), new(big.Rat).Inv(hoursOf(worked))))
			premium = m.premiumOn(regular, half, twice, new(big.Rat))
		}
	}
	return roundedCents(total), premium
}

// present says whether the employee has a card in the workweek, whatever it counts.
func (m *payModel) present(employee string, week int64) bool {
	for _, c := range m.cards {
		if c.employee == employee && m.weekOfCard(c) == week {
			return true
		}
	}
	return m.counts(employee, week)
}

// counts says whether seconds of the employee count in the workweek.
func (m *payModel) counts(employee string, week int64) bool {
	for _, c := range m.counted[employee] {
		for _, part := range c.parts {
			if m.weekOf(part.workday) == week {
				return true
			}
		}
	}
	return false
}

// payWeek is all of one employee's workweek.
func (m *payModel) payWeek(employee string, week int64, weeks []int64) weekPay {
	var p weekPay
	worked, half, twice := m.tiers(employee, week)
	p.worked, p.overtime, p.double = worked, half+twice, twice
	p.base, p.premium = m.baseAndPremium(employee, week, false)
	for _, x := range m.extra {
		switch {
		case x.employee != employee || x.week != week:
		case x.kind == "reimbursement":
			p.reimbursed += x.cents
		case x.kind == "piecework" && worked > 0 && !x.spread(): // in the base
		default:
			p.bonus += x.cents
		}
		if x.employee == employee && x.week == week && x.spread() {
			p.premium += m.spreadPremium(x, weeks)
		}
	}
	for _, w := range m.wages {
		if w.employee == employee && w.paid > w.effective && m.weekOf(w.paid) == week {
			for _, between := range weeks {
				owedBase, owedPremium := m.baseAndPremium(employee, between, true)
				paidBase, paidPremium := m.baseAndPremium(employee, between, false)
				p.retro += owedBase + owedPremium - paidBase - paidPremium
			}
		}
	}
	return p
}

// spreadPremium is what pay that was earned in several workweeks adds to their premiums.
func (m *payModel) spreadPremium(x extraPay, weeks []int64) (cents int64) {
	w := m.wageOn(x.employee, x.week+6, false)
	if w != nil && (w.basis == "agency" || w.overtime == "no") {
		return 0
	}
	earned, all := map[int64]int64{}, int64(0)
	for _, c := range m.counted[x.employee] {
		for _, part := range c.parts {
			if !c.leave && part.day >= x.from && part.day < x.until {
				earned[m.weekOf(part.workday)] += part.seconds
				all += part.seconds
			}
		}
	}
	for _, week := range weeks {
		worked, half, twice := m.tiers(x.employee, week)
		if earned[week] == 0 {
			continue
		}
		share := times(big.NewRat(x.cents, 100), big.NewRat(earned[week], all))
		rate := times(share, new(big.Rat).Inv(hoursOf(worked)))
		cents += roundedCents(times(rate, weightedHours(half, twice)))
	}
	return cents
}
