package warehouse_test

import (
	"context"
	"fmt"
	"hash/fnv"
	"sort"
	"testing"

	"trusstally/ingest"
	"trusstally/ingest/plant"
	"trusstally/sql/warehouse"
)

// TestRandomPay: for any settings, wages, punches and other pay, seconds and pay are those
// that a second computation makes of the written rules, every punch that does not count is
// told, and the order of the files does not matter.
func TestRandomPay(t *testing.T) {
	for seed := range plantsToTry(t, 2) {
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			p := newPayPlant(seed)
			settings, err := plant.Parse([]byte(p.settings), nil)
			if err != nil {
				t.Fatal(err)
			}
			w := buildFiles(t, settings, p.whole())
			defer w.Close()
			findings, err := w.Check(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			for _, finding := range findings {
				if finding.Severity == "error" {
					t.Errorf("%s: %s: %s", finding.Check, finding.Reason, finding.Keys)
				}
			}
			p.compareSeconds(t, w)
			p.comparePay(t, w)
			p.compareStoppages(t, w)
			p.compareFaults(t, w)

			other := buildFiles(t, settings, p.halves())
			defer other.Close()
			for _, query := range []string{
				"SELECT * EXCLUDE (import_id, line) FROM minute_ledger ORDER BY ALL",
				"SELECT * FROM pay_weeks ORDER BY ALL",
			} {
				if a, b := rowsOf(t, w, query), rowsOf(t, other, query); a != b {
					t.Errorf("another order of files changes %s", query)
				}
			}
		})
	}
}

// whole is each feed as one file.
func (p *payPlant) whole() []feedFile {
	var files []feedFile
	for _, feed := range ingest.Feeds() {
		if f, ok := p.feeds[feed.Name]; ok {
			files = append(files, feedFile{feed.Name, feed.Name + ".csv", f.text(func(string) bool { return true })})
		}
	}
	return files
}

// halves is each feed as two files that share no group, all in a random order.
func (p *payPlant) halves() []feedFile {
	var files []feedFile
	for _, whole := range p.whole() {
		for half := range uint32(2) {
			text := p.feeds[whole.feed].text(func(group string) bool {
				hash := fnv.New32a()
				hash.Write([]byte(group))
				return hash.Sum32()>>8%2 == half
			})
			files = append(files, feedFile{whole.feed, fmt.Sprintf("%s-%d.csv", whole.feed, half), text})
		}
	}
	p.r.Shuffle(len(files), func(i, j int) { files[i], files[j] = files[j], files[i] })
	return files
}

func (p *payPlant) compareSeconds(t *testing.T, w *warehouse.Warehouse) {
	t.Helper()
	for _, employee := range payEmployees {
		want := int64(0)
		for _, c := range p.model.counted[employee] {
			want += c.paid
		}
		if got := number(t, w, "SELECT coalesce(sum(seconds), 0)::BIGINT FROM minute_ledger WHERE employee = ?", employee); got != want {
			t.Errorf("%s: %d seconds used, %d simulated", employee, got, want)
			p.compareLines(t, w, employee)
		}
	}
}

// compareLines tells which cards differ.
func (p *payPlant) compareLines(t *testing.T, w *warehouse.Warehouse, employee string) {
	t.Helper()
	paid := map[int]int64{}
	for _, c := range p.model.counted[employee] {
		paid[c.line] += c.paid
	}
	for i, c := range p.model.cards {
		got := number(t, w, "SELECT coalesce(sum(seconds), 0)::BIGINT FROM minute_ledger WHERE line = ?", c.line)
		if c.employee == employee && got != paid[c.line] {
			t.Errorf("  line %d: %d seconds used, %d simulated: %s", c.line, got, paid[c.line], p.feeds["timecards"].rows[i])
		}
	}
}

func (p *payPlant) comparePay(t *testing.T, w *warehouse.Warehouse) {
	t.Helper()
	type key struct {
		employee string
		week     int64
	}
	got := map[key]weekPay{}
	gross := map[key]int64{}
	rows, err := w.DB.QueryContext(context.Background(), `
SELECT employee, workweek_start - DATE '1970-01-01', worked_seconds, overtime_seconds, double_seconds,
    usd_to_cents(straight_usd + leave_usd + rate_variance_usd)::BIGINT, usd_to_cents(overtime_premium_usd)::BIGINT,
    usd_to_cents(bonus_usd)::BIGINT, usd_to_cents(retro_usd)::BIGINT, usd_to_cents(reimbursement_usd)::BIGINT, usd_to_cents(gross_usd)::BIGINT
FROM pay_weeks`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
		var k key
		var g weekPay
		var total int64
		if err := rows.Scan(&k.employee, &k.week, &g.worked, &g.overtime, &g.double, &g.base, &g.premium, &g.bonus, &g.retro, &g.reimbursed, &total); err != nil {
			t.Fatal(err)
		}
		got[k], gross[k] = g, total
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	for _, employee := range payEmployees {
		for _, week := range p.weeks {
			k := key{employee, week}
			want := p.model.payWeek(employee, week, p.weeks)
			if got[k] != want || gross[k] != want.gross() {
				t.Errorf("%s, workweek of %s: %+v, gross %d; simulated %+v, gross %d", employee, dateText(week), got[k], gross[k], want, want.gross())
			}
			delete(got, k)
		}
	}
	for k := range got {
		t.Errorf("%s has pay in the workweek of %s, where nothing is simulated", k.employee, dateText(k.week))
	}
}

// compareStoppages looks at punches whose station is known and whose seconds all have a
// place: the station's stoppages come first of all uses.
func (p *payPlant) compareStoppages(t *testing.T, w *warehouse.Warehouse) {
	t.Helper()
	rows, err := w.DB.QueryContext(context.Background(), "SELECT line, sum(seconds)::BIGINT FROM minute_ledger WHERE use = 'stoppage' GROUP BY line")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	got := map[int]int64{}
	for rows.Next() {
		var line int
		var seconds int64
		if err := rows.Scan(&line, &seconds); err != nil {
			t.Fatal(err)
		}
		got[line] = seconds
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	for _, employee := range payEmployees {
		for _, c := range p.model.counted[employee] {
			if c.station == "" || c.until == c.from || !c.plain {
				continue
			}
			if want := p.stopped(c.station, c.from, c.until); got[c.line] != want {
				t.Errorf("%s, line %d: %d seconds of stoppage, %d simulated", employee, c.line, got[c.line], want)
			}
		}
	}
}

// stopped is the seconds between two moments in which a station stood still.
func (p *payPlant) stopped(station string, from, until int64) (seconds int64) {
	stops := append([]stop{}, p.stops...)
	sort.Slice(stops, func(i, j int) bool { return stops[i].start < stops[j].start })
	for _, s := range stops {
		if s.station != station {
			continue
		}
		start, end := max(from, moments(s.start)[0]), min(until, moments(s.end)[0])
		if end > start {
			seconds += end - start
			from = end
		}
	}
	return seconds
}

func (p *payPlant) compareFaults(t *testing.T, w *warehouse.Warehouse) {
	t.Helper()
	rows, err := w.DB.QueryContext(context.Background(), "SELECT code, coalesce(file_name, ''), coalesce(line, 0) FROM exceptions WHERE topic = 'settle before payroll'")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	told := map[fault]bool{}
	for rows.Next() {
		var f fault
		var file string
		if err := rows.Scan(&f.code, &file, &f.line); err != nil {
			t.Fatal(err)
		}
		if file != "timecards.csv" {
			t.Errorf("%s is told of a line of %q", f.code, file)
		}
		told[f] = true
		if !p.model.faults[f] {
			t.Errorf("%s is told, and not simulated: %s", f.code, p.feeds["timecards"].rows[f.line-2])
		}
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	for f := range p.model.faults {
		if !told[f] {
			t.Errorf("%s is not told: %s", f.code, p.feeds["timecards"].rows[f.line-2])
		}
	}
}

// rowsOf is a table as text.
func rowsOf(t *testing.T, w *warehouse.Warehouse, query string) (text string) {
	t.Helper()
	if err := w.DB.QueryRowContext(context.Background(), "SELECT coalesce(string_agg(r::VARCHAR, chr(10)), '') FROM ("+query+") AS r").Scan(&text); err != nil {
		t.Fatal(err)
	}
	return text
}
