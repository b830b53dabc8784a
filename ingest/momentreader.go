package ingest

import (
	"fmt"
	"strings"
	"time"

	"trusstally/ingest/problem"
)

// readDate reads a date in the declared form. 2026-08-24 means one day only, and is always
// taken; so is a date with its midnight.
func (r *rowReader) readDate(text string) (string, *problem.Problem) {
	if r.reading.date == nil || shaped(text, "0000-00-00") {
		return text, nil
	}
	if day, ok := r.dayAlone(text); ok {
		return day, nil
	}
	return "", &problem.Problem{What: fmt.Sprintf("not a date (%s)", text), Code: CodeBadDate, Hint: r.clockHint(r.reading.date, "dates", "date_format")}
}

// readMoment reads a date and a time of the clock in one cell.
func (r *rowReader) readMoment(c Column, text string) (string, *problem.Problem) {
	for _, shape := range []string{"0000-00-00 00:00", "0000-00-00 00:00:00", "0000-00-00T00:00", "0000-00-00T00:00:00", "0000-00-00"} {
		if shaped(text, shape) {
			return text, nil
		}
	}
	if day, clock, ok := r.cutMoment(text); ok {
		return day + " " + clock, nil
	}
	if r.reading.date != nil {
		if day, ok := r.reading.date.date(text); ok {
			return day, nil
		}
	}
	hint := r.clockHint(r.reading.date, "dates", "date_format")
	if r.reading.clock != nil {
		hint = strings.TrimPrefix(hint+"; ", "; ") + r.clockHint(r.reading.clock, "times", "time_format")
	}
	return "", &problem.Problem{What: fmt.Sprintf("not a date and time (%s)", text), Code: CodeBadTime, Hint: hint}
}

// cutMoment parts a date from its time of the clock, at a blank that leaves a date before
// it and a time after it.
func (r *rowReader) cutMoment(text string) (day, clock string, ok bool) {
	for at := range len(text) {
		if text[at] != ' ' {
			continue
		}
		if day, ok = r.day(strings.TrimRight(text[:at], " ,")); !ok {
			continue
		}
		if clock, ok = r.clock(strings.Trim(text[at:], blanks)); ok {
			return day, clock, true
		}
	}
	return "", "", false
}

// day reads a date alone in the declared form, or as 2026-08-24.
func (r *rowReader) day(text string) (string, bool) {
	if _, err := time.Parse(time.DateOnly, text); err == nil && shaped(text, "0000-00-00") {
		return text, true
	}
	if r.reading.date == nil {
		return "", false
	}
	return r.reading.date.date(text)
}

// dayAlone reads a date that may have its midnight.
func (r *rowReader) dayAlone(text string) (string, bool) {
	if day, ok := r.day(text); ok {
		return day, true
	}
	day, clock, ok := r.cutMoment(text)
	return day, ok && clock == "00:00:00"
}

// clock reads a time of the clock in the declared form.
func (r *rowReader) clock(text string) (string, bool) {
	if r.reading.clock != nil {
		return r.reading.clock.clock(text)
	}
	return canonicalClock.clock(text)
}

// canonicalClock reads 06:10 and 06:10:00.
var canonicalClock, _ = newTimeFormat("HH:MM")

func (r *rowReader) clockHint(format *clockFormat, what, key string) string {
	if format == nil {
		return ""
	}
	return fmt.Sprintf("%s are written %s here, as plant.toml says (feed.%s.%s)", what, format.text, r.feed.Name, key)
}

// readApart reads a date and a time of the clock that stand in two cells.
func (r *rowReader) readApart(i int, reader *columnReader) (string, *problem.Problem) {
	dateText, clockText := r.cell(reader.cells[0]), r.cell(reader.cells[1])
	if clockText == "" {
		return "", nil // a date alone says nothing of the clock: the punch is missing
	}
	fail := func(cell int, what, text, hint string) (string, *problem.Problem) {
		r.at[i] = reader.cells[cell]
		return "", &problem.Problem{What: fmt.Sprintf("%s (%s)", what, text), Code: CodeBadTime, Hint: hint}
	}
	if dateText == "" {
		return fail(1, "a time without its date", clockText, "fill in the date: "+reader.apart.Date)
	}
	day, ok := r.dayAlone(dateText)
	if !ok {
		hint := r.clockHint(r.reading.date, "dates", "date_format")
		if hint == "" {
			hint = dateHint
		}
		return fail(0, "not a date", dateText, hint)
	}
	clock, ok := r.clock(clockText)
	if !ok {
		hint := r.clockHint(r.reading.clock, "times", "time_format")
		if hint == "" {
			hint = "write the time as 06:10, by a 24-hour clock"
		}
		return fail(1, "not a time of the clock", clockText, hint)
	}
	text := day + " " + clock
	if reader.apart.After == "" {
		return text, nil
	}
	if before := r.textOf(reader.apart.After); len(before) >= len("2026-08-24 06:10") && text < strings.Replace(before, "T", " ", 1) {
		at, err := time.Parse(time.DateTime, text)
		if err == nil {
			text = at.AddDate(0, 0, 1).Format(time.DateTime)
		}
	}
	return text, nil
}

// writeClock writes a time of the clock in the declared form.
func (r *rowReader) writeClock(iso string) string {
	if r.reading.clock == nil {
		return iso
	}
	return r.reading.clock.write(iso)
}
