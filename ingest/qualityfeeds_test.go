package ingest

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestQualityFeeds lands inspections and incidents: what supersedes what, what is refused,
// and that an unknown name is no reason to refuse a row.
func TestQualityFeeds(t *testing.T) {
	const inspected = "record,shift_date,station,shift,job,truss,passed\n"
	const happened = "record,occurred_at,shift_date,station,crew,shift,recordable,days_away,days_restricted\n"
	w := newTestWarehouse(t)
	for _, c := range []struct {
		name  string
		steps []step
		query string
		want  []string
		codes []string // of the refused rows, in the order of their lines
	}{
		{
			name: "the newest file is the truth for a station and shift date, and equal trusses are trusses",
			steps: []step{
				{"inspections-1.csv", inspected + ",2026-08-24,T1,day,J1,A,yes\n,2026-08-24,T1,day,J1,A,yes\n,2026-08-25,T1,day,J1,A,no\n", moves{New: 3}},
				{"inspections-2.csv", inspected + ",2026-08-24,T1,day,J1,A,yes\n,2026-08-24,T1,day,J1,A,no\n", moves{Changed: 1, Unchanged: 1}},
			},
			query: "SELECT shift_date, station, truss, passed FROM inspections ORDER BY ALL",
			want:  []string{"2026-08-24|T1|A|no", "2026-08-24|T1|A|yes", "2026-08-25|T1|A|no"},
		},
		{
			name: "a record is corrected by itself alone",
			steps: []step{
				{"inspections-1.csv", inspected + "Q1,2026-08-24,T1,day,J1,A,yes\nQ2,2026-08-24,T1,day,J1,A,yes\n", moves{New: 2}},
				{"inspections-2.csv", inspected + "Q2,2026-08-24,T1,day,J1,A,no\n", moves{Changed: 1}},
			},
			query: "SELECT record, passed FROM inspections ORDER BY ALL",
			want:  []string{"Q1|yes", "Q2|no"},
		},
		{
			name:  "an unknown job, truss or crew lands; an unknown station does not",
			steps: []step{{"inspections-1.csv", inspected + "Q1,2026-08-24,T1,day,J999,ZZ,yes\nQ2,2026-08-24,T99,day,J1,A,yes\n", moves{New: 1, Rejected: 1}}, {"incidents-1.csv", happened + "N1,2026-08-24 10:15,2026-08-24,,MAUVE,day,near_miss,,\n", moves{New: 1}}},
			query: "SELECT job, truss, (SELECT crew FROM incidents) FROM inspections",
			want:  []string{"J999|ZZ|MAUVE"},
			codes: []string{"unknown-station"},
		},
		{
			name:  "passed and recordable are closed lists",
			steps: []step{{"inspections-1.csv", inspected + "Q1,2026-08-24,T1,day,J1,A,ok\n", moves{Rejected: 1}}, {"incidents-1.csv", happened + "N1,2026-08-24,2026-08-24,,,,maybe,,\nN2,2026-08-24,2026-08-24,,,,no,,\n", moves{New: 1, Rejected: 1}}},
			query: "SELECT record, occurred_at, recordable FROM incidents",
			want:  []string{"N2|2026-08-24|no"},
			codes: []string{"not-in-list", "not-in-list"},
		},
		{
			name: "days away make a case recordable; a report is corrected by its number",
			steps: []step{
				{"incidents-1.csv", happened + "N1,2026-08-24 10:15,2026-08-24,T1,RED,day,first_aid,2,\nN2,2026-08-24 10:15,2026-08-24,T1,RED,day,first_aid,0,\n", moves{New: 1, Rejected: 1}},
				{"incidents-2.csv", happened + "N2,2026-08-24 10:15,2026-08-24,T1,RED,day,yes,2,1\n", moves{Changed: 1}},
			},
			query: "SELECT record, recordable, days_away, days_restricted FROM incidents",
			want:  []string{"N2|yes|2|1"},
			codes: []string{"out-of-range"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			w.begin()
			for _, s := range c.steps {
				if diff := cmp.Diff(s.want, movesOf(w.mustLand(s.file, s.text))); diff != "" {
					t.Errorf("%s (-want +got):\n%s", s.file, diff)
				}
			}
			if diff := cmp.Diff(c.want, w.rows(c.query)); diff != "" {
				t.Errorf("rows (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(fmt.Sprint(c.codes), fmt.Sprint(w.rows("SELECT code FROM rejects ORDER BY import_id, line"))); diff != "" {
				t.Errorf("codes (-want +got):\n%s", diff)
			}
		})
	}
}
