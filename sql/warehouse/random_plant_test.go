package warehouse_test

import (
	"fmt"
	"math/rand/v2"
	"sort"
	"strings"
	"time"
)

// randomPlant is the text of a few feeds of a small plant with everything that can go
// wrong in a log: overlapping and missing punches, people without station, runs open
// together, blank starts, a night over the autumn clock change, boards issued before they
// came, returns. What the ledgers must make of it is worked out here a second time, by
// plain simulation in Go.
type randomPlant struct {
	files map[string]string // feed = text

	punches []punch
	moves   []move
}

type punch struct {
	employee     string
	start, end   time.Time // zero: missing
	wallStart    time.Time
	unpaid       int // minutes
	rate         int // ten-thousandths of a dollar, 0 for none of its own
	leaveSeconds int
	line         int

	openInRepeatedHour bool // its end is a clock time that comes twice
}

type move struct {
	kind   string // receipt, cut, return
	day    int
	minute int
	item   int // index of itemLengths
	boards int
	price  int // cents per thousand board feet, receipts
	job    string
	line   int
	seq    int
}

var (
	chicago     = mustZone("America/Chicago")
	firstDay    = time.Date(2026, 10, 29, 0, 0, 0, 0, chicago)
	itemLengths = []int{12, 16} // feet, 2x4
	employees   = []string{"E1", "E2", "E3", "E4"}
	wageOf      = map[string]int{"E1": 203300, "E2": 178750, "E3": 241234} // E4 has none
)

func mustZone(name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil {
		panic(err)
	}
	return zone
}

// clock writes the wall time of minutes after the first day's midnight, by wall clock.
func wall(minutes int) time.Time {
	return time.Date(firstDay.Year(), firstDay.Month(), firstDay.Day(), 0, minutes, 0, 0, time.UTC)
}

func stamp(t time.Time) string { return t.Format("2006-01-02 15:04") }

// instant is the moment of a wall time, and whether there is exactly one.
func instant(w time.Time) (time.Time, bool) {
	t := time.Date(w.Year(), w.Month(), w.Day(), w.Hour(), w.Minute(), 0, 0, chicago)
	repeated := w.Year() == 2026 && w.Month() == 11 && w.Day() == 1 && w.Hour() == 1
	return t, !repeated
}

func newRandomPlant(seed uint64) *randomPlant {
	r := rand.New(rand.NewPCG(seed, 7))
	p := &randomPlant{files: map[string]string{}}
	p.files["jobs"] = "job,ordered_on,price_usd,shipped_on,quoted_lumber_usd,quoted_plate_usd,quoted_labour_usd,quoted_labour_min,quoted_overhead_usd\n" +
		"J1,2026-10-05,5000,2026-11-01,900.33,101.01,500.10,700.5,\nJ2,2026-10-06,7000.10,,1200,99.99,777.77,1234,333.33\n"
	p.files["trusses"] = "job,truss,quantity,plies,plate_usd,quoted_setup_min,quoted_build_min\nJ1,A,10,1,3.335,31.5,17.25\nJ1,B,4,2,1.1,60,40\nJ2,A,20,1,2.5,30,12.5\n"
	p.files["cut_pieces"] = "job,truss,piece,size,species,grade,length,pieces_per_ply\n" +
		"J1,A,TC,2x4,SPF,No. 2,11-03-05,2\nJ1,B,BC,2x4,SPF,No. 2,15-00-00,1\nJ2,A,W,2x4,SPF,No. 2,3-07-09,4\n"
	var wages strings.Builder
	wages.WriteString("employee,effective_on,role,rate_usd\n")
	for _, employee := range employees {
		if rate := wageOf[employee]; rate > 0 {
			role := []string{"direct", "indirect", "lead"}[r.IntN(3)]
			fmt.Fprintf(&wages, "%s,2026-01-01,%s,%d.%04d\n", employee, role, rate/10000, rate%10000)
		}
	}
	p.files["wages"] = wages.String()
	p.timecards(r)
	p.completions(r)
	p.boards(r)
	return p
}

func (p *randomPlant) timecards(r *rand.Rand) {
	var b strings.Builder
	b.WriteString("employee,crew,shift,station,started_at,ended_at,unpaid_min,pay_code,hours,rate_usd,work_date\n")
	line := 1
	for range 4 + r.IntN(14) {
		line++
		u := punch{employee: employees[r.IntN(len(employees))], line: line}
		if r.IntN(8) == 0 {
			hours := 1 + r.IntN(8)
			u.leaveSeconds = hours * 3600
			p.punches = append(p.punches, u)
			fmt.Fprintf(&b, "%s,,,,,,,leave,%d,,2026-10-30\n", u.employee, hours)
			continue
		}
		start := r.IntN(4*24*60 - 60)
		length := 1 + r.IntN(14*60)
		from, until := wall(start), wall(start+length)
		u.wallStart = from
		u.unpaid = []int{0, 0, 30, 45}[r.IntN(4)]
		rateText := ""
		if r.IntN(5) == 0 {
			u.rate = 150000 + r.IntN(90000)
			rateText = fmt.Sprintf("%d.%04d", u.rate/10000, u.rate%10000)
		}
		startText, endText := stamp(from), stamp(until)
		var ok bool
		if u.start, ok = instant(from); !ok {
			u.start = time.Time{}
		}
		if u.end, ok = instant(until); !ok {
			u.end, u.openInRepeatedHour = time.Time{}, true
		}
		if r.IntN(10) == 0 {
			u.end, endText = time.Time{}, ""
		}
		crew := []string{"RED", "BLUE", "", "NONE"}[r.IntN(4)]
		station := []string{"", "", "T1", "T2", "Y1"}[r.IntN(5)]
		p.punches = append(p.punches, u)
		fmt.Fprintf(&b, "%s,%s,day,%s,%s,%s,%d,worked,,%s,%s\n", u.employee, crew, station, startText, endText, u.unpaid, rateText, from.Format("2006-01-02"))
	}
	p.files["timecards"] = b.String()
}

func (p *randomPlant) completions(r *rand.Rand) {
	var b strings.Builder
	b.WriteString("station,batch,job,truss,crew,shift,shift_date,setup_started_at,build_started_at,finished_at,quantity,remake\n")
	for range 3 + r.IntN(20) {
		start := r.IntN(4*24*60 - 300)
		setup, build := start, start+r.IntN(60)
		finish := build + r.IntN(240)
		setupText, buildText, finishText := stamp(wall(setup)), stamp(wall(build)), stamp(wall(finish))
		switch r.IntN(6) {
		case 0:
			setupText = ""
		case 1:
			setupText, buildText = "", ""
		}
		mark := [][2]string{{"J1", "A"}, {"J1", "B"}, {"J2", "A"}, {"J2", ""}, {"J9", "A"}}[r.IntN(5)]
		fmt.Fprintf(&b, "%s,%s,%s,%s,%s,day,%s,%s,%s,%s,%d,%s\n",
			[]string{"S1", "T1", "T1", "T2"}[r.IntN(4)], []string{"", "B1", "B2"}[r.IntN(3)], mark[0], mark[1],
			[]string{"RED", "BLUE"}[r.IntN(2)], wall(start).Format("2006-01-02"), setupText, buildText, finishText,
			r.IntN(9), []string{"", "", "", "normal"}[r.IntN(4)])
	}
	p.files["completions"] = b.String()
}

func (p *randomPlant) boards(r *rand.Rand) {
	var in, out strings.Builder
	in.WriteString("received_on,vendor,document,line,size,species,grade,length,boards,usd_per_mbf\n")
	out.WriteString("used_at,job,size,species,grade,length,boards,reason\n")
	inLine, outLine := 1, 1
	for range 4 + r.IntN(25) {
		m := move{day: r.IntN(4), minute: r.IntN(24 * 60), item: r.IntN(len(itemLengths)), job: []string{"J1", "J2"}[r.IntN(2)]}
		date := wall(m.day * 24 * 60).Format("2006-01-02")
		switch r.IntN(6) {
		case 0, 1:
			inLine++
			m.kind, m.boards, m.price, m.line, m.minute = "receipt", 1+r.IntN(60), 30000+r.IntN(50000), inLine, -1
			fmt.Fprintf(&in, "%s,V1,%d,1,2x4,SPF,No. 2,%d-00-00,%d,%d.%02d\n", date, inLine, itemLengths[m.item], m.boards, m.price/100, m.price%100)
		case 2:
			outLine++
			m.kind, m.boards, m.line = "return", 1+r.IntN(4), outLine
			fmt.Fprintf(&out, "%s,%s,2x4,SPF,No. 2,%d-00-00,-%d,return\n", stamp(wall(m.day*24*60+m.minute)), m.job, itemLengths[m.item], m.boards)
		default:
			outLine++
			m.kind, m.boards, m.line = "cut", 1+r.IntN(40), outLine
			fmt.Fprintf(&out, "%s,%s,2x4,SPF,No. 2,%d-00-00,%d,cut\n", stamp(wall(m.day*24*60+m.minute)), m.job, itemLengths[m.item], m.boards)
		}
		p.moves = append(p.moves, m)
	}
	sort.SliceStable(p.moves, func(i, j int) bool {
		a, b := p.moves[i], p.moves[j]
		if a.day != b.day {
			return a.day < b.day
		}
		if a.minute != b.minute {
			return a.minute < b.minute
		}
		return a.line < b.line
	})
	p.files["receipts"], p.files["lumber_usage"] = in.String(), out.String()
}

// paidSeconds simulates what each employee is paid for: punches in order of their start,
// the later counted from the end of the earlier. Employees whose punches fall under the rules
// of breaks, of double punches or of the repeated hour are left to the model of TestRandomPay.
func (p *randomPlant) paidSeconds() map[string]int64 {
	special, paid := p.specialPunches(), map[string]int64{}
	for _, worked := range p.counted() {
		if !special[worked.employee] {
			paid[worked.employee] += worked.seconds
		}
	}
	return paid
}

// specialPunches names the employees with two punches at most two hours apart, or near enough
// to be one, or with a time in the repeated hour.
func (p *randomPlant) specialPunches() map[string]bool {
	special := map[string]bool{}
	for i, a := range p.punches {
		if a.leaveSeconds > 0 {
			continue
		}
		if a.start.IsZero() || a.openInRepeatedHour {
			special[a.employee] = true
		}
		for _, b := range p.punches[:i] {
			if b.employee != a.employee || b.leaveSeconds > 0 {
				continue
			}
			for _, pair := range [][2]time.Time{{a.start, b.start}, {a.start, b.end}, {a.end, b.start}} {
				if !pair[0].IsZero() && !pair[1].IsZero() && pair[0].Sub(pair[1]).Abs() <= 2*time.Hour {
					special[a.employee] = true
				}
			}
		}
	}
	return special
}

type countedPunch struct {
	employee string
	seconds  int64
	rate     int64 // ten-thousandths of a dollar; 0 when unknown
	leave    bool
	weeks    int // workweeks that it touches
}

func (p *randomPlant) counted() []countedPunch {
	sorted := append([]punch{}, p.punches...)
	sort.SliceStable(sorted, func(i, j int) bool {
		if !sorted[i].start.Equal(sorted[j].start) {
			return sorted[i].start.Before(sorted[j].start)
		}
		return sorted[i].end.Before(sorted[j].end)
	})
	busy := map[string]time.Time{}
	monday := time.Date(2026, 11, 2, 0, 0, 0, 0, chicago)
	var counted []countedPunch
	for _, u := range sorted {
		rate := int64(wageOf[u.employee])
		if u.rate > 0 {
			rate = int64(u.rate)
		}
		c := countedPunch{employee: u.employee, rate: rate, weeks: 1}
		switch {
		case u.leaveSeconds > 0:
			c.seconds, c.leave = int64(u.leaveSeconds), true
		case u.start.IsZero() || u.end.IsZero() || !u.end.After(u.start):
			continue
		default:
			from := u.start
			if busy[u.employee].After(from) {
				from = busy[u.employee]
			}
			if u.end.After(busy[u.employee]) {
				busy[u.employee] = u.end
			}
			if !u.end.After(from) {
				continue
			}
			elapsed := int64(u.end.Sub(from) / time.Second)
			c.seconds = elapsed - min(elapsed, int64(u.unpaid)*60)
			if from.Before(monday) && u.end.After(monday) {
				c.weeks = 2
			}
			if !from.Before(monday) {
				c.weeks = 0 // wholly in the week after
			}
		}
		counted = append(counted, c)
	}
	return counted
}

// grossCents simulates gross pay of the first workweek, in exact cents, for employees whose
// punches all lie in it: 40 hours, time and a half, regular rate unrounded.
func (p *randomPlant) grossCents() map[string]int64 {
	units, leave, worked, skip := map[string]int64{}, map[string]int64{}, map[string]int64{}, p.specialPunches()
	for _, c := range p.counted() {
		if c.weeks != 1 {
			skip[c.employee] = true
		}
		if c.leave {
			leave[c.employee] += c.seconds * c.rate
		} else {
			units[c.employee] += c.seconds * c.rate
			worked[c.employee] += c.seconds
		}
	}
	gross := map[string]int64{}
	for _, employee := range employees {
		if skip[employee] {
			continue
		}
		total := halfUp(leave[employee], 360000)
		if over := worked[employee] - 40*3600; over > 0 {
			// Straight pay and half the regular rate for each overtime hour, rounded once:
			// units x (1 + over / worked / 2).
			total += halfUpBig(units[employee], 2*worked[employee]+over, 2*worked[employee]*360000)
		} else {
			total += halfUp(units[employee], 360000)
		}
		gross[employee] = total
	}
	return gross
}

// stockLayer is boards that came in together, and how many of them are gone.
type stockLayer struct {
	cents, boards, used int64
	unpriced            bool
}

// take gives the cents of the layer's next boards: differences of its rounded running total.
func (l *stockLayer) take(boards int64) int64 {
	cents := halfUp(l.cents*(l.used+boards), l.boards) - halfUp(l.cents*l.used, l.boards)
	l.used += boards
	return cents
}

// shortage is boards issued with none on hand, at the price of the last receipt.
type shortage struct {
	job                   string
	boards, served        int64
	lastCents, lastBoards int64
}

func (s *shortage) posted(from, to int64) int64 {
	if s.lastBoards == 0 {
		return 0
	}
	return halfUp(s.lastCents*to, s.lastBoards) - halfUp(s.lastCents*from, s.lastBoards)
}

type issued struct {
	job                 string
	feet, boards, cents int64
	unpriced            bool
}

type stockItem struct {
	layers []*stockLayer
	shorts []*shortage
	last   *stockLayer
}

// stock simulates first in, first out, movement by movement, and returns dollars on hand
// and lumber by job, both in cents.
func (p *randomPlant) stock() (onHand int64, byJob map[string]int64) {
	byJob = map[string]int64{}
	items := make([]stockItem, len(itemLengths))
	var issues []issued
	// A new layer serves what was short before it can be issued.
	arrive := func(item *stockItem, l *stockLayer) {
		onHand += l.cents
		item.layers = append(item.layers, l)
		for len(item.shorts) > 0 && l.used < l.boards {
			s := item.shorts[0]
			n := min(s.boards-s.served, l.boards-l.used)
			difference := l.take(n) - s.posted(s.served, s.served+n)
			byJob[s.job] += difference
			onHand -= difference
			if s.served += n; s.served == s.boards {
				item.shorts = item.shorts[1:]
			}
		}
	}
	// A board that comes back reverses the job's latest issue of its length, else it is a
	// remnant of the job's latest longer issue.
	source := func(job string, feet int64) *issued {
		for _, longer := range []bool{false, true} {
			for i := len(issues) - 1; i >= 0; i-- {
				if issues[i].job == job && (issues[i].feet == feet || longer && issues[i].feet > feet) {
					return &issues[i]
				}
			}
		}
		return nil
	}
	for _, m := range p.moves {
		item, feet, boards := &items[m.item], int64(itemLengths[m.item]), int64(m.boards)
		switch m.kind {
		case "receipt":
			// 2x4: feet x 8 / 12 board feet a board.
			item.last = &stockLayer{boards: boards, cents: halfUp(boards*feet*8*int64(m.price), 12*1000)}
			arrive(item, item.last)
		case "return":
			l := &stockLayer{boards: boards}
			// Without a known issue, or of one without a price, the last landed price stands in.
			if from := source(m.job, feet); from != nil && !from.unpriced {
				l.cents = halfUpBig(from.cents*boards, feet, from.boards*from.feet)
			} else if item.last != nil {
				l.cents = halfUp(item.last.cents*boards, item.last.boards)
			} else {
				l.unpriced = true
			}
			byJob[m.job] -= l.cents
			arrive(item, l)
		case "cut":
			made := issued{job: m.job, feet: feet, boards: boards}
			need := boards
			for _, l := range item.layers {
				if n := min(need, l.boards-l.used); n > 0 {
					made.cents += l.take(n)
					made.unpriced = made.unpriced || l.unpriced
					need -= n
				}
			}
			if need > 0 {
				s := &shortage{job: m.job, boards: need}
				if item.last != nil {
					s.lastCents, s.lastBoards = item.last.cents, item.last.boards
				} else {
					made.unpriced = true
				}
				made.cents += s.posted(0, need)
				item.shorts = append(item.shorts, s)
			}
			onHand -= made.cents
			byJob[m.job] += made.cents
			issues = append(issues, made)
		}
	}
	return onHand, byJob
}
