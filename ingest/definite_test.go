package ingest

import (
	"database/sql"
	"fmt"
	"strings"
	"testing"
	"time"
)

// TestClockSpans: the instants that SQL finds are those that ParseTime finds, around every
// change of the clocks of zones that change them in unlike ways, for a span of all years and
// one of fifteen months.
func TestClockSpans(t *testing.T) {
	db, err := sql.Open("duckdb", "")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, name := range []string{"America/Chicago", "Europe/Berlin", "Australia/Lord_Howe", "Asia/Kathmandu", "Pacific/Apia", "America/Caracas", "Africa/Casablanca", "America/St_Johns", "Europe/Istanbul", "UTC"} {
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		first, last := time.Date(firstYear, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(lastYear, 12, 31, 23, 59, 59, 0, time.UTC)
		span, ok := clockSpanOf(zone, first, last)
		if !ok {
			t.Fatalf("%s: not steady", name)
		}
		walls := []time.Time{first, last, first.AddDate(26, 3, 4)}
		for i, c := range span.changes {
			if i > 30 && i < len(span.changes)-4 && i%8 != 0 {
				continue
			}
			for _, edge := range []time.Time{c.from, c.until} {
				for _, away := range []time.Duration{-49 * time.Hour, -time.Second, 0, time.Second, 10 * time.Minute, 25 * time.Hour} {
					if wall := edge.Add(away); !wall.Before(first) && !wall.After(last) {
						walls = append(walls, wall)
					}
				}
			}
		}
		if len(span.changes) == 0 && name != "UTC" && name != "Asia/Kathmandu" {
			t.Errorf("%s: no change is found", name)
		}
		var values []string
		for _, wall := range walls {
			values = append(values, "("+timestampText(wall)+")")
		}
		spans := map[string]clockSpan{"all years": span}
		spans["its years"], _ = clockSpanOf(zone, time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2027, 3, 31, 0, 0, 0, 0, time.UTC))
		for which, s := range spans {
			rows, err := db.Query(fmt.Sprintf("SELECT wall, %s FROM (VALUES %s) AS walls(wall)", s.instant("wall"), strings.Join(values, ", ")))
			if err != nil {
				t.Fatal(err)
			}
			for rows.Next() {
				var wall time.Time
				var got sql.NullTime
				if err := rows.Scan(&wall, &got); err != nil {
					t.Fatal(err)
				}
				if which == "its years" && (wall.Year() < 2026 || wall.Year() > 2026 && wall.Format(time.DateOnly) > "2027-03-31") {
					continue
				}
				moment, err := ParseTime(wall.Format(time.DateTime), zone, false)
				if err != nil {
					t.Fatal(err)
				}
				if got.Valid != moment.Definite || got.Valid && !got.Time.Equal(moment.Instant) {
					t.Errorf("%s %v, %s: %v, want %v, definite %t", name, wall, which, got, moment.Instant, moment.Definite)
				}
			}
			if err := rows.Err(); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// TestPlainSizes: the sizes that the engine takes as they stand are what ParseSize makes of them.
func TestPlainSizes(t *testing.T) {
	for _, text := range plainSizes {
		if got, err := ParseSize(text); err != nil || got != text {
			t.Errorf("%s: %s, %v", text, got, err)
		}
	}
}
