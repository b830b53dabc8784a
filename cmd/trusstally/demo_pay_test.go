package main

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"trusstally/fixtures"
)

// demoPay asks the ledgers for the pay, punch faults and stoppages that the demo plant was
// made with. The generator works pay out by arithmetic of its own.
func demoPay(t *testing.T, p *testPlant, truth fixtures.Truth) {
	t.Run("pay of each employee and workweek is the planted one", func(t *testing.T) {
		got := map[string]string{}
		for _, row := range p.query("SELECT employee, workweek_start, usd_to_cents(gross_usd) AS cents, usd_to_cents(overtime_premium_usd) AS premium FROM pay_weeks WHERE gross_usd <> 0") {
			got[asText(row["employee"])+" "+asText(row["workweek_start"])] = asText(row["cents"]) + " " + asText(row["premium"])
		}
		want := map[string]string{}
		for _, week := range truth.Pay.Weeks {
			want[week.Employee+" "+week.WorkweekStart] = fmt.Sprint(week.GrossCents(), " ", week.PremiumCents+week.BonusPremiumCents)
		}
		if len(want) < 300 {
			t.Errorf("%d weeks of pay were planted", len(want))
		}
		for key, value := range want {
			if got[key] != value {
				t.Errorf("%s: gross and premium %s cents, planted %s", key, got[key], value)
			}
			delete(got, key)
		}
		for key := range got {
			t.Errorf("%s was not planted", key)
		}
	})

	t.Run("the register differs in the planted week alone", func(t *testing.T) {
		rows := p.rows("report", "payroll_bridge", "--from", "2026-08-01", "--until", "2027-01-01", "--wages", "--format", "json")
		if len(rows) != len(truth.Pay.Register) {
			t.Errorf("%d pay periods, %d registers", len(rows), len(truth.Pay.Register))
		}
		for _, row := range rows {
			want := "0.00"
			if asText(row["starts_on"]) == truth.Pay.Difference.WorkweekStart && asText(row["source"]) == "payroll" {
				want = fmt.Sprintf("%d.%02d", truth.Pay.Difference.Cents/100, truth.Pay.Difference.Cents%100)
			}
			if got := asText(row["remainder_usd"]); got != want {
				t.Errorf("%v %v: %s not explained, want %s", row["source"], row["pay_period"], got, want)
			}
		}
	})

	t.Run("each planted punch fault is an exception at its line", func(t *testing.T) {
		found := map[string]string{}
		for _, row := range p.query("SELECT code, file_name, line, seconds FROM exceptions WHERE topic = 'settle before payroll' AND file_name IS NOT NULL") {
			found[asText(row["code"])+" "+asText(row["file_name"])+":"+asText(row["line"])] = asText(row["seconds"])
		}
		codes := map[string]string{
			fixtures.DoublePunch: "double-punch", fixtures.OverlappingPunch: "overlapping-punches", fixtures.LongPunch: "long-punch",
			fixtures.AutomaticLunch: "lunch-twice", fixtures.NoWage: "no-wage",
		}
		want := map[string]string{"missing-punch " + truth.MissingPunchOut.File + ":" + strconv.Itoa(truth.MissingPunchOut.Line): ""}
		for _, fault := range truth.PunchFaults {
			want[codes[fault.Kind]+" "+fault.File+":"+strconv.Itoa(fault.Line)] = strconv.Itoa(fault.Seconds)
		}
		for key, seconds := range want {
			got, ok := found[key]
			if !ok || got != seconds {
				t.Errorf("%s: %q seconds, planted %q", key, got, seconds)
			}
			delete(found, key)
		}
		for key := range found {
			t.Errorf("%s was not planted", key)
		}
		if len(want) < 6 {
			t.Errorf("%d punch faults were planted", len(want))
		}
	})

	t.Run("stopped minutes are the planted ones", func(t *testing.T) {
		got := map[string]string{}
		for _, row := range p.query("SELECT station, reason, count(*) AS n, sum(epoch_us(ended_utc) - epoch_us(started_utc)) // 60000000 AS minutes FROM stoppages GROUP BY ALL") {
			got[asText(row["station"])+" "+asText(row["reason"])] = asText(row["n"]) + " " + asText(row["minutes"])
		}
		stopped := 0
		for _, s := range truth.Stoppages {
			stopped += s.Minutes
			if want := fmt.Sprint(s.Count, " ", s.Minutes); got[s.Station+" "+s.Reason] != want {
				t.Errorf("%s %s: %s, planted %s", s.Station, s.Reason, got[s.Station+" "+s.Reason], want)
			}
		}
		// Four people a station or so stand there: three to six people-minutes a minute.
		people, err := strconv.Atoi(p.value("SELECT sum(seconds) // 60 AS minutes FROM minute_ledger WHERE use = 'stoppage'"))
		if err != nil || people < 2*stopped || people > 6*stopped {
			t.Errorf("%d people-minutes in %d stopped minutes (%v)", people, stopped, err)
		}
	})

	t.Run("the planted set-up times are found", func(t *testing.T) {
		laser := fmt.Sprintf("r.station = '%s' AND r.shift_date >= DATE '%s'", truth.Laser.Station, truth.Laser.On)
		got := map[string]map[string]any{}
		for _, row := range p.query(`
WITH set_ups AS (
    SELECT r.run_key, t.kind, CASE WHEN r.jigging = 'automatic' THEN 'automatic' WHEN ` + laser + ` THEN 'laser' ELSE 'manual' END AS jigging,
        (epoch(max(m.ended_at)) - epoch(min(m.started_at)))::BIGINT // 60 AS minutes
    FROM minute_ledger AS m
    JOIN steps.run_rows AS r USING (run_row_id)
    -- One run is logged under a job that is not there.
    JOIN trusses AS t ON t.job = CASE r.job WHEN '` + truth.UnknownJob.Value + `' THEN '` + truth.UnknownJob.Meant + `' ELSE r.job END AND t.truss = r.truss
    WHERE m.use = 'setup' AND r.station_kind = 'table'
    GROUP BY ALL
)
SELECT kind, jigging, count(*) AS runs, sum(minutes) AS minutes FROM set_ups GROUP BY kind, jigging`) {
			got[asText(row["kind"])+" "+asText(row["jigging"])] = row
		}
		for _, s := range truth.Setups {
			name := s.Kind + " " + s.Jigging
			if runs, minutes := asText(got[name]["runs"]), asText(got[name]["minutes"]); runs != strconv.Itoa(s.Runs) || minutes != strconv.Itoa(s.Minutes) {
				t.Errorf("%s: %s set-ups of %s minutes, logged %d of %d", name, runs, minutes, s.Runs, s.Minutes)
			}
			// Logged to whole minutes, so half a minute and a tenth of the planned time.
			if planned := float64(s.Planned) / 10; math.Abs(s.Mean()-planned) > 0.5+planned/10 {
				t.Errorf("%s: %.1f minutes a set-up, planned %.1f", name, s.Mean(), planned)
			}
		}
	})

	t.Run("the planted crew speeds are found", func(t *testing.T) {
		// The mean log of build minutes against those quoted, with its standard error.
		type pace struct{ mean, variance float64 }
		paces := map[string]pace{}
		for _, row := range p.query(`
WITH built AS (
    SELECT r.run_key, any_value(m.crew) AS crew, ln(sum(m.seconds) / 60.0 / any_value(q.minutes)) AS ratio
    FROM minute_ledger AS m
    JOIN steps.run_rows AS r USING (run_row_id)
    JOIN (SELECT x.run_key, sum(x.quantity * t.quoted_build_min)::DOUBLE AS minutes, bool_or(x.has_setup) AS has_setup
        FROM steps.run_rows AS x JOIN trusses AS t ON t.job = x.job AND t.truss = x.truss GROUP BY x.run_key) AS q USING (run_key)
    WHERE m.use = 'build' AND r.station_kind = 'table' AND r.remake IS NULL AND q.has_setup AND q.minutes > 0
    GROUP BY r.run_key
    HAVING count(DISTINCT m.crew) = 1
)
SELECT crew, avg(ratio) AS mean, var_samp(ratio) / count(*) AS variance FROM built GROUP BY crew`) {
			mean, err1 := strconv.ParseFloat(asText(row["mean"]), 64)
			variance, err2 := strconv.ParseFloat(asText(row["variance"]), 64)
			if err1 != nil || err2 != nil {
				t.Fatal(err1, err2)
			}
			paces[asText(row["crew"])] = pace{mean, variance}
		}
		planted := map[string]float64{}
		for _, crew := range truth.Crews {
			if crew.MinutesThousandths > 0 {
				planted[crew.Crew] = math.Log(float64(crew.MinutesThousandths) / 1000)
			}
		}
		if len(planted) != 3 || len(paces) != 3 {
			t.Fatalf("%d crews found, %d planted", len(paces), len(planted))
		}
		for _, pair := range [][2]string{{"GREEN", "RED"}, {"BLUE", "RED"}, {"GREEN", "BLUE"}} {
			a, b := paces[pair[0]], paces[pair[1]]
			found, want := a.mean-b.mean, planted[pair[0]]-planted[pair[1]]
			if half := 1.96 * math.Sqrt(a.variance+b.variance); math.Abs(found-want) > half {
				t.Errorf("%s against %s: %.3f, 95 %% interval ± %.3f, planted %.3f", pair[0], pair[1], found, half, want)
			}
		}
	})
}
