package ingest

import (
	"fmt"
	"time"

	"trusstally/ingest/problem"
)

// The years that a date may have. A year outside is a slip of the keyboard or a
// two-digit year gone wrong, and would put the row where nobody looks.
const (
	firstYear = 2000
	lastYear  = 2099
)

const (
	dateHint      = "write the date as 2026-08-24: year, month, day"
	timeHint      = "write the date and time as 2026-08-24 06:10, by a 24-hour clock"
	dateAloneHint = "write the date and time as 2026-08-24 06:10, by a 24-hour clock, or the date alone"
)

// Moment is a local time as it was written and, where the plant's clock settles it, the
// instant that it stands for.
type Moment struct {
	Wall     time.Time // what the clock on the wall showed; its zone is UTC and means nothing
	Instant  time.Time // in UTC; zero when Definite is false
	Definite bool      // false for a local time that a clock change skipped or repeated
}

// ParseDate reads a date such as 2026-08-24, of the years 2000 to 2099, and returns its
// midnight in UTC. Anything else is a *problem.Problem of code bad-date, without a place.
func ParseDate(text string) (time.Time, error) {
	if !shaped(text, "0000-00-00") {
		return time.Time{}, badClock(CodeBadDate, "not a date", text, dateHint)
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return time.Time{}, badClock(CodeBadDate, "there is no such day", text, dateHint)
	}
	if day.Year() < firstYear || day.Year() > lastYear {
		return time.Time{}, badClock(CodeBadDate, outsideYears(), text, dateHint)
	}
	return day, nil
}

// ParseTime reads a local time such as 2026-08-24 06:10, with or without seconds and with
// a blank or a T in the middle, of the years 2000 to 2099, as the clocks of zone showed it.
// With dateAlone a date without a time is the first instant of that day. Anything else is
// a *problem.Problem of code bad-time, without a place.
func ParseTime(text string, zone *time.Location, dateAlone bool) (Moment, error) {
	hint := timeHint
	if dateAlone {
		hint = dateAloneHint
	}
	layout := ""
	for _, l := range []struct{ shape, layout string }{
		{"0000-00-00 00:00", "2006-01-02 15:04"}, {"0000-00-00 00:00:00", time.DateTime},
		{"0000-00-00T00:00", "2006-01-02T15:04"}, {"0000-00-00T00:00:00", "2006-01-02T15:04:05"},
		{"0000-00-00", time.DateOnly},
	} {
		if shaped(text, l.shape) {
			layout = l.layout
			break
		}
	}
	alone := layout == time.DateOnly
	switch {
	case layout == "":
		return Moment{}, badClock(CodeBadTime, "not a date and time", text, hint)
	case alone && !dateAlone:
		return Moment{}, badClock(CodeBadTime, "a date without a time", text, hint)
	}
	wall, err := time.Parse(layout, text)
	if err != nil {
		return Moment{}, badClock(CodeBadTime, "there is no such day or time", text, hint)
	}
	if wall.Year() < firstYear || wall.Year() > lastYear {
		return Moment{}, badClock(CodeBadTime, outsideYears(), text, hint)
	}
	if alone {
		return Moment{Wall: wall, Instant: startOfDay(wall, zone), Definite: true}, nil
	}
	instants := instantsOf(wall, zone)
	if len(instants) != 1 {
		return Moment{Wall: wall}, nil
	}
	return Moment{Wall: wall, Instant: instants[0], Definite: true}, nil
}

// shaped says whether text has a digit for each 0 of shape, and else the same characters.
// time.Parse alone would also take one-digit hours and fractions of a second.
func shaped(text, shape string) bool {
	if len(text) != len(shape) {
		return false
	}
	for i := range len(shape) {
		digit := text[i] >= '0' && text[i] <= '9'
		if shape[i] == '0' && !digit || shape[i] != '0' && text[i] != shape[i] {
			return false
		}
	}
	return true
}

func outsideYears() string {
	return fmt.Sprintf("the year is not between %d and %d", firstYear, lastYear)
}

// instantsOf returns every instant, earliest first, at which the clocks of zone showed
// wall: none when a clock change skipped it, two when one repeated it. time.Date would
// settle both cases by a silent guess, so each offset in force around that guess is tried.
func instantsOf(wall time.Time, zone *time.Location) []time.Time {
	guess := time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(), 0, zone)
	start, end := guess.ZoneBounds()
	around := []time.Time{guess}
	if !start.IsZero() {
		around = append(around, start.Add(-time.Second))
	}
	if !end.IsZero() {
		around = append(around, end)
	}
	var instants []time.Time
	for _, near := range around {
		_, offset := near.Zone()
		instant := wall.Add(-time.Duration(offset) * time.Second)
		if _, there := instant.In(zone).Zone(); there != offset {
			continue
		}
		if len(instants) == 0 || instant.After(instants[len(instants)-1]) {
			instants = append(instants, instant)
		} else if instant.Before(instants[0]) {
			instants = append([]time.Time{instant}, instants...)
		}
	}
	return instants
}

// startOfDay returns the first instant of a day in zone. A day whose midnight a clock
// change skips starts when the change is made.
func startOfDay(day time.Time, zone *time.Location) time.Time {
	if instants := instantsOf(day, zone); len(instants) > 0 {
		return instants[0]
	}
	start, end := time.Date(day.Year(), day.Month(), day.Day(), 0, 0, 0, 0, zone).ZoneBounds()
	// time.Date stands on one side of the change, which of the two it does not promise.
	if !start.IsZero() && start.In(zone).Format(time.DateOnly) == day.Format(time.DateOnly) {
		return start.UTC()
	}
	return end.UTC()
}

func badClock(code, what, text, hint string) *problem.Problem {
	return &problem.Problem{What: fmt.Sprintf("%s (%s)", what, text), Code: code, Hint: hint}
}
