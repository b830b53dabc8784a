package warehouse_test

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"
)

// payPlant is a random plant of a few weeks around the autumn's clock change, whose
// timecards, wages and other pay hold all that the pay rules speak of.
type payPlant struct {
	r        *rand.Rand
	model    payModel
	settings string
	feeds    map[string]*feedText
	stops    []stop

	first, last int64 // days; last is left out
	weeks       []int64
}

// feedText is a feed as rows, each with what holds it together with others.
type feedText struct {
	heading string
	rows    []string
	groups  []string
}

type stop struct {
	station    string
	start, end int64 // walls
}

var payEmployees = []string{"H1", "H2", "H3", "S1", "S2", "A1", "A2", "N1"} // hourly, salary, agency, no wage

func (p *payPlant) chance(in int) bool { return p.r.IntN(in) == 0 }

func (p *payPlant) pick(of ...string) string { return of[p.r.IntN(len(of))] }

// between is a random number from low to high, in steps.
func (p *payPlant) between(low, high, step int64) int64 {
	return low + p.r.Int64N((high-low)/step+1)*step
}

func dateText(day int64) string { return time.Unix(day*86400, 0).UTC().Format(time.DateOnly) }

func timeText(w int64) string {
	if w == noTime {
		return ""
	}
	return time.Unix(w, 0).UTC().Format(time.DateTime)
}

func (f *feedText) add(group, format string, values ...any) {
	f.rows, f.groups = append(f.rows, fmt.Sprintf(format, values...)), append(f.groups, group)
}

// text is the rows that keep lets through, under the heading.
func (f *feedText) text(keep func(group string) bool) string {
	var b strings.Builder
	b.WriteString(f.heading + "\n")
	for i, row := range f.rows {
		if keep(f.groups[i]) {
			b.WriteString(row + "\n")
		}
	}
	return b.String()
}

func newPayPlant(seed uint64) *payPlant {
	p := &payPlant{r: rand.New(rand.NewPCG(seed, 11)), feeds: map[string]*feedText{}}
	p.drawSettings()
	length := 3 + int64(p.r.IntN(2))
	p.first = p.model.weekOf(wall(-8*24*60).Unix() / day) // the week of 2026-10-21
	p.last = p.first + 7*length
	// The weeks around the feeds' own take what night shifts and late pay leave there.
	for week := p.first - 14; week < p.last+21; week += 7 {
		p.weeks = append(p.weeks, week)
	}
	p.feeds["jobs"] = &feedText{heading: "job,price_usd", rows: []string{"J1,5000", "J2,7000.10"}, groups: []string{"J1", "J2"}}
	p.feeds["trusses"] = &feedText{heading: "job,truss,quantity", rows: []string{"J1,A,10", "J2,A,20"}, groups: []string{"J1", "J2"}}
	p.drawWages()
	for _, employee := range payEmployees {
		p.drawCards(employee)
	}
	p.writeCards()
	p.drawOtherPay()
	p.drawFloor()
	return p
}

func (p *payPlant) drawSettings() {
	rules, starts := &p.model.rules, p.pick("Mon 00:00", "Sun 22:00", "Wed 06:00")
	rules.weekDay = map[string]int64{"Mon": 1, "Sun": 0, "Wed": 3}[starts[:3]]
	rules.weekAt = map[string]int64{"Mon": 0, "Sun": 22 * 3600, "Wed": 6 * 3600}[starts[:3]]
	rules.daily = []int64{0, 8 * 3600, 10 * 3600}[p.r.IntN(3)]
	if rules.daily > 0 && p.chance(2) {
		rules.double = 12 * 3600
	}
	rules.seventh, rules.cent = p.chance(2), p.chance(2)
	rules.round = []int64{0, 5 * 60, 6 * 60, 15 * 60}[p.r.IntN(4)]
	rules.mealAfter = []int64{0, 4 * 3600, 6 * 3600}[p.r.IntN(3)]
	p.settings = fmt.Sprintf("%s\n[pay]\ndaily_threshold_hours = %d\ndouble_daily_threshold_hours = %d\nseventh_day = %q\npunch_rounding_min = %d\n"+
		"meal_after_hours = %d\nrate_rounding = %q\novertime_premium = %q\nburden_pct = 0.2\nburden_usd_per_hour = 0.55\n",
		strings.Replace(randomSettings[:strings.Index(randomSettings, "[pay]")], "[plant]", "[plant]\nworkweek_starts = \""+starts+"\"", 1),
		rules.daily/3600, rules.double/3600, map[bool]string{true: "premium", false: "none"}[rules.seventh], rules.round/60,
		rules.mealAfter/3600, map[bool]string{true: "cent", false: "none"}[rules.cent], p.pick("overhead", "job")) +
		randomSettings[strings.Index(randomSettings, "[overhead]"):]
}

func (p *payPlant) drawWages() {
	feed := &feedText{heading: "employee,effective_on,role,basis,rate_usd,salary_hours,overtime,overtime_bill_rate_usd,paid_from"}
	p.feeds["wages"] = feed
	raised := func(w wage, backDated bool) wage {
		w.effective = max(w.effective+1, p.between(p.first, p.last-1, 1))
		w.paid = w.effective
		w.rate += p.between(1, 60000, 1)
		if w.basis == "salary" {
			w.rate += p.between(0, 100, 1) * 10000
		}
		if backDated {
			w.paid += p.between(1, 16, 1)
		}
		return w
	}
	for _, employee := range payEmployees {
		w := wage{employee: employee, effective: p.first - 200, rate: p.between(150000, 299999, 1)}
		w.paid = w.effective
		switch employee[:1] {
		case "N":
			continue
		case "S":
			w.basis, w.rate, w.salaryHours = "salary", p.between(800_0000, 1800_0000, 1), p.between(36, 48, 4)
			w.overtime = map[string]string{"S1": "yes", "S2": "no"}[employee]
		case "A":
			w.basis = "agency"
			if employee == "A1" {
				w.billRate = w.rate + p.between(0, 150000, 1)
			}
		default:
			w.basis = "hourly"
			w.overtime = p.pick("", "", "yes")
			if employee == "H3" && p.chance(2) {
				w.overtime = "no"
			}
			if employee == "H1" && p.chance(4) {
				w.effective = p.between(p.first, p.last-1, 1) // worked before there was a wage
				w.paid = w.effective
			}
		}
		p.model.wages = append(p.model.wages, w)
		switch {
		case employee == "A1": // the rules don't say which of two bill rates a premium hour replaces
		case employee == "H2":
			p.model.wages = append(p.model.wages, raised(w, true))
		case p.chance(2):
			p.model.wages = append(p.model.wages, raised(w, p.chance(2)))
		}
	}
	for _, w := range p.model.wages {
		bill, hours, paid := "", "", ""
		if w.billRate > 0 {
			bill = usdE4(w.billRate)
		}
		if w.salaryHours > 0 {
			hours = strconv.FormatInt(w.salaryHours, 10)
		}
		if w.paid > w.effective {
			paid = dateText(w.paid)
		}
		feed.add(w.employee+dateText(w.effective), "%s,%s,direct,%s,%s,%s,%s,%s,%s", w.employee, dateText(w.effective), w.basis, usdE4(w.rate), hours, w.overtime, bill, paid)
	}
}

func usdE4(n int64) string { return fmt.Sprintf("%d.%04d", n/10000, n%10000) }

func (p *payPlant) drawOtherPay() {
	feed := &feedText{heading: "employee,workweek_start,kind,amount_usd,earned_from,earned_until,record"}
	p.feeds["other_pay"] = feed
	for n := range p.r.IntN(14) {
		x := extraPay{
			employee: payEmployees[p.r.IntN(len(payEmployees)-1)], kind: p.pick("bonus", "bonus", "differential", "piecework", "discretionary", "reimbursement"),
			week: p.first + 7*int64(p.r.IntN(int((p.last-p.first)/7))), cents: p.between(1, 40000, 1), from: noTime, until: noTime,
		}
		from, until := "", ""
		switch p.r.IntN(3) {
		case 0: // earned in its own week
			x.from = x.week + p.between(0, 5, 1)
			x.until = p.between(x.from+1, x.week+7, 1)
		case 1:
			x.from = p.between(p.first-3, p.last-2, 1)
			x.until = x.from + p.between(1, 24, 1)
		}
		if x.kind == "piecework" && (x.employee[0] == 'S' && !plantSalaryPiecework || x.employee[0] == 'A' && !plantAgencyPiecework) {
			x.kind = "bonus"
		}
		if x.spread() && p.model.rules.cent && !plantSpreadToCent {
			x.from, x.until = noTime, noTime
		}
		if x.from != noTime {
			from, until = dateText(x.from), dateText(x.until)
		}
		p.model.extra = append(p.model.extra, x)
		feed.add(x.employee+x.kind, "%s,%s,%s,%d.%02d,%s,%s,R%d", x.employee, dateText(x.week), x.kind, x.cents/100, x.cents%100, from, until, n)
	}
}

// drawFloor draws runs and stoppages.
func (p *payPlant) drawFloor() {
	runs := &feedText{heading: "station,batch,job,truss,crew,shift,shift_date,setup_started_at,build_started_at,finished_at,quantity"}
	stops := &feedText{heading: "station,started_at,ended_at,reason"}
	p.feeds["completions"], p.feeds["stoppages"] = runs, stops
	for range 10 + p.r.IntN(20) {
		station, start := p.pick("S1", "T1", "T2"), p.between(p.first*day, p.last*day, 60)
		build := start + p.between(0, 3600, 60)
		runs.add(station+dateText(start/day), "%s,,%s,A,%s,day,%s,%s,%s,%s,%d", station, p.pick("J1", "J2"), p.pick("RED", "BLUE"), dateText(start/day),
			timeText(start), timeText(build), timeText(build+p.between(60, 5*3600, 60)), p.r.IntN(9))
	}
	for range 20 + p.r.IntN(60) {
		s := stop{station: p.pick("S1", "T1", "T2"), start: p.between(p.first*day, p.last*day, 60)}
		s.end = s.start + p.between(60, 6*3600, 60)
		if len(moments(s.start))+len(moments(s.end)) > 2 {
			continue
		}
		p.stops = append(p.stops, s)
		stops.add(s.station+dateText(s.start/day), "%s,%s,%s,%s", s.station, timeText(s.start), timeText(s.end), p.pick("saw down", "no lumber"))
	}
}
