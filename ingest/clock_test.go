package ingest

import (
	"errors"
	"testing"
	"time"

	"trusstally/ingest/problem"
)

func TestParseDate(t *testing.T) {
	for _, text := range []string{"2000-01-01", "2026-08-24", "2028-02-29", "2099-12-31"} {
		if got, err := ParseDate(text); err != nil || got.Format(time.DateOnly) != text {
			t.Errorf("ParseDate(%q) = %v, %v", text, got, err)
		}
	}
	for _, text := range []string{"", "2026-8-24", "26-08-24", "8/24/2026", "2026-02-29", "2026-13-01", "2026-08-00", "1999-12-31", "2100-01-01", "2026-08-24 06:00", "12-06-08"} {
		got, err := ParseDate(text)
		var p *problem.Problem
		if !errors.As(err, &p) || p.Code != CodeBadDate || p.Hint == "" {
			t.Errorf("ParseDate(%q) = %v, %v, want [%s] with a hint", text, got, err, CodeBadDate)
		}
	}
}

func TestParseTime(t *testing.T) {
	for _, c := range []struct {
		name, zone, text string
		dateAlone        bool
		wall, instant    string // instant "": the clock does not settle it
	}{
		{"summer", "America/Chicago", "2026-08-24 06:10", false, "2026-08-24 06:10:00", "2026-08-24 11:10:00"},
		{"winter, with seconds", "America/Chicago", "2026-01-05 06:10:59", false, "2026-01-05 06:10:59", "2026-01-05 12:10:59"},
		{"with a T", "America/Chicago", "2026-08-24T23:59", false, "2026-08-24 23:59:00", "2026-08-25 04:59:00"},
		{"last second before the skipped hour", "America/Chicago", "2026-03-08 01:59:59", false, "2026-03-08 01:59:59", "2026-03-08 07:59:59"},
		{"first skipped", "America/Chicago", "2026-03-08 02:00", false, "2026-03-08 02:00:00", ""},
		{"last skipped", "America/Chicago", "2026-03-08 02:59:59", false, "2026-03-08 02:59:59", ""},
		{"first after the skipped hour", "America/Chicago", "2026-03-08 03:00", false, "2026-03-08 03:00:00", "2026-03-08 08:00:00"},
		{"last before the repeated hour", "America/Chicago", "2026-11-01 00:59:59", false, "2026-11-01 00:59:59", "2026-11-01 05:59:59"},
		{"first repeated", "America/Chicago", "2026-11-01 01:00", false, "2026-11-01 01:00:00", ""},
		{"last repeated", "America/Chicago", "2026-11-01 01:59:59", false, "2026-11-01 01:59:59", ""},
		{"first after the repeated hour", "America/Chicago", "2026-11-01 02:00", false, "2026-11-01 02:00:00", "2026-11-01 08:00:00"},
		{"a zone without changes", "America/Phoenix", "2026-03-08 02:30", false, "2026-03-08 02:30:00", "2026-03-08 09:30:00"},
		{"UTC", "UTC", "2026-03-08 02:30", false, "2026-03-08 02:30:00", "2026-03-08 02:30:00"},
		{"a change of half an hour", "Australia/Lord_Howe", "2026-04-05 01:45", false, "2026-04-05 01:45:00", ""},
		{"a date alone", "America/Chicago", "2026-08-24", true, "2026-08-24 00:00:00", "2026-08-24 05:00:00"},
		{"a date alone, its midnight skipped", "America/Santiago", "2026-09-06", true, "2026-09-06 00:00:00", "2026-09-06 04:00:00"},
		{"a date alone, its midnight repeated", "America/Havana", "2026-11-01", true, "2026-11-01 00:00:00", "2026-11-01 04:00:00"},
	} {
		t.Run(c.name, func(t *testing.T) {
			zone, err := time.LoadLocation(c.zone)
			if err != nil {
				t.Fatal(err)
			}
			got, err := ParseTime(c.text, zone, c.dateAlone)
			if err != nil {
				t.Fatal(err)
			}
			instant := ""
			if got.Definite {
				instant = got.Instant.Format(time.DateTime)
			}
			if wall := got.Wall.Format(time.DateTime); wall != c.wall || instant != c.instant {
				t.Errorf("wall %s, instant %q, want %s, %q", wall, instant, c.wall, c.instant)
			}
		})
	}
}

func TestParseTimeRefuses(t *testing.T) {
	for _, c := range []struct {
		text      string
		dateAlone bool
	}{
		{"", false}, {"2026-08-24", false}, {"2026-02-30", true}, {"1999-12-31", true}, {"2026-08-24 6:10", false}, {"2026-08-24 06:10 AM", false},
		{"2026-08-24 24:00", false}, {"2026-08-24 06:60", false}, {"2026-02-30 06:00", false}, {"2026-08-24  06:10", false}, {"2026-08-24 06:10:00.5", false},
		{"2026-08-24 06:10Z", false}, {"1999-12-31 23:59", false}, {"2100-01-01 00:00", false}, {"8/24/2026 06:10", true}, {"06:10", false}, {"2026-08-24t06:10", false},
	} {
		got, err := ParseTime(c.text, time.UTC, c.dateAlone)
		var p *problem.Problem
		if !errors.As(err, &p) || p.Code != CodeBadTime || p.Hint == "" {
			t.Errorf("ParseTime(%q) = %v, %v, want [%s] with a hint", c.text, got, err, CodeBadTime)
		}
	}
}

// FuzzTime holds each local time against a search that knows nothing of offsets: all
// instants of the days around it, in steps that no clock change is finer than.
func FuzzTime(f *testing.F) {
	for _, text := range []string{"2026-08-24 06:10", "2026-03-08 02:30", "2026-11-01 01:30", "2026-11-01 02:00", "2026-08-24", "2026-08-24T06:10:11"} {
		f.Add(text)
	}
	zone := chicago(f)
	f.Fuzz(func(t *testing.T, text string) {
		got, err := ParseTime(text, zone, false)
		if err != nil {
			return
		}
		var found []time.Time
		for hours := -14; hours <= 14; hours++ {
			instant := got.Wall.Add(time.Duration(hours) * time.Hour)
			if instant.In(zone).Format(time.DateTime) == got.Wall.Format(time.DateTime) {
				found = append(found, instant)
			}
		}
		if got.Definite != (len(found) == 1) {
			t.Fatalf("ParseTime(%q): definite %t, but the clocks showed it at %v", text, got.Definite, found)
		}
		if got.Definite && !got.Instant.Equal(found[0]) {
			t.Fatalf("ParseTime(%q) = %v, want %v", text, got.Instant, found[0])
		}
	})
}
